"""One segment: its parts, its crossings, its directions."""

from __future__ import annotations

import math

import pytest

from nesting.pattern.crossings import crossings
from nesting.pattern.meeting import meeting
from nesting.pattern.path import Arc, Bezier, Line
from nesting.pattern.segment import derivative, direction, part, second_derivative, with_ends

LINE = Line((0.0, 0.0), (10.0, 4.0))
QUARTER = Arc((1.0, 2.0), (5.0, 0.0), (0.0, 5.0), 0.0, math.pi / 2)
ELLIPSE = Arc((0.0, 0.0), (6.0, 2.0), (-1.0, 3.0), 0.3, -2.5)
CURVE = Bezier((0.0, 0.0), (3.0, 9.0), (8.0, -6.0), (10.0, 2.0))
EVERY = [LINE, QUARTER, ELLIPSE, CURVE]


@pytest.mark.parametrize("segment", EVERY)
def test_a_part_lies_on_the_whole(segment):
    bit = part(segment, 0.2, 0.7)
    for s in (0.0, 0.25, 0.5, 1.0):
        assert bit.at(s) == pytest.approx(segment.at(0.2 + 0.5 * s), abs=1e-12)


@pytest.mark.parametrize("segment", EVERY)
def test_derivatives_are_those_of_differences(segment):
    h = 1e-5
    for t in (0.1, 0.5, 0.8):
        a, b, c = segment.at(t - h), segment.at(t), segment.at(t + h)
        slope = ((c[0] - a[0]) / (2 * h), (c[1] - a[1]) / (2 * h))
        bend = tuple((c[k] - 2 * b[k] + a[k]) / h**2 for k in (0, 1))
        assert derivative(segment, t) == pytest.approx(slope, rel=1e-6, abs=1e-6)
        assert second_derivative(segment, t) == pytest.approx(bend, rel=1e-3, abs=1e-3)


def test_direction_where_a_handle_has_no_length():
    curve = Bezier((0.0, 0.0), (0.0, 0.0), (5.0, 5.0), (10.0, 0.0))
    assert direction(curve, 0.0) == pytest.approx((math.sqrt(0.5), math.sqrt(0.5)), abs=1e-3)


@pytest.mark.parametrize("segment", EVERY)
def test_crossings_lie_on_the_line(segment):
    start, end = (0.0, 2.5), (10.0, 2.2)
    found = crossings(segment, start, end)
    assert found
    for t in found:
        x, y = segment.at(t)
        assert y == pytest.approx(2.5 - 0.03 * x, abs=1e-10)


def test_an_s_curve_crosses_its_chord_three_times():
    curve = Bezier((0.0, 0.0), (0.0, 10.0), (10.0, -10.0), (10.0, 0.0))
    assert crossings(curve, (-1.0, 0.0), (11.0, 0.0)) == pytest.approx([0.0, 0.5, 1.0])


def test_two_circles_meet_where_geometry_says():
    # circles of radius 5 with centres 6 apart: x = 3, y = ±4 (the 3-4-5 triangle)
    a = Arc((0.0, 0.0), (5.0, 0.0), (0.0, 5.0), -math.pi / 2, math.pi)
    b = Arc((6.0, 0.0), (5.0, 0.0), (0.0, 5.0), math.pi / 2, math.pi)
    points = sorted(a.at(t) for t, _ in meeting(a, b))
    assert points == [pytest.approx((3.0, -4.0)), pytest.approx((3.0, 4.0))]


def test_curves_meet_at_the_same_point_of_both():
    other = Arc((5.0, -1.0), (3.0, 0.0), (0.0, 4.0), 0.0, math.pi)
    found = meeting(CURVE, other)
    assert found
    for t, u in found:
        assert CURVE.at(t) == pytest.approx(other.at(u), abs=1e-9)


def test_ends_moved_by_a_hair():
    (line,) = with_ends(LINE, (0.0, 0.01), (10.0, 4.0))
    assert line == Line((0.0, 0.01), (10.0, 4.0))
    (curve,) = with_ends(CURVE, (0.0, 0.01), CURVE.end)
    assert curve.first == pytest.approx((3.0, 9.01))
    assert with_ends(QUARTER, QUARTER.start, QUARTER.end) == (QUARTER,)
    (arc,) = with_ends(QUARTER, (6.0, 1.99), QUARTER.end)
    assert arc.start == pytest.approx((6.0, 1.99))
    assert arc.end == pytest.approx(QUARTER.end)
    assert arc.radius == pytest.approx(5.0, abs=0.01)


def test_a_full_circle_gets_a_hair_of_line():
    circle = Arc((0.0, 0.0), (5.0, 0.0), (0.0, 5.0), 0.0, math.tau)
    hair, arc = with_ends(circle, (5.0, 0.01), circle.end)
    assert (hair.start, hair.end, arc) == ((5.0, 0.01), circle.start, circle)
