"""The first marker's intervals and lines, and rows, beside plain twins, on random cases."""

from __future__ import annotations

import random

import numpy as np
import pytest

from nesting.marker.lay import Binding, Lattice
from nesting.search.kernels import (
    bottom_left,
    rows,
)
from nesting.search.prepared.world import World
from tests.unit.search.kernels.twins import depths_of, others, placed, stars, throw, world_of


def test_forbidden_intervals_are_where_shapes_overlap(world: World) -> None:
    state, dice, seen = world.state._state, random.Random(17), set()
    out = np.empty((500, 2))
    for _ in range(30):
        layout = throw(world, dice)
        s, x, y = one = placed(world, 0)
        for axis in (bottom_left.ALONG, bottom_left.ACROSS):
            for _, other in others(world, 0, int(layout.sheet[0])):
                count = bottom_left.forbid(state, one, other, axis, out, 0)
                for t in (dice.uniform(0, 400) for _ in range(5)):
                    there = (s, t, y) if axis == bottom_left.ALONG else (s, x, t)
                    deep = depths_of(world, there, other).max()
                    inside = any(low < t < high for low, high in out[:count])
                    if abs(deep) > 1e-5:
                        assert inside == (deep > 0)
                        seen.add(inside)
    assert seen == {True, False}


def test_an_item_slides_past_what_is_in_its_way_and_sinks_up_to_it(world: World) -> None:
    state, dice = world.state._state, random.Random(18)
    out = np.empty((500, 2))
    for _ in range(15):
        layout = throw(world, dice)
        sheet, own = int(layout.sheet[0]), placed(world, 0)
        s, x, y = own
        on = [o for j, o in others(world, 0, sheet) if j == world.items or layout.sheet[j] == sheet]

        def deep(x: float, y: float, on=on, s=s) -> float:
            return max((depths_of(world, (s, x, y), o).max() for o in on), default=-1.0)

        free = bottom_left.slide(state, 0, own, sheet, bottom_left.ALONG, x, out)
        assert free >= x
        assert deep(free, y) < 1e-5
        if free > x:
            assert all(deep(u, y) > -1e-5 for u in np.linspace(x, free, 5)[:-1])
        low = bottom_left.sink(state, 0, (s, free, y), sheet, bottom_left.ACROSS, -50.0, out)
        assert low <= y
        assert all(deep(free, v) < 1e-5 for v in np.linspace(low, y, 5))
        assert low == -50.0 or deep(free, low) > -1e-5


def test_lines_run_from_edge_to_edge_and_stack_from_either() -> None:
    lines = [bottom_left.line_at(n, 3, 2, 10.0, 0.0, 50.0) for n in range(7)]
    assert lines == [0.0, 25.0, 50.0, 0.0, 10.0, 50.0, 40.0]
    assert bottom_left.cut(-1.0, 9.0, 4.0, 2.0) == (-1.0, 2.0)
    assert bottom_left.cut(-9.0, 9.0, 4.0, -2.0) == (-2.0, 9.0)
    assert bottom_left.cut(-1.0, 9.0, -4.0, 0.0)[1] < -1e299


@pytest.mark.parametrize("bound", [False, True])
def test_an_item_is_laid_where_it_overlaps_nothing_and_can_go_no_farther(bound: bool) -> None:
    grid = Lattice(along=11.0, across=7.0, tolerance=0.2)
    rules = {"binding": Binding(anchor=(0.0, 0.0), lattice=grid)} if bound else {}
    world = world_of(stars(6, flip=False, **rules))
    state, out = world.state._state, np.empty((500, 2))
    layout = world.save()
    for i in range(6):
        one, on = placed(world, i), [o for j, o in others(world, i, 0) if j < i]
        assert all(depths_of(world, one, o).max() < 1e-6 for o in on)
        ok, y = bottom_left.on_lattice(state, i, one[0], 0, one[2], (one[1], one[1]))
        assert ok
        assert y == pytest.approx(one[2])
        if bound:
            u = bottom_left.next_admissible(state, i, one[0], 0, one[1] + 0.5, y)
            assert one[1] + 0.5 - 1e-6 <= u <= one[1] + 0.5 + grid.along
            free = bottom_left.first_free(state, i, (one[0], 0.0, y), 0, 10_000.0, out)
            assert world.state.admit(i, one[0], 0, free, y)[1] == pytest.approx(free)
    assert layout.sheet.tolist() == [0] * 6


def test_rows_are_the_gaps_of_near_convex_parts(world: World) -> None:
    state, dice, met = world.state._state, random.Random(19), 0
    for _ in range(5):
        layout = throw(world, dice)
        found = world.state.rows(8.0)
        for i in range(world.items):
            for j, other in others(world, i, int(layout.sheet[i])):
                if j < i:
                    continue
                mine = np.flatnonzero((found.pairs == (i, j)).all(axis=1))
                depths = depths_of(world, placed(world, i), other)
                assert set(np.round(found.gaps[mine], 6)) <= set(np.round(-depths, 6))
                assert (depths > 1e-6).sum() <= (found.gaps[mine] < 0).sum()
                met += len(mine)
    assert met > 50
    assert np.hypot(*found.normals.T) == pytest.approx(1.0)
    none = np.empty((1, 2), dtype=np.int64), np.empty((1, 3))
    assert rows.all_rows(state, 8.0, *none) == -1


def test_rows_left_out_are_implied_by_those_that_stay(world: World) -> None:
    dice, spared = random.Random(23), 0
    for _ in range(5):
        throw(world, dice)
        every, some = world.state.rows(8.0), world.state.rows(8.0, implied=False)
        spared += len(every.gaps) - len(some.gaps)
        for pair in {tuple(p) for p in every.pairs.tolist()}:
            all_of, kept = (np.flatnonzero((r.pairs == pair).all(axis=1)) for r in (every, some))
            for _ in range(20):
                move = np.array([dice.uniform(-8.0, 8.0), dice.uniform(-8.0, 8.0)])
                least = (every.gaps[all_of] + every.normals[all_of] @ move).min()
                assert (some.gaps[kept] + some.normals[kept] @ move).min() == pytest.approx(least)
    assert spared > 50
