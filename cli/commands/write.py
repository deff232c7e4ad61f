"""``thriftlay write PLAN``: the files again, from the stored plan, without searching."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import nesting

from ..arguments import add_json, add_replace, add_write, new_command
from ..interrupt import unwinding
from ..say import say
from ..told import tell

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "write",
        about="write files again from a stored plan",
        example="thriftlay write tote/plan.json --write dxf,report --out again",
    )
    parser.add_argument("plan", type=Path, metavar="plan.json")
    add_write(parser)
    parser.add_argument(
        "--out", type=Path, metavar="FOLDER", help="where to (default: the plan's own folder)"
    )
    add_replace(parser)
    add_json(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write the files and print their names."""
    from nesting.planning.summary import judge_plan

    plan = judge_plan(nesting.load_plan(arguments.plan))
    folder = arguments.out or arguments.plan.parent
    with unwinding():
        files = nesting.write_plan(
            plan,
            folder,
            kinds=arguments.write,
            overwrite=arguments.replace,
            insist=arguments.insist,
        )
    names = [str(file) for file in files]
    if arguments.json:
        from ..records import WriteResult

        tell("write", WriteResult(files=tuple(names)), currency=plan.job.currency)
    else:
        say("\n".join(names))
    return 0 if all(entry.good for entry in plan.entries) else 1
