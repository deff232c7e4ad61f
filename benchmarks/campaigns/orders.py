"""Random orders, planned, written and read back: does the table give what was ordered.

Run ``python -m benchmarks.campaigns.orders --size N --seed S [--json FILE] [--keep FOLDER]
[--first K]``.

Each order is planned in a round, its files are written and compared with the order, which is
read a second time for that (`trade`): every part of every bag in its hand from all plies
together, spreads no higher and longer than the table, rolls no longer than they are, splices
that cut no part, and each marker by the rules that hold for markers.
"""

from __future__ import annotations

import json
import shutil
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from random import Random

from nesting import NestingError, make_order_plan, read_job, write_plan

from .jobs import Here, Told, kind_of
from .made.order import made_order
from .row import Tally, options
from .trade.asked.cutting_list import Job, read
from .trade.rules.answer import entries_of, told_of
from .trade.rules.judge import broken, matched
from .trade.rules.spreading import spread_wrong
from .trade.shown.drawings import drawn_wrong

__all__ = ["main", "one_order", "order_wrong", "run"]


def one_order(name: str, folder: Path) -> Told:
    """Make, plan, write and judge the order of a seed (``"1/17"``) in an empty folder."""
    told, files = Told(), made_order(Random(f"order {name}"))
    for file, text in files.items():
        (folder / file).write_text(text, encoding="utf-8")
    try:
        try:
            job = read_job(folder / "job.toml")
            plan = make_order_plan(job, seconds=None, rounds=0, executor=Here())
        except NestingError as error:
            told.counts["refused"] += 1
            told.refused = kind_of(str(error))
            if "\n" in str(error):
                told.faults.append(f"more than a line: {error}")
            return told
        write_plan(plan, folder / "laid", kinds=("svg",))
        told.counts["orders"] += 1
        told.faults += order_wrong(folder / "laid", read(folder / "job.toml"), told.counts)
    except Exception:
        told.faults.append(traceback.format_exc())
    return told


def order_wrong(folder: Path, job: Job, counts: Counter[str] | None = None) -> Iterator[str]:
    """Yield what is wrong in the files of an order's plan."""
    plan = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    entries = entries_of(plan)
    every = matched(entries, job)
    yield from broken(entries, job, told_of(plan), order=True)
    yield from spread_wrong(every, job)
    yield from drawn_wrong(folder, every)
    for entry in entries:
        for fault in entry.faults:
            if fault["kind"] != "missing":
                yield f"the judge itself finds: {fault['text']}"
        if counts is not None:
            counts["parts"] += sum(entry.spreads) * len(entry.lying)
            counts["spreads"] += len(entry.spreads)
            counts["spliced plies"] += sum(len(one["rolls"]) == 2 for one in entry.laid_from)


def run(size: int, seed: int, *, first: int = 0, keep: Path | None = None) -> Tally:
    """Try so many orders."""
    tally, refused = Tally("orders", seed), Counter[str]()
    for number in range(first, first + size):
        name = f"{seed}/{number}"
        with tempfile.TemporaryDirectory() as folder:
            told = one_order(name, Path(folder))
            if told.faults and keep is not None:
                shutil.copytree(folder, keep / name.replace("/", "-"), dirs_exist_ok=True)
        refused[told.refused] += 1
        for what in ("orders", "parts", "spreads"):
            tally.tried[what] += told.counts.pop(what, 0)
        tally.found.update(told.counts)
        tally.faults += [f"order {name}: {line}" for line in told.faults]
        for line in told.faults:
            print(f"order {name}: {line}", file=sys.stderr, flush=True)
    for why, often in refused.most_common():
        if why:
            print(f"refused {often} times: {why}", file=sys.stderr)
    return tally


def main() -> int:
    """Run the campaign."""
    parser = options("Orders, planned, written, read back and judged.", size=300)
    parser.add_argument("--first", type=int, default=0, help="number of the first (default: 0)")
    parser.add_argument("--keep", type=Path, help="keep the orders with faults in this folder")
    asked = parser.parse_args()
    return run(asked.size, asked.seed, first=asked.first, keep=asked.keep).tell(asked.json)


if __name__ == "__main__":
    raise SystemExit(main())
