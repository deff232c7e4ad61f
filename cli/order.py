"""``thriftlay order JOB``: spreads, plies and markers for an order of many bags."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from nesting import (
    Plan,
    cluster,
    make_order_plan,
    processes,
    read_job,
    read_stock,
    ready_folder,
    shopping_list,
    summary,
    warm,
    with_stock,
    write_order,
)

from .arguments import add_search, seconds
from .interrupt import stopping
from .progress import Display
from .table import table

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("order", help="plan an order: spreads, plies, markers, buying")
    parser.add_argument("job", type=Path, metavar="JOB.toml")
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    add_search(parser)
    parser.add_argument("--stock", type=Path, metavar="FILE.toml", help="what is at hand")
    parser.add_argument("--spare", type=float, default=0.0, metavar="%%", help="buy this much more")
    parser.add_argument("--cluster", metavar="ADDRESS", help="a Dask scheduler, tcp://HOST:PORT")
    parser.add_argument("--replace", action="store_true", help="replace the plan that is there")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Plan the order, write the files, print the spreads."""
    job = read_job(arguments.job)
    stock = read_stock(arguments.stock) if arguments.stock else None
    if stock is not None:
        job = with_stock(job, stock)
    ready_folder(arguments.out, overwrite=arguments.replace)
    warm(lambda text: print(text, file=sys.stderr))
    limit = seconds(arguments)
    display = Display([], limit)
    runs = cluster(arguments.cluster) if arguments.cluster else processes(arguments.workers)
    with runs as executor, stopping() as stop:
        plan = make_order_plan(
            job,
            seconds=limit,
            rounds=arguments.rounds,
            seed=arguments.seed,
            observer=display,
            stop=stop,
            executor=executor,
        )
    display.close()
    bought = shopping_list(
        plan, stock=stock.at_hand if stock else None, spare=arguments.spare / 100.0
    )
    write_order(plan, bought, arguments.out, overwrite=arguments.replace)
    if arguments.json:
        print(json.dumps(_records(plan), ensure_ascii=False))
    else:
        print(_table(plan))
        if bought.cost is not None:
            print(
                f"\nto buy: {bought.cost:.2f} {plan.job.currency}, {bought.cost_per_bag:.2f} a bag"
            )
        print(f"files are in {arguments.out}")
    return 0 if all(entry.good for entry in plan.entries) else 1


def _records(plan: Plan) -> list[dict[str, Any]]:
    return [
        {
            "marker": entry.marker.lay.name,
            "material": entry.material.name,
            "bags": dict(entry.bags),
            "spreads": list(entry.spreads),
            "length": summary(entry).length,
            "needed": entry.buying.needed,
            "bound": plan_bound,
            "good": entry.good,
        }
        for entry, plan_bound in ((e, e.search.bound) for e in plan.entries)
    ]


def _table(plan: Plan) -> str:
    head = ["material", "each ply holds", "plies", "marker", "cloth", "efficiency"]
    rows = []
    for entry in plan.entries:
        s = summary(entry)
        rows.append(
            [
                s.material,
                ", ".join(f"{count} × {name}" for name, count in entry.bags) or "everything",
                " + ".join(map(str, entry.spreads)),
                f"{s.length / 10:.1f} cm",
                f"{entry.buying.needed / 1000:.2f} m" if s.width else f"{s.sheets} sheets",
                f"{100 * s.efficiency:.1f} %",
            ]
        )
    return table(head, rows)
