"""``thriftlay print PLAN``: true-scale PDF of markers, templates or labels."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import nesting
from nesting.writing.paper.papers import PAPERS

from ..arguments import add_json, add_replace, new_command
from ..interrupt import unwinding
from ..printed import WHATS, paper_of, printed
from ..say import say
from ..told import tell

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "print",
        about="print markers, templates or labels at true scale",
        example="thriftlay print tote/plan.json --out tote.pdf --paper letter",
    )
    parser.add_argument("plan", type=Path, metavar="plan.json")
    parser.add_argument("--out", type=Path, required=True, metavar="FILE.pdf")
    parser.add_argument("--what", choices=WHATS, default="markers")
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
