"""Small orders of which every plan can be made: the planned one is the best of them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from nesting.errors import JobError
from nesting.job.file import parse_job
from nesting.material.material import Cloth
from nesting.planning.orders.cloth_order import ClothOrder
from nesting.planning.orders.effort import Effort
from nesting.planning.orders.order import make_order_plan
from nesting.planning.orders.ratios import Ratio, Rules, ratios
from nesting.planning.orders.relaxed import relaxed, rounded
from nesting.planning.orders.spreads import cut_plan
from nesting.search.result import Limits
from nesting.search.solve import search

from .test_order import Here

# Rectangles, whose shortest markers the search proves.
JOB = """
[job]
name = "small"
[table]
{table}
[[cloth]]
name = "canvas"
width = "60 cm"
selvedge = 0
spacing = 0
ends = 12
nap = "one-way"
shrinkage = 0
{cloth}
[[bag]]
name = "tote"
count = {totes}
  [[bag.piece]]
  name = "panel"
  rectangle = [300, 220]
  [[bag.cut]]
  piece = "panel"
  material = "canvas"
  copies = 2
[[bag]]
name = "pouch"
count = {pouches}
  [[bag.piece]]
  name = "front"
  rectangle = [200, 150]
  [[bag.cut]]
  piece = "front"
  material = "canvas"
  copies = 2
"""

TABLES = {
    "one way": ("plies = 2\nbags = 2", ""),
    "face to face": ('plies = 4\nbags = 1\nspreading = "face to face"', ""),
    "folded": ("plies = 2\nbags = 2", 'fold = "folded"'),
    "short table": ('plies = 3\nbags = 3\nlength = "60 cm"', ""),
    "one more allowed": ("plies = 2\nbags = 2\nover = 1", ""),
    "dear spreads": ('plies = 2\nbags = 2\nspread_cost = "30 cm"\nmarker_cost = "20 cm"', ""),
    "dear cutting": ('plies = 3\nbags = 2\nspread_cost = "1 cm"\ncutting_cost = 0.4', ""),
}


def lengths_of(order: ClothOrder, demand: list[int]) -> dict[Ratio, float]:
    """Return the length of every marker that the rules allow, laid for real."""
    upper = [wanted + order.rules.over for wanted in demand]
    found: dict[Ratio, float] = {}
    for ratio in ratios(upper, bags=order.rules.bags):
        if any(kind.even and n % 2 for kind, n in zip(order.kinds, ratio, strict=True)):
            continue
        result = search(order.lay(ratio), limits=Limits(seconds=None, rounds=3), workers=1)
        length = result.history[-1][1]
        assert length == pytest.approx(result.bound.value), "not proven: the test compares nothing"
        table = order.rules.table
        if table is None or length + 2 * order.rules.ends <= table:
            found[ratio] = length
    return found


def plans(
    ways: list[Ratio], left: tuple[int, ...], over: tuple[int, ...]
) -> Iterator[dict[Ratio, int]]:
    """Yield every choice of plies that meets the order, with no more than `over` of each."""
    if not ways:
        if all(-o <= n <= 0 for n, o in zip(left, over, strict=True)):
            yield {}
        return
    first, *rest = ways
    times = 0
    now = left
    while all(n >= -o for n, o in zip(now, over, strict=True)):
        for plan in plans(rest, now, over):
            yield {first: times, **plan} if times else plan
        times += 1
        now = tuple(n - r for n, r in zip(now, first, strict=True))


@pytest.mark.parametrize("name", TABLES)
@pytest.mark.parametrize("demand", [[3, 2], [2, 4]])
def test_no_other_plan_is_better(name: str, demand: list[int]) -> None:
    table, cloth = TABLES[name]
    job = parse_job(JOB.format(table=table, cloth=cloth, totes=demand[0], pouches=demand[1]))
    goods = job.materials[0]
    assert isinstance(goods, Cloth)
    order = ClothOrder(job, goods, goods.widths[0])
    rules, costs = order.rules, job.table
    lengths = lengths_of(order, demand)
    most = rules.plies // rules.multiple

    def cost(plan: dict[Ratio, int]) -> float:
        cloth = sum(rules.multiple * n * (lengths[r] + 2 * rules.ends) for r, n in plan.items())
        setting = sum(
            -(-n // most) * (costs.spread_cost + costs.cutting_cost * lengths[r])
            for r, n in plan.items()
        )
        return cloth + setting + costs.marker_cost * len(plan)

    over = tuple(rules.over for _ in demand)
    best = min(cost(plan) for plan in plans(list(lengths), tuple(demand), over))
    found = make_order_plan(job, seconds=None, rounds=3, executor=Here())
    planned = {
        tuple(dict(entry.bags).get(kind.name, 0) for kind in order.kinds): sum(entry.spreads)
        // rules.multiple
        for entry in found.entries
    }
    assert cost(planned) == pytest.approx(best, abs=0.5)
    (bound,) = found.bounds
    assert bound.amount.value <= sum(entry.buying.needed.value for entry in found.entries) + 1e-6


def test_of_many_kinds_a_good_plan_is_found_in_little_time() -> None:
    # Twelve kinds, up to eight in a marker: tens of thousands of ratios. Lengths add up, with
    # 30 mm lost a marker and 20 mm at its ends: full markers are best, and by how much is known.
    demand = [3 + i for i in range(12)]
    each = [100.0 + 10.0 * i for i in range(12)]
    rules = Rules(plies=6, bags=8, ends=10.0, table=900.0)

    def length(ratio: Ratio) -> float:
        return 30.0 + sum(n * size for n, size in zip(ratio, each, strict=True))

    plan = cut_plan(demand, length, rules=rules, effort=Effort(seconds=1.0))
    assert list(plan.made) == demand
    assert all(length(s.ratio) + 20.0 <= 900.0 and s.plies <= 6 for s in plan.spreads)
    net = sum(n * size for n, size in zip(demand, each, strict=True))
    fewest = net / (900.0 - 50.0)  # plies, none of them empty at its end
    assert plan.bound <= plan.cloth
    assert plan.cloth <= 1.03 * (net + 50.0 * fewest)


def test_what_was_not_found_in_time_is_not_called_impossible() -> None:
    # Exactly 7 of two kinds in twos can't be cut; that is proved at once.
    with pytest.raises(JobError, match="meet the order exactly"):
        cut_plan(
            [7, 7],
            lambda ratio: 100.0 if ratio == (2, 2) or ratio in ((2, 0), (0, 2)) else None,
            rules=Rules(plies=4, bags=4),
        )


def test_the_relaxation_is_a_bound_of_every_plan() -> None:
    cost = {(1, 0): 60.0, (0, 1): 50.0, (1, 1): 90.0, (2, 1): 140.0}
    found = relaxed([5, 3], cost, over=0)
    assert found is not None
    best = min(
        sum(n * cost[r] for r, n in plan.items()) for plan in plans(list(cost), (5, 3), (0, 0))
    )
    # 3 × (1, 1) and 2 × (1, 0), or 2 × (2, 1) and (1, 1): 390 and 370.
    assert best == 370.0
    assert 0.9 * best <= found.bound <= best
    whole = rounded([5, 3], cost, over=0)
    assert [sum(n * r[i] for r, n in whole.items()) for i in (0, 1)] == [5, 3]
    assert best <= sum(n * cost[r] for r, n in whole.items()) <= 390.0
    assert min(found.reduced.values()) >= -1e-6
