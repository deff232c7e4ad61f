"""``thriftlay print PLAN``: true-scale PDF of markers, templates or labels, and of marks."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import nesting
from nesting.errors import WriteError
from nesting.writing.paper.papers import PAPERS

from ..arguments import add_json, add_replace, new_command
from ..interrupt import unwinding
from ..printed import WHATS, paper_of, printed
from ..say import say
from ..told import tell

__all__ = ["add", "run"]

_MARKS = "marks"


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "print",
        about="print markers, templates or labels at true scale, or marks for photographs",
        example="thriftlay print tote/plan.json --out tote.pdf --paper letter",
    )
    parser.add_argument("plan", type=Path, metavar="plan.json", nargs="?")
    parser.add_argument("--out", type=Path, required=True, metavar="FILE.pdf")
    parser.add_argument(
        "--what",
        choices=[*WHATS, _MARKS],
        default="markers",
        help="marks need no plan: they are laid beside pieces that are photographed",
    )
    parser.add_argument(
        "--only",
        action="append",
        metavar="MATERIAL",
        help="of this material only (may be repeated)",
    )
    parser.add_argument(
        "--rectangles",
        action="store_true",
        help="templates of large plain rectangles, too, whose sizes are else listed",
    )
    parser.add_argument(
        "--paper",
        type=str.lower,
        choices=sorted(PAPERS),
        default="a4",
        help="sheets to tile (default a4)",
    )
    parser.add_argument(
        "--roll",
        metavar="WIDTH",
        help="a plotter's roll: \"36 in\"; a number without a unit is in the job's",
    )
    parser.add_argument(
        "--overlap",
        metavar="LENGTH",
        help="how far sheets overlap where they are glued, with a unit or in the job's; 0: edge to"
        " edge (default 10 mm, in a job in inches 3/8 in)",
    )
    add_replace(parser)
    add_json(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write the PDF and say how many sheets it takes."""
    if arguments.what == _MARKS:
        return _marks(arguments)
    if arguments.plan is None:
        raise WriteError("no plan is named", hint="thriftlay print plan.json --out FILE.pdf")
    from nesting.planning.summary import judge_plan

    plan = judge_plan(nesting.load_plan(arguments.plan))
    paper, overlap = paper_of(
        plan.job, paper=arguments.paper, rolled=arguments.roll, overlap=arguments.overlap
    )
    with unwinding():
        made = printed(
            plan,
            arguments.out,
            what=arguments.what,
            paper=paper,
            overlap=overlap,
            only=arguments.only,
            rectangles=arguments.rectangles,
            overwrite=arguments.replace,
        )
    drawings, sheets = made or (None, None)
    if arguments.json:
        from ..records import PrintResult

        told = PrintResult(file=str(arguments.out), drawings=drawings, sheets=sheets)
        tell("print", told, currency=plan.job.currency)
    elif made is None:
        say(arguments.out)
    elif sheets:
        say(f"{arguments.out}: {drawings} drawings on {sheets} sheets; check the square first")
    else:
        say(f"{arguments.out}: nothing to cut out; it lists rectangles to draw with a ruler")
    return 0


def _marks(arguments: argparse.Namespace) -> int:
    """Write the marks that give photographs their scale."""
    from nesting.writing.paper.print_marks import print_marks

    if arguments.plan is not None:
        raise WriteError("marks are of no plan", hint="leave the plan out")
    with unwinding():
        sheets = print_marks(
            arguments.out, paper=PAPERS[arguments.paper], overwrite=arguments.replace
        )
    if arguments.json:
        from ..records import PrintResult

        tell("print", PrintResult(file=str(arguments.out), sheets=sheets))
    else:
        say(f"{arguments.out}: marks on {sheets} sheets; measure one first, then cut them apart")
    return 0
