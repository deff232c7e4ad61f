"""The innermost loops: vector instructions, what is listed, and the way out of an overlap.

Checked against numpy and shapely, which know nothing of pair records and tables.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon

from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.search import problem as made
from nesting.search.kernels import overlaps, pairs, touching
from nesting.search.kernels.vectors import BOXES, LANES, hits, least_slack, lowest_bit
from nesting.search.kernels.whole import whole
from nesting.search.prepared.arrays import GRID_FROM
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World


@whole
def _slack(floats, at, groups, dx, dy):
    return least_slack(floats, np.uint64(at), groups, dx, dy)


@whole
def _hits(floats, at, stride, a0, b0, a1, b1):
    return hits(floats, np.uint64(at), np.uint64(stride), a0, b0, a1, b1)


@whole
def _lowest(bits):
    return lowest_bit(bits)


def test_the_least_slack_is_that_of_numpy():
    dice = np.random.default_rng(1)
    for groups in range(1, 6):
        planes = dice.normal(size=(groups, 3, LANES))
        floats = np.concatenate([[9.0, 9.0], planes.ravel(), [9.0]])
        dx, dy = dice.normal(size=2)
        a, b, c = planes[:, 0], planes[:, 1], planes[:, 2]
        assert _slack(floats, 2, groups, dx, dy) == (c - a * dx - b * dy).min()
    assert _slack(floats, 2, 0, 0.0, 0.0) == math.inf


def test_hits_are_those_of_numpy():
    dice = np.random.default_rng(2)
    stride = 3 * BOXES
    low = dice.uniform(0, 10, size=(2, stride))
    high = low + dice.uniform(0, 4, size=(2, stride))
    floats = np.concatenate([[0.0], low[0], low[1], high[0], high[1]])
    seen = 0
    for _ in range(20):
        a0, b0 = dice.uniform(0, 10, size=2)
        a1, b1 = a0 + 3.0, b0 + 2.0
        want = (low[0] < a1) & (low[1] < b1) & (high[0] > a0) & (high[1] > b0)
        for first in range(0, stride, BOXES):
            bits = _hits(floats, 1 + first, stride, a0, b0, a1, b1)
            assert [bits >> n & 1 for n in range(BOXES)] == want[first : first + BOXES].tolist()
        seen += int(want.sum())
    assert seen > 20


def test_boxes_that_only_touch_do_not_hit():
    floats = np.repeat([0.0, 0.0, 1.0, 1.0], BOXES)
    assert _hits(floats, 0, BOXES, 1.0, 0.0, 2.0, 1.0) == 0
    assert _hits(floats, 0, BOXES, 0.999, 0.0, 2.0, 1.0) == (1 << BOXES) - 1


@pytest.mark.parametrize("bit", [0, 1, 31, 32, 63])
def test_the_lowest_bit(bit):
    assert _lowest(np.uint64(1 << bit)) == bit
    assert _lowest(np.uint64((1 << 63) | (1 << bit))) == bit


def _star(name: str, points: int, radius: float) -> Part:
    ring = [
        (
            (radius if n % 2 else 0.45 * radius) * math.cos(math.pi * n / points),
            (radius if n % 2 else 0.45 * radius) * math.sin(math.pi * n / points),
        )
        for n in range(2 * points)
    ]
    piece = Piece(name=name, cut=Path.polyline(ring, closed=True))
    return Part(name=name, piece=piece, turns=Turns(angles=(0.0, 90.0, 180.0)))


def _world(count: int) -> World:
    parts = tuple(_star(f"star {n}", 4 + n % 4, 40.0 + 3 * n % 17) for n in range(count))
    lay = Lay(name="stars", parts=parts, stock=Strip(width=400.0))
    problem, _ = made.prepare(lay)
    start = made.first_marker(problem, stop=lambda: False)
    world = start.world
    world.set_length(1.2 * world.used_length(start.layout))
    world.load(start.layout)
    return world


def _throw(world: World, dice: random.Random, items: list[int]) -> None:
    layout = world.save()
    at, shape = layout.at.copy(), layout.shape.copy()
    for i in items:
        shape[i] = dice.choice(world.options_of(i, 0))
        at[i] = dice.uniform(0.0, world.length), dice.uniform(0.0, 400.0)
    world.load(Layout(at, shape, layout.sheet))


def _pairs(world: World) -> dict[tuple[int, int], float]:
    rows = world.state._arrays["overlaps"][: world.state._state.overlap_count]
    found = {(int(i), int(j)): float(d) for d, i, j in rows}
    assert len(found) == len(rows)
    return found


def _tables(world: World) -> None:
    """Let pairs meet until those of many convex parts have their tables."""
    world.set_length(0.5 * world.length)  # too short for all
    world.load(world.save())
    world.state.start(10**9)
    world.state.separate(200_000)
    world.set_length(2.0 * world.length)
    assert world.state._state.depths_used > 0


@pytest.mark.parametrize(("count", "tables"), [(8, False), (8, True), (210, False)])
def test_what_is_listed_overlaps_and_nothing_else(count, tables):
    world = _world(count)
    assert (world.state._state.grid_x > 0) == (count > GRID_FROM)  # few: all boxes are looked at
    if tables:
        _tables(world)
    dice = random.Random(3)
    seen = {True: 0, False: 0}
    for _ in range(30 if count == 8 else 2):
        _throw(world, dice, list(range(count)))
        world.overlap()
        listed = _pairs(world)
        placed = []
        for place in world.placements(world.save()):
            ring = Polygon(world.lay.parts[place.part].piece.cut.points(1e-9))
            ring = affinity.rotate(ring, place.angle, origin=(0, 0))
            placed.append(affinity.translate(ring, place.x, place.y))
        for i in range(count):
            for j in range(i + 1, count):
                if placed[i].intersection(placed[j]).area > 1e-3:
                    assert (i, j) in listed
                    seen[True] += 1
                elif placed[i].distance(placed[j]) > 1.0:  # outlines are simplified outwards
                    assert (i, j) not in listed
                    seen[False] += 1
    assert min(seen.values()) > 50


def test_listing_only_what_moved_is_listing_all():
    world = _world(20)
    dice = random.Random(4)
    _throw(world, dice, list(range(world.items)))
    world.overlap()
    for _ in range(60):
        moved = dice.sample(range(world.items), dice.randint(0, 5))
        _throw(world, dice, moved)
        part = overlaps.relist_overlaps(world.state._state)
        some = _pairs(world)
        total = world.overlap()
        assert some == _pairs(world)
        assert part == pytest.approx(total, rel=1e-12)
        assert len(some) > 3


@pytest.mark.parametrize("tables", [False, True])
def test_moved_the_way_out_two_shapes_overlap_less(tables):
    """The deepest pair of convex parts is what is left; others may come to overlap more."""
    world = _world(8)
    if tables:
        _tables(world)
    dice = random.Random(5)
    better = tried = 0
    state = world.state._state
    while tried < 200:
        _throw(world, dice, [0, 1])
        (x0, y0), (x1, y1) = world.save().at[:2]
        s0, s1 = (int(s) for s in world.save().shape[:2])
        before = pairs.overlap(state, s0, x0, y0, s1, x1, y1)
        deep, nx, ny, _ = touching.way_out(state, s0, x0, y0, s1, x1, y1)
        if before <= 0.0:
            assert deep <= state.tolerance
            continue
        assert deep > 0.0
        assert math.hypot(nx, ny) == pytest.approx(1.0)
        x, y = x0 + touching.CLEAR * deep * nx, y0 + touching.CLEAR * deep * ny
        after = pairs.overlap(state, s0, x, y, s1, x1, y1)
        better += after < before
        tried += 1
    assert better > 0.8 * tried
