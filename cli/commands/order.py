"""``thriftlay order JOB``: spreads, plies and markers for an order of many bags."""

from __future__ import annotations

import argparse
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
    share,
)
from ..goods import buying_table, widths_table
from ..interrupt import stopping
from ..running import add_running, assumptions, ended, planned
from ..say import say
from ..table import table
from ..told import tell

if TYPE_CHECKING:
    from nesting import Entry, Plan

__all__ = ["add", "run"]

_MOST_SAID = 5


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "order",
        about="plan an order: spreads, plies, markers, buying",
        example='thriftlay order totes.toml --out totes --spare "5 %"',
    )
    parser.add_argument("job", type=Path, metavar="JOB.toml")
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    add_search(parser)
    add_only(parser)
    add_stock(parser)
    parser.add_argument(
        "--spare", type=share, default=0.0, metavar="SHARE", help='buy this much more: "5 %%"'
    )
    add_running(parser)
    add_write(parser)
    add_replace(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Plan the order, write the files, print the spreads."""
    job = nesting.read_job(arguments.job, stock=arguments.stock)
    job.wanted(arguments.only)  # or refused, before anything is made ready
    make = partial(nesting.make_order_plan, spare=arguments.spare)
    with stopping() as stop:
        plan, bought = planned(arguments, job, stop, names=[], make=make, write=nesting.write_order)
    if arguments.json:
        from ..records import plan_result

        told = plan_result(plan, bought, folder=str(arguments.out))
        tell("order", told, currency=plan.job.currency)
    else:
        say(_table(plan))
        say(f"\n{_bounds(plan)}")
        if plan.widths_tried:
            say(f"\n{widths_table(plan)}")
        say(f"\n{buying_table(plan, bought)}")
        if assumed := assumptions(plan, reported="report" in arguments.write):
            say(f"{assumed}\n")
        say(f"files are in {arguments.out}")
    for entry in plan.entries:
        for line in _faults(entry):
            say(f"thriftlay: {line}", trouble=True)
    return ended(plan, stop)


def _faults(entry: Entry) -> list[str]:
    """Say what is wrong with a marker, the first few faults of each kind."""
    name = entry.marker.lay.name
    said = [f"{name}: not laid: {part}: {why}" for part, why in entry.unplaced[:_MOST_SAID]]
    if len(entry.unplaced) > _MOST_SAID:
        said.append(f"{name}: not laid: {len(entry.unplaced) - _MOST_SAID} more")
    # A missing part is one of those above.
    faults = [f for f in entry.findings if f.severity == "fault" and f.kind != "missing"]
    return [*said, *(f"{name}: {fault.text}" for fault in faults[:_MOST_SAID])]


def _table(plan: Plan) -> str:
    from nesting.planning.summary import summary
    from nesting.writing.pages.wording import laid_on

    head = ["material", "marker", "each ply gives", "plies", "long", "cloth", "efficiency"]
    rows, amounts = [], plan.job.amounts
    for entry in plan.entries:
        s = summary(entry)
        name = entry.marker.lay.name
        rows.append(
            [
                s.material,
                "" if name == s.material else name,
                _given(plan, entry),
                " + ".join(map(str, entry.spreads)) if s.width else "",
                amounts.needed(s.length) if s.width else "",
                amounts.taken(entry.buying.needed) if s.width else laid_on(entry),
                f"{100 * s.efficiency:.1f} %",
            ]
        )
    return table(head, rows)


def _given(plan: Plan, entry: Entry) -> str:
    from nesting.planning.orders.bundles import faces_each_other

    held = ", ".join(f"{count} × {bag}" for bag, count in entry.bags)
    if not held:
        # On remnants of cloth some parts are laid, on sheets and hides all of them.
        parts = len(entry.marker.placements)
        some = "1 part" if parts == 1 else f"{parts} parts"
        held = "everything" if plan.job.material(entry.material.name) == entry.material else some
    return f"two plies: {held}" if faces_each_other(entry, plan.job) else held


def _bounds(plan: Plan) -> str:
    from nesting.planning.summary import order_lines

    head = ["material", "taken", "no plan below", "above", "spreads"]
    rows, amounts = [], plan.job.amounts
    for line in order_lines(plan):
        said = [amounts.taken(line.taken), amounts.least(line.least), f"{100 * line.gap:.1f} %"]
        rows.append([line.material, *said, str(line.spreads or "")])
    return table(head, rows)
