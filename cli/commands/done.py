"""``thriftlay done PLAN --stock FILE…``: take a cut plan off the stock."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import nesting

from ..arguments import add_json, new_command
from ..interrupt import unwinding
from ..say import say
from ..told import tell

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "done",
        about="a plan was cut: update the stock file",
        example="thriftlay done tote/plan.json --stock stock.toml",
    )
    parser.add_argument("plan", type=Path, metavar="plan.json")
    parser.add_argument(
        "--stock",
        type=Path,
        nargs="+",
        required=True,
        metavar="FILE.toml",
        help="from several each takes its own goods; what stands in none comes to the first",
    )
    add_json(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Update the stock file and say what changed."""
    from nesting.planning.buying.stock import after_cutting_all, read_stock, write_stocks

    plan = nesting.load_plan(arguments.plan)
    stocks = [read_stock(path) for path in dict.fromkeys(arguments.stock)]
    taken = after_cutting_all(stocks, plan)
    with unwinding():
        write_stocks([one.stock for one in taken])
    changes = tuple(line for one in taken for line in one.changes)
    if arguments.json:
        from ..records import DoneResult

        told = DoneResult(changes=changes)
        tell("done", told, currency=plan.job.currency)
        return 0
    for line in changes or ("the plan used nothing that is in this stock file",):
        say(line)
    return 0
