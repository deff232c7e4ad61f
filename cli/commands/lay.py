"""``thriftlay lay JOB``: every material of the job laid, judged and written."""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nesting

from ..arguments import (
    add_only,
    add_replace,
    add_search,
    add_stock,
    add_write,
    new_command,
)
from ..goods import buying_table, widths_table
from ..interrupt import stopping
from ..running import add_running, assumptions, ended, planned
from ..say import say
from ..table import table
from ..told import tell

if TYPE_CHECKING:
    from nesting import Entry, Job, Plan, ShoppingList
    from nesting.amounts import Amounts
    from nesting.planning.summary import Summary

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "lay",
        about="lay every material of a job and write the files",
        example="thriftlay lay tote.toml --out tote --time 1m",
    )
    parser.add_argument("job", type=Path, metavar="JOB.toml")
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    parser.add_argument(
        "--from",
        dest="start",
        type=Path,
        metavar="FOLDER/plan.json",
        help="go on from a stored plan: no worse than it, with what is held in it",
    )
    add_search(parser)
    add_only(parser)
    add_stock(parser)
    add_running(parser)
    add_write(parser)
    add_replace(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Lay the job, write the files, print the table."""
    job = nesting.read_job(arguments.job, stock=arguments.stock)
    job.wanted(arguments.only)  # or refused, before anything is made ready
    start = None if arguments.start is None else nesting.load_plan(arguments.start)
    if start is not None:
        _tell_changes(job, start)
    names = list(arguments.only or (m.name for m in job.materials))
    make = partial(nesting.make_plan, start=start)
    with stopping() as stop:
        plan, bought = planned(
            arguments, job, stop, names=names, make=make, write=nesting.write_plan
        )
    _tell(plan, bought, arguments)
    return ended(plan, stop)


def _tell_changes(job: Job, start: Plan) -> None:
    """Say what of a plan does not fit the job any more."""
    from nesting.planning.going_on import going_on

    for line in going_on(job, start).told:
        say(f"thriftlay: {line}", trouble=True)


def _tell(plan: Plan, bought: ShoppingList, arguments: argparse.Namespace) -> None:
    """Print the table, and what is wrong."""
    from nesting.planning.summary import summary

    job = plan.job
    summaries = [summary(entry) for entry in plan.entries]
    if arguments.json:
        from ..records import plan_result

        tell("lay", plan_result(plan, bought, folder=str(arguments.out)), currency=job.currency)
    else:
        say(_table(plan, summaries))
        if plan.widths_tried:
            say(f"\n{widths_table(plan)}")
        say(f"\n{buying_table(plan, bought)}")
        for line in _asides(summaries, job.amounts):
            say(line)
        for line in _to_save(plan, arguments.out):
            say(line)
        if assumed := assumptions(plan, reported="report" in arguments.write):
            say(assumed)
        say(f"\nfiles are in {arguments.out}")
    for entry in plan.entries:
        for name, why in entry.unplaced:
            say(f"thriftlay: {entry.material.name}: not laid: {name}: {why}", trouble=True)
        for finding in entry.findings:
            # A missing part is one of those above.
            if finding.severity == "fault" and finding.kind != "missing":
                say(f"thriftlay: {entry.material.name}: {finding.text}", trouble=True)


def _to_save(plan: Plan, folder: Path) -> Iterator[str]:
    """Yield a line that says there is something to save, where that is known without a search."""
    from nesting.advice.kept import kept_in
    from nesting.planning.buying.one_step_less import one_step_less

    advice = kept_in(folder, plan.job)
    if advice is not None:
        if advice.best:
            best = advice.best[0]
            yield f"{best.material}: {best.what} would save {best.saves}: see its report"
        return
    for entry in plan.entries:
        step = one_step_less(entry) if entry.good else None
        if step is not None and 0.0 < step[1] <= _NEARLY * entry.figures.length:
            yield (
                f"{entry.material.name}: {plan.job.amounts.size(step[1])} shorter it would be a"
                " step less to buy: thriftlay advise says what would save so much"
            )
            return


_NEARLY = 0.02
"""As a share of a marker's length: if so little is too much for a step less, that is said."""


def _asides(summaries: list[Summary], amounts: Amounts) -> Iterator[str]:
    """Yield what a print costs, how many loads of the bed a lay takes, and mates far apart."""
    for s in summaries:
        if s.unmatched is not None:
            extra = amounts.size(s.length - s.unmatched)
            yield (
                f"{s.material}: {amounts.needed(s.unmatched)} without centring and matching its"
                f" print, which costs {extra}"
            )
        for rule, length in s.freed:
            if s.length - length >= 1.0:
                extra = amounts.size(s.length - length)
                yield (
                    f"{s.material}: about {amounts.needed(length)} without its {rule}, which costs"
                    f" about {extra}"
                )
        for one in s.joined:
            if one.whole < math.inf:
                yield (
                    f"{s.material}: {one.piece} is joined from {len(one.sizes)} pieces; in one it"
                    f" would need {amounts.needed(one.whole)}"
                )
        for alone in s.could_join:
            yield (
                f"{s.material}: {alone.piece} alone needs {amounts.needed(alone.length)}, all else"
                f" and its halves about {amounts.needed(alone.rest)}: if it may be joined, say"
                f' pieced = "{"3/8 in" if amounts.inches else "1 cm"}" in its [[cut]]'
            )
        if s.loads:
            yield f"{s.material}: {_count(s.loads, 'load')} of the bed"
        if s.mates_apart:
            yield (
                f"{s.material}: mates lie up to {amounts.size(s.mates_apart)} apart: nothing closer"
                " was found in the time; the report names them"
            )
        if s.match_apart:
            yield (
                f"{s.material}: parts whose prints match lie up to {s.match_apart:.1f} repeats"
                " apart: nothing nearer was found that takes no more; the report names them"
            )


def _table(plan: Plan, summaries: list[Summary]) -> str:
    head = ["material", "width", "parts", "taken", "efficiency", "bound", "ended"]
    rows = [_row(plan, e, s) for e, s in zip(plan.entries, summaries, strict=True)]
    return table(head, rows)


def _row(plan: Plan, entry: Entry, s: Summary) -> list[str]:
    from nesting.writing.pages.wording import laid_on

    amounts, sheets = plan.job.amounts, s.width is None
    return [
        s.material,
        "" if s.width is None else amounts.setting(s.width),
        str(s.parts),
        laid_on(entry) if sheets else amounts.needed(s.length),
        f"{100 * s.efficiency:.1f} %",
        amounts.least(entry.bound),
        s.stopped,
    ]


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
