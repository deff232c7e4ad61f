"""An order planned as a whole, against one bag at a time and against one marker per colour.

    python -m benchmarks.orders [JOB.toml] [--seconds 120]

Each of the three ways has the same total time. *One bag at a time*: every design is laid
once, for one bag, and that marker is cut as often as it is ordered. *One marker*: all bags
of the order in one marker for each cloth, in one ply, on a table without end. *The plan*:
spreads and plies as ``thriftlay order`` plans them, within the job's table. Cloth is
counted with the allowances at both ends of every ply; the bound is what no plan within
the table can go below.
"""

from __future__ import annotations

import argparse
from collections import Counter
from dataclasses import replace
from pathlib import Path

import nesting
from nesting.planning.summary import order_lines
from nesting.quantity import Unit

ORDER = Path(__file__).parents[1] / "sample_markers" / "order" / "order.toml"


def taken(plan: nesting.Plan, *, times: int = 1) -> Counter[str]:
    """Return what a plan takes: whole mm of cloth, sheets, by material."""
    amounts: Counter[str] = Counter()
    for entry in plan.entries:
        assert entry.good, entry.material.name
        amount = (
            round(entry.buying.needed.value) if entry.width is not None else entry.buying.sheets
        )
        amounts[entry.material.name] += amount * times
    return amounts


def one_at_a_time(job: nesting.Job, *, seconds: float, seed: int) -> Counter[str]:
    """Return what the order takes if each design is laid once, for one bag."""
    total: Counter[str] = Counter()
    for bag in job.bags:
        alone = replace(job, bags=(replace(bag, count=1),))
        plan = nesting.make_plan(alone, seconds=seconds / len(job.bags), seed=seed)
        total += taken(plan, times=bag.count)
    return total


def main() -> None:
    """Plan in the three ways and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("job", nargs="?", type=Path, default=ORDER)
    parser.add_argument("--seconds", type=float, default=120.0)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    job = nesting.read_job(asked.job)
    alone = one_at_a_time(job, seconds=asked.seconds, seed=asked.seed)
    together = taken(nesting.make_plan(job, seconds=asked.seconds, seed=asked.seed))
    plan = nesting.make_order_plan(job, seconds=asked.seconds, seed=asked.seed)
    planned = taken(plan)
    print("| material | one bag at a time | one marker, no table | the plan | bound | spreads |")
    print("|---|---|---|---|---|---|")
    sums: Counter[str] = Counter()
    for line in order_lines(plan):
        name = line.material
        on_cloth = line.taken.unit == Unit.LENGTH
        unit, factor = ("m", 1000.0) if on_cloth else ("sheets", 1.0)
        digits = 2 if on_cloth else 0
        row = {
            "alone": alone[name],
            "together": together[name],
            "planned": planned[name],
            "bound": line.least.value,
        }
        if on_cloth:
            sums.update(row)
        cells = [f"{amount / factor:.{digits}f} {unit}" for amount in row.values()]
        print(f"| {name} | {' | '.join(cells)} | {line.spreads or ''} |")
    cells = [f"{sums[key] / 1000.0:.2f} m" for key in ("alone", "together", "planned", "bound")]
    print(f"| all cloth | {' | '.join(cells)} | |")
    saved = 1.0 - sums["planned"] / sums["alone"]
    more = sums["planned"] / sums["together"] - 1.0
    above = sums["planned"] / sums["bound"] - 1.0
    print(
        f"\nThe plan takes {100 * saved:.1f} % less cloth than one bag at a time, "
        f"{100 * more:+.1f} % against one marker per colour, {100 * above:.1f} % above the bound."
    )


if __name__ == "__main__":
    main()
