from __future__ import annotations

import math
import random

import pytest

from nesting.pattern.measure import area
from nesting.pattern.path import Arc, Line, Path
from nesting.reading.chain import chain

SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]


def lines(points, *, closed=True) -> list[Path]:
    ends = [*points[1:], points[0]] if closed else points[1:]
    return [Path((Line(p, q),)) for p, q in zip(points, ends, strict=False)]


@pytest.mark.parametrize("seed", range(5))
def test_loose_lines_in_any_order_and_direction_make_one_ring(seed):
    rng = random.Random(seed)
    points = [(math.cos(t / 9) * 50, math.sin(t / 9) * 30) for t in range(56)]
    drawn = [path if rng.random() < 0.5 else path.reversed() for path in lines(points)]
    rng.shuffle(drawn)
    result = chain(drawn, close=1.0)
    assert (len(result.rings), result.open, result.gaps, result.forks) == (1, [], [], [])
    assert result.rings[0].closed
    assert {segment.start for segment in result.rings[0].segments} == set(points)


def test_two_rings_are_kept_apart():
    other = [(x + 30, y) for x, y in SQUARE]
    result = chain([*lines(SQUARE), *lines(other)], close=1.0)
    assert sorted(area(ring) for ring in result.rings) == pytest.approx([100, 100])


def test_small_gaps_are_closed_silently_and_wide_ones_told():
    drawn = [
        Path((Line((0, 0), (10, 0.01)),)),
        Path((Line((10, 0), (10, 10)),)),
        Path((Line((10, 10), (0, 10)),)),
        Path((Line((0, 9.5), (0, 0)),)),
    ]
    result = chain(drawn, close=1.0)
    assert len(result.rings) == 1
    assert [gap for gap, _ in result.gaps] == [pytest.approx(0.5)]
    assert len(chain(drawn, close=0.1).open) == 1


def test_an_arc_keeps_its_shape_when_it_is_joined():
    arc = Path((Arc((10, 5), (5, 0), (0, 5), -math.pi / 2, math.pi),))
    sides = [((10.0004, 10), (0, 10)), ((0, 10), (0, 0)), ((0, 0), (10, 0))]
    result = chain([arc, *(Path((Line(p, q),)) for p, q in sides)], close=1.0)
    (ring,) = result.rings
    assert any(segment == arc.segments[0] for segment in ring.segments)
    assert ring.closed


def test_what_is_drawn_twice_counts_once():
    result = chain([*lines(SQUARE), lines(SQUARE)[2].reversed()], close=1.0)
    assert (len(result.rings), result.open, result.doubled) == (1, [], 1)


def test_where_lines_branch_the_straightest_way_is_taken_and_told():
    spur = Path((Line((5, 0), (5, -3)),))
    halves = [(0, 0), (5, 0), (10, 0), (10, 10), (0, 10)]
    result = chain([*lines(halves), spur], close=1.0)
    assert len(result.rings) == 1
    assert area(result.rings[0]) == pytest.approx(100)
    assert len(result.open) == 1
    assert result.forks == [(5, 0)]


def test_nothing_gives_nothing():
    result = chain([], close=1.0)
    assert (result.rings, result.open) == ([], [])
