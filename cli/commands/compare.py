"""``thriftlay compare JOB``: the same parts on each width of cloth."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nesting

from ..arguments import (
    add_only,
    add_replace,
    add_search,
    add_stock,
    new_command,
    seconds,
    whole,
    widths,
)
from ..compared import HEAD, enough, rows, sums
from ..interrupt import SAVED, stopping
from ..running import add_running, asked, executor, start_workers
from ..say import say
from ..table import table
from ..told import tell

if TYPE_CHECKING:
    from nesting import Job, Trial

__all__ = ["add", "run"]

_INTERRUPTED = "thriftlay: interrupted; this is the best so far"


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "compare",
        about="compare widths of cloth, single or folded: length, cost, waste",
        example='thriftlay compare tote.toml --only lining --widths "110 cm, 54 in"',
    )
    parser.add_argument("job", type=Path, metavar="JOB.toml")
    add_only(parser)
    parser.add_argument(
        "--widths",
        metavar="LIST",
        help='booked widths: "110 cm, 54 in"; numbers without a unit are in the job\'s',
    )
    parser.add_argument(
        "--folds", action="store_true", help="lay each cloth both single and folded lengthwise"
    )
    parser.add_argument(
        "--seeds",
        type=whole,
        default=1,
        metavar="N",
        help="search each N times, to see how sure the result is (default 1)",
    )
    parser.add_argument(
        "--instructions",
        action="store_true",
        help="print the lengths for a designer's instructions, rounded up, in metres and yards",
    )
    parser.add_argument(
        "--bags",
        action="store_true",
        help="say how many whole bags the hides and counted sheets at hand give",
    )
    parser.add_argument("--chart", type=Path, metavar="FILE.png", help="draw a chart")
    add_replace(parser)
    add_stock(parser)
    add_search(parser)
    add_running(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Compare and print the table."""
    job = nesting.read_job(arguments.job, stock=arguments.stock)
    job.wanted(arguments.only)  # or refused, before anything is made ready
    booked = widths(arguments.widths, unit=job.unit)
    start_workers(arguments)
    limit = seconds(arguments)
    if arguments.bags:
        return _bags(job, arguments)
    from ..progress import Display

    display = Display([], limit, amounts=job.amounts)
    with stopping() as stop:
        with display, executor(arguments) as where:
            trials = nesting.compare_widths(
                job,
                only=arguments.only,
                widths=booked,
                folds=arguments.folds,
                **asked(arguments),
                seeds=arguments.seeds,
                observer=stop.noting(display),
                stop=stop,
                executor=where,
            )
        if arguments.chart:
            from nesting.writing.pages.chart import write_width_chart

            write_width_chart(
                trials, arguments.chart, amounts=job.amounts, overwrite=arguments.replace
            )
    if arguments.json:
        from ..records import trials_result

        tell("compare", trials_result(trials), currency=job.currency)
    elif arguments.instructions:
        from nesting.planning.buying.instructions import instruction_lines

        say("\n".join(instruction_lines(trials)))
    else:
        say(table(HEAD, rows(trials, job)))
        say(f"\n{sums(trials, job)}")
    if stop.asked:
        say(_INTERRUPTED, trouble=True)
        return SAVED
    return 0 if _fits(trials) else 1


def _fits(trials: Sequence[Trial]) -> bool:
    """Whether every cloth fits on a width, and whatever was laid is good."""
    cloths = {trial.material for trial in trials}
    fitting = {trial.material for trial in trials if trial.good and not trial.why}
    return cloths == fitting and all(trial.tried is None or trial.good for trial in trials)


def _bags(job: Job, arguments: argparse.Namespace) -> int:
    """Say how many whole bags there is enough for."""
    from nesting.planning.orders.most_bags import most_bags

    with stopping() as stop:
        stop.worth = True  # it tells of nothing until its end
        found = most_bags(
            job,
            **asked(arguments),
            workers=arguments.workers,
            stop=stop,
        )
    if arguments.json:
        from ..records import bags_result

        tell("compare", bags_result(found), currency=job.currency)
    else:
        say(enough(found))
    if stop.asked:
        say(_INTERRUPTED, trouble=True)
        return SAVED
    return 0 if found.bags else 1
