"""``thriftlay print PLAN``: true-scale PDF of markers, templates or labels."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nesting
from nesting.writing.paper.papers import PAPERS, roll, usual_overlap

from ..arguments import add_json, add_replace, length, new_command
from ..interrupt import unwinding
from ..printed import markers_drawn, templates_drawn
from ..say import say
from ..told import tell

if TYPE_CHECKING:
    from nesting import Job, Plan
    from nesting.writing.paper.papers import Paper

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
    parser.add_argument("--what", choices=["markers", "templates", "labels"], default="markers")
    parser.add_argument(
        "--only",
        action="append",
        metavar="MATERIAL",
        help="markers, or templates of the pieces, of this material only (may be repeated)",
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
    paper, overlap = _paper(arguments, plan.job)
    if arguments.what == "labels":
        return _labels(plan, paper, arguments)
    from nesting.writing.paper.print_pdf import print_drawings

    if arguments.what == "templates":
        drawings = templates_drawn(
            plan, paper, overlap=overlap, only=arguments.only, rectangles=arguments.rectangles
        )
    else:
        drawings = markers_drawn(plan, paper, overlap=overlap, only=arguments.only)
    with unwinding():
        tilings = print_drawings(
            drawings,
            arguments.out,
            paper=paper,
            overlap=overlap,
            title=plan.job.name,
            amounts=plan.job.amounts,
            overwrite=arguments.replace,
        )
    sheets = sum(len(tiling.tiles) for tiling in tilings)
    if arguments.json:
        from ..records import PrintResult

        told = PrintResult(file=str(arguments.out), drawings=len(drawings), sheets=sheets)
        tell("print", told, currency=plan.job.currency)
        return 0
    if sheets:
        say(f"{arguments.out}: {len(drawings)} drawings on {sheets} sheets; check the square first")
    else:
        say(f"{arguments.out}: nothing to cut out; it lists rectangles to draw with a ruler")
    return 0


def _paper(arguments: argparse.Namespace, job: Job) -> tuple[Paper, float]:
    """Return what is printed on, and by how much its sheets overlap (mm)."""
    overlap = usual_overlap(job.amounts)
    if arguments.overlap is not None:
        overlap = length(arguments.overlap, unit=job.unit)
    if arguments.roll is None:
        return PAPERS[arguments.paper], overlap
    return roll(length(arguments.roll, unit=job.unit), amounts=job.amounts), overlap


def _labels(plan: Plan, paper: Paper, arguments: argparse.Namespace) -> int:
    from nesting.writing.paper.labels import part_labels, print_labels

    labels = part_labels(plan)
    with unwinding():
        print_labels(labels, arguments.out, paper=paper, overwrite=arguments.replace)
    if arguments.json:
        from ..records import PrintResult

        tell("print", PrintResult(file=str(arguments.out)), currency=plan.job.currency)
    else:
        say(arguments.out)
    return 0
