"""``thriftlay print PLAN``: true-scale PDF of markers, templates or labels."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from nesting.planning.plan_file import load_plan
from nesting.planning.summary import judge_plan
from nesting.writing.neutral.draw import draw_entry
from nesting.writing.neutral.naming import job_keys
from nesting.writing.paper.labels import part_labels, print_labels
from nesting.writing.paper.print_pdf import print_drawings
from nesting.writing.paper.templates import templates
from nesting.writing.paper.tiles import PAPERS, roll

from ..arguments import add_json, add_replace, length, new_command
from ..interrupt import unwinding
from ..records import PrintResult
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
    parser.add_argument("--roll", metavar="WIDTH", help="a plotter's roll")
    parser.add_argument(
        "--overlap",
        default="10 mm",
        metavar="LENGTH",
        help="how far sheets overlap where they are glued; 0: edge to edge (default 10 mm)",
    )
    add_replace(parser)
    add_json(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write the PDF and say how many sheets it takes."""
    plan = judge_plan(load_plan(arguments.plan))
    unit = plan.job.unit
    overlap = length(arguments.overlap, unit=unit)
    paper = roll(length(arguments.roll, unit=unit)) if arguments.roll else PAPERS[arguments.paper]
    if arguments.what == "labels":
        labels = part_labels(plan)
        with unwinding():
            print_labels(labels, arguments.out, paper=paper, overwrite=arguments.replace)
        if arguments.json:
            tell("print", PrintResult(file=str(arguments.out)), currency=plan.job.currency)
        else:
            say(arguments.out)
        return 0
    if arguments.what == "templates":
        plan.job.wanted(arguments.only)  # or refused
        drawings = templates(
            plan.job, only=arguments.only, rectangles=arguments.rectangles, paper=paper
        )
    else:
        keys = job_keys(plan.job)
        drawings = tuple(
            drawing
            for entry in plan.wanted(arguments.only)
            for drawing in draw_entry(entry, keys=keys)
        )
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
        told = PrintResult(file=str(arguments.out), drawings=len(drawings), sheets=sheets)
        tell("print", told, currency=plan.job.currency)
        return 0
    say(f"{arguments.out}: {len(drawings)} drawings on {sheets} sheets; check the square first")
    return 0
