"""Places, their neighbours and what they weigh beside plain twins, on random cases."""

from __future__ import annotations

import random

import numpy as np
import pytest

from nesting.marker.lay import Binding, Edge, Lattice, Part
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.kernels import (
    grid,
    places,
    tables,
    weighing,
)
from nesting.search.kernels.vectors import BOXES
from nesting.search.prepared.forms import turned
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from tests.unit.search.kernels.twins import (
    obstacle_of,
    others,
    overlap_of,
    placed,
    star,
    stars,
    throw,
    weigh_pairs,
    weights_of,
    world_of,
)


def test_items_are_in_all_cells_that_their_boxes_meet() -> None:
    world = world_of(
        [*stars(210), Part(name="big", piece=Piece(name="big", cut=rectangle(700.0, 90.0)))]
    )
    state, arrays, dice = world.state._state, world.state._arrays, random.Random(6)
    layout = throw(world, dice)
    cells = int(state.grid_x * state.grid_y)
    crowd = dice.sample(range(210), 30)
    for i in crowd:  # more than a bucket holds
        world.state.put(i, int(layout.shape[i]), 0, *layout.at[crowd[0]])
    assert (arrays["buckets"]["following"][:cells] >= 0).any()
    layout = world.save()
    for i in (3, 77, *crowd[:5]):
        world.state.remove(i)
    want: dict[int, set[tuple[int, bool, bool]]] = {}
    for i in set(range(210)) - {3, 77, *crowd[:5]}:
        left, bottom, right, top = np.tile(layout.at[i], 2) + world.grown[layout.shape[i]]
        (x0, y0), (x1, y1) = cell_of(state, left, bottom), cell_of(state, right, top)
        assert grid.cell_at(state, left, bottom) == (x0, y0)
        for cy in range(y0, y1 + 1):
            for cx in range(x0, x1 + 1):
                here = want.setdefault(cy * int(state.grid_x) + cx, set())
                here.add((i, cx == x0, cy == y0))
    seen = 0
    for cell in range(cells):
        listed = members_of(world, cell)
        assert len(listed) == len(set(listed))
        assert set(listed) == want.get(cell, set())
        seen += len(listed)
    assert seen > 400
    assert arrays["items"]["big"].tolist() == [0] * 210 + [1]
    check_neighbours(world, layout, dice)
    spare, free = int(state.spare), 0
    while spare >= 0:
        assert arrays["buckets"]["count"][spare] == 0
        spare, free = int(arrays["buckets"]["following"][spare]), free + 1
    used = int((arrays["buckets"]["following"][:cells] >= 0).sum())
    assert free <= len(arrays["buckets"]) - cells - used


def cell_of(state: np.record, x: float, y: float) -> tuple[int, int]:
    """Return the column and the row of a point's cell."""
    cx, cy = int((x - state.origin_x) * state.per_cell), int((y - state.origin_y) * state.per_cell)
    return min(max(cx, 0), int(state.grid_x) - 1), min(max(cy, 0), int(state.grid_y) - 1)


def members_of(world: World, b: int) -> list[tuple[int, bool, bool]]:
    """Return who is in a cell, and whether it begins in its column and row."""
    arrays, boxes = world.state._arrays, world.state._arrays["boxes"].reshape(4, -1)
    found = []
    while b >= 0:
        bucket = arrays["buckets"][b]
        words = arrays["ends"].reshape(len(arrays["buckets"]), -1)[b]
        ends = words[: 4 * BOXES].reshape(4, BOXES).astype(float)
        for lane in range(BOXES):
            if lane >= bucket["count"]:
                assert ends[:, lane].tolist() == [np.inf, np.inf, -np.inf, -np.inf]
                continue
            i = int(arrays["members"].reshape(-1, tables.WORDS)[b, tables.MEMBERS + lane])
            beyond = (ends[:, lane] - boxes[:, i]) * [-1.0, -1.0, 1.0, 1.0]
            assert (beyond >= 0.0).all()
            assert (beyond <= 2e-7 * np.abs(boxes[:, i])).all()
            begins = [bool(int(bucket[name]) >> lane & 1) for name in ("begin_x", "begin_y")]
            found.append((i, *begins))
        b = int(bucket["following"])
    return found


def test_neighbours_are_the_boxes_that_overlap(world: World) -> None:
    dice = random.Random(7)
    for _ in range(10):
        check_neighbours(world, throw(world, dice), dice)


def check_neighbours(world: World, layout: Layout, dice: random.Random) -> None:
    state, lists = world.state._state, world.state._arrays["neighbours"]
    boxes = np.tile(world.save().at, 2) + world.grown[layout.shape]
    on = world.save().sheet >= 0
    for i in dice.sample(range(world.items), 8):
        s, x, y = placed(world, i)
        mine = world.grown[s] + (x, y, x, y)
        hit = (boxes[:, :2] < mine[2:]).all(axis=1) & (boxes[:, 2:] > mine[:2]).all(axis=1) & on
        hit[i] = False
        bounds = obstacle_of(world, i, int(layout.sheet[i]))
        count, obstacle = places.around(state, i, s, int(layout.sheet[i]), x, y)
        near = [int(j) for j in lists[:count]]
        assert obstacle == (bounds[0] if bounds else -1)
        assert sorted(near) == [*np.flatnonzero(hit), *([world.items] if bounds else [])]
        for j, other in others(world, i, int(layout.sheet[i])):
            assert places.neighbour(state, j, obstacle) == other


def test_the_nearest_number_on_a_grid() -> None:
    dice = random.Random(8)
    for _ in range(200):
        period, origin, off = dice.uniform(2, 9), dice.uniform(-5, 5), dice.uniform(0, 0.9)
        low = dice.uniform(-20, 10)
        value, high = dice.uniform(low, low + 12), low + 12
        near = [origin + n * period for n in range(-40, 40)]
        good = [
            v
            for c in near
            for v in np.clip([low, high, value, c - off, c + off], c - off, c + off)
            if low <= v <= high
        ]
        want = min(good, key=lambda v: abs(v - value))
        got = places.nearest_on(value, period, origin, off, low, high, 0.0)
        assert low <= got <= high
        assert min(abs(got - c) for c in near) <= off + 1e-9
        assert abs(got - value) == pytest.approx(abs(want - value), abs=period)
        if low <= min(near, key=lambda c: abs(c - value)) <= high:
            assert abs(got - value) == pytest.approx(abs(want - value))


@pytest.mark.parametrize("edge", [None, Edge.LOW, Edge.HIGH])
def test_an_admitted_place_is_in_the_domain_and_on_the_lattice(edge: Edge | None) -> None:
    grid = Lattice(along=37.0, across=23.0, drop=0.5, origin=(4.0, 2.0), tolerance=1.5)
    held = Binding(anchor=(3.0, 1.0), lattice=grid, phase="p")
    free = [star(f"free {n}", 4, 30.0, edge=edge) for n in range(3)]
    world = world_of([*free, *stars(4, binding=held, flip=False)])
    world.state.phases = np.array([7.0, 5.0])
    dice, x1 = random.Random(9), world._domains.boxes[0, 0] + world.length
    for _ in range(100):
        i = dice.randrange(world.items)
        s = dice.choice(world.options_of(i, 0))
        left, bottom, right, top = world.true[s]
        low, high = np.array([-left, -bottom]), np.array([x1 - right, 300.0 - top])
        if i < 3 and edge is Edge.LOW:
            high[1] = low[1]
        if i < 3 and edge is Edge.HIGH:
            low[1] = high[1]
        assert world.state.domain(i, s, 0) == pytest.approx((*low, *high))
        x, y = dice.uniform(-50, x1 + 50), dice.uniform(-50, 350)
        ok, *at = world.state.admit(i, s, 0, x, y)
        assert ok
        assert (at >= low - 1e-6).all()
        assert (at <= high + 1e-6).all()
        if i < 3:
            assert at == pytest.approx(np.clip([x, y], low, high))
            continue
        shape = world.shapes[s]
        centre = np.array(world.outlines[shape.outline].centre)
        anchor = turned(np.array([held.anchor]) - centre, shape)[0] + at
        origin = places.lattice_origin(world.state._state, i, s)
        assert anchor - np.array(at) + origin == pytest.approx([11.0, 7.0])
        assert max(map(abs, grid_off(anchor, grid, (7.0, 5.0)))) <= grid.tolerance + 1e-6
        world.state.put(i, s, 0, *at)
        off = world.state.off_lattice(i, np.array(at))
        assert np.abs(off) == pytest.approx(np.abs(grid_off(anchor, grid, (7.0, 5.0))), abs=1e-9)


def grid_off(anchor: np.ndarray, grid: Lattice, phase: tuple[float, float]) -> tuple[float, float]:
    """Return how far a point is from the nearest row and from the nearest point of it."""
    x, y = anchor - np.array(grid.origin) - np.array(phase)
    row = round(y / grid.across)
    x -= grid.drop * grid.along * (row % 2)
    return x - grid.along * round(x / grid.along), y - grid.across * row


def weight_of(world: World, i: int, one: tuple, sheet: int) -> float:
    """Return what a place of an item weighs: overlaps and distances from mates."""
    weights = weights_of(world)
    near = [(j, o) for j, o in others(world, i, sheet)]
    total = sum(float(weights[i, j]) * overlap_of(world, one, other) for j, other in near)
    state, layout, part = world.state._state, world.save(), world.lay.parts[i]
    for j, other in enumerate(world.lay.parts):
        if part.mates is None or other.mates != part.mates or j == i:
            continue
        if layout.sheet[j] != sheet:
            total += float(weights[i, j]) * state.apart
        else:
            total += state.pull * float(np.abs(layout.at[j] - one[1:]).sum())
    return total


@pytest.mark.parametrize("mates", [False, True])
def test_a_place_weighs_its_overlaps_and_its_mates_distance(mates: bool) -> None:
    parts = [star(f"{n}", 3 + n % 3, 30.0, mates=f"m{n // 2}" if mates else None) for n in range(8)]
    world = world_of(parts, sheets=True)
    state, dice = world.state._state, random.Random(10)
    for _ in range(20):
        layout = throw(world, dice)
        weigh_pairs(
            world, np.array([[dice.choice([1.0, 2.5]) for _ in range(9)] for _ in range(8)])
        )
        i = dice.randrange(8)
        sheet, one = int(layout.sheet[i]), placed(world, i)
        want = weight_of(world, i, one, sheet)
        before = state.weighed
        s, x, y = one
        assert weighing.weigh(state, i, s, sheet, x, y, tables.FAR) == pytest.approx(want, abs=1e-6)
        if not mates:
            assert weighing.weigh(state, i, s, sheet, x, y, 0.5 * want) >= 0.5 * want - 1e-6
            assert state.weighed == before + 2


def test_all_are_put_up_to_the_first_that_has_no_place() -> None:
    world = world_of(stars(5))
    layout, dice = world.save(), random.Random(12)
    for i in range(5):
        layout.at[i] = dice.uniform(-50.0, 400.0), dice.uniform(-50.0, 400.0)
    layout.sheet[1] = -1
    admitted = [
        world.state.admit(i, int(layout.shape[i]), 0, *layout.at[i].tolist()) for i in range(5)
    ]
    world.state.end_at(slice(world.kinds.of[3], world.kinds.of[3] + 1), np.zeros(1))
    assert world.state.put_all(layout) == 3
    before = world.save().at[3].tolist()
    assert world.state.put_all(layout, 4) == 5
    now, room = world.save(), world.state.domains(layout)
    assert now.sheet.tolist() == [0, -1, 0, 0, 0]
    for i in (0, 2, 4):
        assert now.at[i].tolist() == list(admitted[i][1:])
        assert room[i].tolist() == list(world.state.domain(i, int(layout.shape[i]), 0))
    assert now.at[3].tolist() == before
    assert room[1].tolist() == [0.0] * 4


def test_what_is_read_together_lies_in_few_lines() -> None:
    arrays = world_of(stars(130)).state._arrays
    assert arrays["items"].dtype.itemsize == tables.LINE
    assert arrays["buckets"].dtype.itemsize == 3 * tables.LINE
    for name in ("items", "buckets"):
        assert arrays[name].ctypes.data % tables.LINE == 0
    words = [arrays[name].ctypes.data for name in ("buckets", "ends", "members")]
    assert len(set(words)) == 1


def test_a_lowered_number_is_no_larger_and_hardly_smaller() -> None:
    dice = np.random.default_rng(3)
    every = dice.uniform(-1.0, 1.0, 10_000) * 10.0 ** dice.integers(-9, 9, 10_000)
    for x in [*every, *np.float32(every).astype(float), 0.0]:
        low = grid.lowered(x)
        assert np.float32(low) == low
        assert x - 3e-7 * abs(x) <= low <= x
