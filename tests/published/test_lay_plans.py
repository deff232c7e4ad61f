"""Published lay plans come out of the cutting plan exactly."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from nesting.errors import JobError
from nesting.planning.orders.ratios import Aims, Ratio, Rules, ratios
from nesting.planning.orders.spreads import cut_plan


@pytest.mark.parametrize(
    ("ordered", "spreads"),
    [
        (25, [25]),
        (114, [30, 30, 30, 24]),
    ],
)
def test_one_size_is_spread_in_full_lays_and_a_rest(ordered: int, spreads: list[int]) -> None:
    # Vilumsone-Nemes, Industrial Cutting of Textile Materials, Table 4.1, p. 33: at most 30 plies.
    plan = cut_plan([ordered], lambda r: 1000.0 * sum(r), rules=Rules(plies=30, bags=1))
    assert [spread.plies for spread in plan.spreads] == spreads
    assert plan.optimal


def test_no_more_spreads_than_the_handbook_pairs() -> None:
    # Same book, p. 14: sizes 36 to 46, two a marker, in spreads of 20, b, a, 18, 8 and 39 plies.
    # The orders for 40 and 44 are not in the excerpt we have: any a and b with 42 = a + 8 for
    # 40 = a, and 38 = b + 65 for 44 = b, give its numbers.
    a, b = 50, 30
    orders = [38, b + 65, a, a + 8, b, 20]
    handbook = [20, b, a, 18, 8, 39]
    plan = cut_plan(
        orders,
        lambda ratio: 700.0 * sum(ratio),
        rules=Rules(plies=100, bags=2),
        aims=Aims(spread=500.0, marker=500.0),
    )
    assert plan.made == tuple(orders)
    assert len(plan.spreads) <= len(handbook)
    # The handbook's spreads hold two sizes each, the last one: none of ours is laid for nothing.
    held = sum(sum(spread.ratio) * spread.plies for spread in plan.spreads)
    assert held == 2 * sum(handbook[:-1]) + handbook[-1]


def test_the_handbook_s_markers_get_the_handbook_s_plies() -> None:
    # Same page: from its six markers of one or two sizes the plies come out as printed.
    a, b = 50, 30
    orders = [38, b + 65, a, a + 8, b, 20]
    printed = {(0, 5): 20, (1, 4): b, (2, 3): a, (0, 1): 18, (1, 3): 8, (1,): 39}
    markers = {tuple(int(size in of) for size in range(6)): n for of, n in printed.items()}
    plan = cut_plan(
        orders,
        lambda ratio: 700.0 * sum(ratio) if ratio in markers else None,
        rules=Rules(plies=100, bags=2),
    )
    assert {spread.ratio: spread.plies for spread in plan.spreads} == markers
    assert list(plan.made) == orders


def test_equal_lays_joined_save_both_ends_at_each_border() -> None:
    # Same book, p. 37: three lays of 50 plies joined to one save 2 to 4 cm at each border.
    for ends in (10.0, 20.0):
        apart, joined = (
            cut_plan([150], lambda r: 900.0 * sum(r), rules=Rules(plies=50, bags=bags, ends=ends))
            for bags in (1, 3)
        )
        assert [spread.plies for spread in apart.spreads] == [50, 50, 50]
        assert [(spread.ratio, spread.plies) for spread in joined.spreads] == [((3,), 50)]
        saved = (apart.cloth - joined.cloth) / (50 * 2)
        assert saved == pytest.approx(2.0 * ends)
        assert 20.0 <= saved <= 40.0


@pytest.mark.parametrize(("order", "whole"), [((2, 3, 2), True), ((2, 3, 1), False)])
def test_sizes_ordered_alike_share_a_marker(order: tuple[int, ...], whole: bool) -> None:
    # apparel911: 2:3:2 lets S and L share a marker, 2:3:1 can't be combined: with one of a
    # size in a ply, no two sizes are then used up by the same plies.
    plan = cut_plan(
        order,
        lambda ratio: 700.0 * sum(ratio) if max(ratio) == 1 else None,
        rules=Rules(plies=10, bags=2),
        aims=Aims(spread=500.0, marker=500.0),
    )
    used_up = [
        sum(1 for spread in plan.spreads if spread.ratio[size]) == 1 for size in range(len(order))
    ]
    assert all(used_up) is whole
    if whole:
        found = {(spread.ratio, spread.plies) for spread in plan.spreads}
        assert found == {((1, 0, 1), 2), ((0, 1, 0), 3)}


def test_a_ratio_of_1_2_2_1_makes_six_from_one_ply_and_twelve_from_two() -> None:
    # leanstitch.com, cut plan example.
    for plies in (1, 2):
        demand = [plies * r for r in (1, 2, 2, 1)]
        plan = cut_plan(
            demand,
            lambda r: 700.0 * sum(r) + 100.0,
            rules=Rules(plies=10, bags=6),
            aims=Aims(spread=500.0, marker=500.0),
        )
        assert [(s.ratio, s.plies) for s in plan.spreads] == [((1, 2, 2, 1), plies)]
        assert sum(plan.made) == 6 * plies


def test_a_2_4_2_order_is_two_plies_of_1_2_1() -> None:
    # apparel911: 2:4:2 is 1:2:1 in twice the plies.
    plan = cut_plan(
        [2, 4, 2],
        lambda r: 500.0 * sum(r),
        rules=Rules(plies=8, bags=4),
        aims=Aims(spread=100.0, marker=100.0),
    )
    assert [(s.ratio, s.plies) for s in plan.spreads] == [((1, 2, 1), 2)]


def test_a_thousand_dozen_in_five_lays() -> None:
    # autogarment.com: a marker of 12 pieces and 25 yd, 200 plies, 1,000 dozen: 5 lays, 25,000 yd.
    yard = 914.4
    plan = cut_plan([1000], lambda r: 25.0 * yard if r == (1,) else None, rules=Rules(plies=200))
    assert [s.plies for s in plan.spreads] == [200] * 5
    assert plan.cloth / yard == pytest.approx(25_000)


def enumerate_best(demand: list[int], length: dict[Ratio, float], rules: Rules) -> float:
    """Return the least cloth over every plan, by plain recursion."""
    best = float("inf")

    def go(index: int, left: tuple[int, ...], cloth: float) -> None:
        nonlocal best
        if cloth >= best:
            return
        if not any(left):
            best = cloth
            return
        if index == len(candidates):
            return
        ratio = candidates[index]
        top = min(rest // r for r, rest in zip(ratio, left, strict=True) if r)
        for plies in range(top, -1, -1):
            rest = tuple(n - plies * r for r, n in zip(ratio, left, strict=True))
            go(index + 1, rest, cloth + plies * (length[ratio] + 2 * rules.ends))

    candidates = list(length)
    go(0, tuple(demand), 0.0)
    return best


@pytest.mark.parametrize("demand", [[3, 2], [4, 4], [5, 1, 2], [2, 3, 3], [7], [1, 1, 1, 1]])
def test_the_plan_is_the_best_of_all_plans(demand: list[int]) -> None:
    rules = Rules(plies=4, bags=3, ends=15.0)
    # Bags of unlike size that share a marker to unlike advantage (invented).
    sizes = (620.0, 410.0, 530.0, 350.0)
    length = {
        ratio: sum(s * r for s, r in zip(sizes, ratio, strict=False)) * 0.97 ** (sum(ratio) - 1)
        + 7.0 * (ratio[0] % 2)
        for ratio in ratios(demand, bags=rules.bags)
    }
    plan = cut_plan(demand, lambda r: length[r], rules=rules)
    assert plan.optimal
    best = enumerate_best(demand, length, rules)
    assert plan.cloth == pytest.approx(best, abs=1.0)
    assert best - 1.0 <= plan.bound <= best
    assert list(plan.made) == demand


def test_an_order_that_cannot_be_met_names_the_rule() -> None:
    with pytest.raises(JobError, match="table of 50 cm is shorter"):
        cut_plan([2], lambda r: 700.0 * sum(r), rules=Rules(table=500.0))
    # Plies that give an even number only: 3 can't be met, unless one more may be made.
    rules = Rules(plies=4, multiple=2, bags=2)
    with pytest.raises(JobError, match="exactly"):
        cut_plan([3], lambda r: 700.0 * sum(r) if r == (2,) else None, rules=rules)
    plan = cut_plan(
        [3], lambda r: 700.0 * sum(r) if r == (2,) else None, rules=replace(rules, over=1)
    )
    assert plan.made == (4,)
    assert [(s.ratio, s.plies) for s in plan.spreads] == [((2,), 4)]


def test_every_ratio_is_offered_once() -> None:
    found = list(ratios([2, 1], bags=2))
    assert sorted(found) == sorted(set(found))
    assert set(found) == {r for r in itertools.product(range(3), range(2)) if 0 < sum(r) <= 2}
