"""``thriftlay cut PLAN --machine SHOP``: files for a cutting machine or plotter."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import nesting
from nesting.writing.machines.formats import Format

from ..arguments import add_json, add_only, add_replace, new_command
from ..interrupt import unwinding
from ..say import say
from ..told import tell

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "cut",
        about="write files for a cutting machine or plotter",
        example="thriftlay cut tote/plan.json --machine shop.toml --out to_cut",
    )
    parser.add_argument("plan", type=Path, metavar="plan.json")
    parser.add_argument("--machine", type=Path, required=True, metavar="SHOP.toml")
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    add_only(parser)
    parser.add_argument(
        "--format",
        action="append",
        type=Format,
        choices=list(Format),
        help="one that the machine reads, if not its first; may be given several times",
    )
    parser.add_argument(
        "--safety-sheet-read",
        action="store_true",
        help="you have read the material's safety data sheet (asked for by some materials)",
    )
    parser.add_argument(
        "--common-lines",
        action="store_true",
        help="part what lies edge to edge by one straight cut",
    )
    parser.add_argument(
        "--insist",
        action="store_true",
        help="write markers that have faults, too; their names and sheets say so",
    )
    add_replace(parser)
    add_json(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write files for every marker, or none; for one that is not good if it is insisted on."""
    plan = nesting.load_plan(arguments.plan)
    machine = nesting.read_machine(arguments.machine)
    with unwinding():
        made = nesting.cut_plan(
            plan,
            machine,
            arguments.out,
            materials=arguments.only or (),
            forms=arguments.format or (),
            sds_read=arguments.safety_sheet_read,
            common_line=arguments.common_lines,
            insist=arguments.insist,
            overwrite=arguments.replace,
        )
    if arguments.json:
        from ..records import CutResult

        files = tuple(str(file) for file in made.files)
        told = CutResult(files=files, findings=tuple(made.findings))
        tell("cut", told, currency=plan.job.currency)
        return 0
    say("\n".join(str(file) for file in made.files))
    for finding in made.findings:
        say(f"{finding.severity}: {finding.text}")
    return 0
