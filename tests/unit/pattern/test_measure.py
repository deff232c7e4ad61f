"""Areas, lengths, extents, nearest points; shapely is the reference on fine polylines."""

from __future__ import annotations

import math

import pytest
from shapely import LineString, Point

from nesting.pattern.measure import area, bounds, clockwise, counter_clockwise, length, signed_area
from nesting.pattern.nearest import inward, nearest
from nesting.pattern.path import Arc, Line, Path
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import circle, rectangle
from nesting.pattern.svg_path import parse_path

SHAPES = [
    "M0 0C30 -20 70 20 100 0L110 80Q60 40 0 90Z",
    "M0 0A80 30 25 1 0 100 7L50 -60Z",
    "M0 0C0 60 100 60 100 0A50 20 0 0 0 0 0Z",
    "M1000 1000h50a25 25 0 0 1 0 50h-50z",
]


@pytest.mark.parametrize("d", SHAPES)
def test_against_shapely(d):
    (path,) = parse_path(d)
    fine = polygon(path, chord=1e-6)
    assert area(path) == pytest.approx(fine.area, abs=1e-6 * fine.length)
    assert length(path) == pytest.approx(fine.length, rel=1e-7)
    assert bounds(path) == pytest.approx(fine.bounds, abs=2e-6)


@pytest.mark.parametrize("d", SHAPES)
def test_sense(d):
    (path,) = parse_path(d)
    assert signed_area(counter_clockwise(path)) > 0
    assert signed_area(clockwise(path)) < 0
    assert signed_area(path.reversed()) == pytest.approx(-signed_area(path))
    assert counter_clockwise(path).start == pytest.approx(path.start)


def test_closed_forms():
    # stadium of 100 × 40: area 60·40 + π·20², perimeter 2·60 + 2π·20
    (stadium,) = parse_path("M20 0h60a20 20 0 0 1 0 40h-60a20 20 0 0 1 0 -40z")
    assert area(stadium) == pytest.approx(2400 + 400 * math.pi)
    assert length(stadium) == pytest.approx(120 + 40 * math.pi)
    assert bounds(stadium) == pytest.approx((0, 0, 100, 40))
    # Archimedes: a parabola's segment is 2/3 of chord × height (handle at 60: height 30)
    (parabola,) = parse_path("M0 0Q50 60 100 0Z")
    assert area(parabola) == pytest.approx(2 / 3 * 100 * 30)


@pytest.mark.parametrize("d", SHAPES)
@pytest.mark.parametrize("point", [(0.0, 0.0), (50.0, 30.0), (-40.0, 120.0), (1010.0, 1025.0)])
def test_nearest_against_shapely(d, point):
    (path,) = parse_path(d)
    found = nearest(path, point)
    ring = path.points(1e-6)
    reference = LineString([*ring, ring[0]]).distance(Point(point))
    assert found.distance == pytest.approx(reference, abs=3e-6)
    assert path.segments[found.segment].at(found.t) == found.point
    assert math.dist(found.point, point) == found.distance


def test_nearest_from_the_centre_of_a_circle():
    assert nearest(circle(10, centre=(0, 0)), (0, 0)).distance == pytest.approx(5)


def test_inward_is_square_to_the_edge_and_halves_a_corner():
    square = rectangle(10, 10)
    assert inward(square, nearest(square, (5, -1))) == pytest.approx((0, 1))
    half = math.sqrt(0.5)
    assert inward(square, nearest(square, (-1, -1))) == pytest.approx((half, half))
    disc = circle(10, centre=(0, 0))
    assert inward(disc, nearest(disc, (3, 4))) == pytest.approx((-0.6, -0.8))


def test_inward_at_the_end_of_an_open_path_takes_its_one_side():
    path = Path.polyline([(0, 0), (10, 0)], closed=False)
    assert inward(path, nearest(path, (20, 0))) == pytest.approx((0, 1))


def test_inward_at_a_corner_takes_the_directions_that_meet_there():
    half = Path((Line((-10, 0), (10, 0)), Arc((0, 0), (10, 0), (0, 10), 0.0, math.pi)))
    slope = math.sqrt(0.5)
    assert inward(half, nearest(half, (11, -1))) == pytest.approx((-slope, slope))
