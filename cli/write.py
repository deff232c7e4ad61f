"""``thriftlay write PLAN``: the files again, from the stored plan, without searching."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from nesting import judge_plan, load_plan, write_plan

from .arguments import KINDS, kinds

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("write", help="write files again from a stored plan")
    parser.add_argument("plan", type=Path, metavar="plan.json")
    parser.add_argument(
        "--write", type=kinds, default=KINDS, metavar="KINDS", help=f"of {','.join(KINDS)}"
    )
    parser.add_argument(
        "--out", type=Path, metavar="FOLDER", help="where to (default: the plan's own folder)"
    )
    parser.add_argument(
        "--insist", action="store_true", help="write markers with findings; the files say so"
    )
    parser.add_argument("--json", action="store_true", help="print JSON for machines")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write the files and print their names."""
    plan = judge_plan(load_plan(arguments.plan))
    folder = arguments.out or arguments.plan.parent
    files = write_plan(plan, folder, kinds=arguments.write, overwrite=True, insist=arguments.insist)
    names = [str(file) for file in files]
    print(json.dumps(names) if arguments.json else "\n".join(names))
    return 0 if all(entry.good for entry in plan.entries) else 1
