"""``thriftlay pattern JOB``: everything that is handed out with a pattern."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nesting
from nesting.writing.paper.papers import PAPERS

from ..arguments import add_replace, add_search, length, new_command, share, widths
from ..interrupt import SAVED, stopping
from ..printed import paper_of
from ..running import add_running, asked, executor, own_folder, start_workers
from ..say import say
from ..table import table
from ..told import tell

if TYPE_CHECKING:
    from nesting import Job
    from nesting.planning.handout.needed import Needed, Needs
    from nesting.writing.paper.papers import Paper

__all__ = ["add", "run"]

_ROLL, _ROLL_WIDTH = "roll", "36 in"
_USUAL = 10.0
"""Seconds for each line of the table."""
_MARGIN = 0.05


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "pattern",
        about="write all that is handed out with a pattern: a booklet, true-size pages, labels",
        example='thriftlay pattern tote.toml --out tote-pattern --widths "110 cm, 54 in"',
    )
    parser.add_argument("job", type=Path, metavar="JOB.toml")
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    parser.add_argument(
        "--paper",
        type=_papers,
        default="a4,letter,a0",
        metavar="LIST",
        help=f"of {','.join((*PAPERS, _ROLL))} (default a4,letter,a0); booklets and labels are for"
        " sheets of the printer at home",
    )
    parser.add_argument(
        "--roll",
        metavar="WIDTH",
        default=_ROLL_WIDTH,
        help=f'how wide the roll is: "914 mm" (default {_ROLL_WIDTH})',
    )
    parser.add_argument(
        "--widths",
        metavar="LIST",
        help='booked widths of cloth: "110 cm, 54 in"; numbers without a unit are in the job\'s'
        " (default: the job's own, and usual ones)",
    )
    parser.add_argument(
        "--margin",
        type=share,
        default=_MARGIN,
        metavar="SHARE",
        help="how much more cloth to name than the markers take (default 5 %%)",
    )
    parser.add_argument(
        "--rectangles",
        action="store_true",
        help="print plain rectangles at true size, too, which are else in a table",
    )
    add_replace(parser)
    add_search(
        parser,
        time="how long to search for each line of the table on one core, on the average",
        default=f"{_USUAL:g}s",
    )
    add_running(parser)
    parser.set_defaults(run=run)


def _papers(text: str) -> tuple[str, ...]:
    """Return the papers in a list such as "a4,roll"."""
    names = tuple(dict.fromkeys(n.strip().lower() for n in text.split(",") if n.strip()))
    known = (*PAPERS, _ROLL)
    wrong = [name for name in names if name not in known]
    if wrong or not names:
        what = repr(wrong[0]) if wrong else "an empty list"
        raise argparse.ArgumentTypeError(f"{what} is none of {', '.join(known)}")
    return names


def run(arguments: argparse.Namespace) -> int:
    """Lay in every width, write the folder, print the table."""
    job = nesting.read_job(arguments.job)
    booked = widths(arguments.widths, unit=job.unit)
    papers = _printed_on(arguments, job)
    from nesting.writing.handout.write import refuse_another, write_handout

    ready = partial(refuse_another, arguments.out, overwrite=arguments.replace)
    with stopping() as stop, own_folder(arguments.out, ready):
        start_workers(arguments)
        from nesting.planning.handout.needed import needs

        from ..progress import Display

        with Display([], None, amounts=job.amounts) as display:
            with executor(arguments) as where:
                found = needs(
                    job,
                    widths=booked,
                    margin=arguments.margin,
                    **asked(arguments, usual=_USUAL),
                    observer=stop.noting(display),
                    stop=stop,
                    executor=where,
                )
            stop.worth = True
            files = write_handout(
                found,
                arguments.out,
                papers=papers,
                rectangles=arguments.rectangles,
                overwrite=arguments.replace,
                tell=display.writing,
            )
        interrupted = stop.asked
    _tell(found, [file.name for file in files], arguments)
    if interrupted:
        say("thriftlay: interrupted; the best so far was saved", trouble=True)
        return SAVED
    return 0 if found.certain else 1


def _printed_on(arguments: argparse.Namespace, job: Job) -> dict[str, Paper]:
    """Return the papers that were asked for, by the name that files get."""
    length(arguments.roll, unit=job.unit)  # or refused
    return {
        name: paper_of(job, paper=name, rolled=arguments.roll if name == _ROLL else None)[0]
        for name in arguments.paper
    }


def _tell(found: Needs, files: list[str], arguments: argparse.Namespace) -> None:
    """Print the table, and what stands in its way."""
    if arguments.json:
        from ..handed_out import pattern_result

        told = pattern_result(found, folder=str(arguments.out), files=files)
        tell("pattern", told, currency=found.job.currency)
    else:
        if not found.standing:
            say(_table(found))
            if found.margin and found.job.cloths:
                say(f"\n{100 * found.margin:g} % is added to each length")
        say(f"\n{len(files)} files are in {arguments.out}")
    for said in found.standing:
        say(f"thriftlay: no table of what to buy: {said}", trouble=True)
    for row in found.rows:
        if row.entry is not None and not row.certain:
            missing = ", ".join(name for name, _ in row.entry.unplaced) or "it has faults"
            say(f"thriftlay: {_named(row, found)}: not certain: {missing}", trouble=True)


def _table(found: Needs) -> str:
    ways = {True: "one way up", False: "either way up", None: ""}
    return table(
        ["material", "width", "", "needed", "by the metre", "by the yard"],
        [[*_goods(row, found), ways[row.one_way], *_numbers(row, found)] for row in found.rows],
    )


def _goods(row: Needed, found: Needs) -> tuple[str, str]:
    wide = "" if row.width is None else found.job.amounts.setting(row.width.booked)
    return row.material, wide


def _numbers(row: Needed, found: Needs) -> list[str]:
    from nesting.writing.handout.words import metres, yards

    amounts = found.job.amounts
    if row.why:
        return [f"can't be used: {row.why}", "", ""]
    if row.entry is None or not row.certain:
        return ["not certain", "", ""]
    if row.width is None:
        return [amounts.said(row.entry.buying.to_buy), "", ""]
    return [amounts.needed(row.gross), metres(found.metres(row)), yards(found.yards(row))]


def _named(row: Needed, found: Needs) -> str:
    return ", ".join(filter(None, _goods(row, found)))
