from __future__ import annotations

import math
import random

import pytest

from nesting.pattern.measure import area
from nesting.pattern.path import Arc, Line, Path
from nesting.reading.pieces.chain import chain

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
    assert (len(result.rings), result.open, result.gaps) == (1, [], [])
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
    assert [gap.width for gap in result.gaps] == [pytest.approx(0.5)]
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


@pytest.mark.parametrize("branching", [False, True])
def test_where_a_line_ends_on_an_outline_it_stays_open(branching):
    spur = Path((Line((5, 0), (5, -3)),))
    halves = [(0, 0), (5, 0), (10, 0), (10, 10), (0, 10)]
    result = chain([*lines(halves), spur], close=1.0, branching=branching)
    assert len(result.rings) == 1
    assert area(result.rings[0]) == pytest.approx(100)
    assert result.open == [spur]
    assert (result.shared, result.tangled) == ([], None)


@pytest.mark.parametrize("off", [0.0, 0.01])
@pytest.mark.parametrize("curve", [False, True])
def test_an_edge_drawn_once_belongs_to_both_areas(off, curve):
    left = lines([(10, 10), (0, 10 + off), (0, 0), (10, 0)], closed=False)
    right = lines([(10 + off, 0), (30, 0), (30, 10), (10 + off, 10)], closed=False)
    edge = lines([(10, 0), (10, 10)], closed=False)
    if curve:
        edge = [Path((Arc((10, 5), (5, 0), (0, 5), -math.pi / 2, math.pi),))]
    result = chain([*left, *edge, *right], close=1.0, branching=True)
    more = math.pi * 12.5 if curve else 0.0
    assert sorted(area(ring) for ring in result.rings) == pytest.approx(
        sorted([100 + more, 200 - more]), abs=25 * off
    )
    assert (result.open, result.shared, result.tangled) == ([], edge, None)
    assert all(
        any(s in ring.segments or off for s in edge[0].segments) for ring in result.rings[:1]
    )


def test_lines_that_branch_and_cross_are_tangled():
    points = [(0, 4), (5, 6), (5, 4), (1, 2), (5, 2)]
    ends = [(0, 1), (2, 4), (1, 2), (3, 4), (0, 3), (1, 4), (2, 3), (0, 2)]
    drawn = [Path((Line(points[i], points[j]),)) for i, j in ends]
    assert chain(drawn, close=0.1, branching=True).tangled is not None


@pytest.mark.parametrize("short", [0.5, -0.5])
def test_sides_that_stop_short_or_go_too_far_meet_at_the_corner(short):
    drawn = [
        Path((Line((x0 + short * ux, y0 + short * uy), (x1 - short * ux, y1 - short * uy)),))
        for (x0, y0), (x1, y1) in zip(SQUARE, [*SQUARE[1:], SQUARE[0]], strict=True)
        for ux, uy in [((x1 - x0) / 10, (y1 - y0) / 10)]
    ]
    result = chain(drawn, close=1.0)
    assert area(result.rings[0]) == pytest.approx(100.0, abs=1e-9)
    assert [(gap.width, gap.corner) for gap in result.gaps] == [
        (pytest.approx(0.5 * math.sqrt(2)), True)
    ] * 4


def test_nothing_gives_nothing():
    result = chain([], close=1.0)
    assert (result.rings, result.open) == ([], [])
