"""Plain shapes: closed forms of area and length, sense, start and edges."""

from __future__ import annotations

import math

import pytest

from nesting.errors import PatternError
from nesting.pattern.edges import edges
from nesting.pattern.measure import area, bounds, length, signed_area
from nesting.pattern.shapes import RECTANGLE_SIDES, circle, ellipse, polygon_path, rectangle


def test_rectangle_starts_lower_left_and_runs_counter_clockwise():
    path = rectangle(100, 40, at=(5, 7))
    assert path.start == (5.0, 7.0)
    assert signed_area(path) == 4000.0
    assert bounds(path) == (5.0, 7.0, 105.0, 47.0)


def test_rectangle_sides_are_its_edges_in_order():
    path = rectangle(100, 40)
    middles = {
        name: path.segments[run[0]].at(0.5)
        for name, run in zip(RECTANGLE_SIDES, edges(path), strict=True)
    }
    assert middles == {"bottom": (50, 0), "right": (100, 20), "top": (50, 40), "left": (0, 20)}


def test_rounded_corners_are_true_arcs():
    path = rectangle(100, 40, radius=8)
    assert area(path) == pytest.approx(4000 - (4 - math.pi) * 64)
    assert length(path) == pytest.approx(2 * (84 + 24) + 16 * math.pi)
    assert path.closed


def test_a_radius_of_half_the_side_leaves_no_sides_of_no_length():
    path = rectangle(100, 40, radius=20)
    assert len(path.segments) == 6
    assert len(rectangle(40, 40, radius=20).segments) == 4


def test_circle_and_ellipse():
    assert area(circle(10)) == pytest.approx(25 * math.pi)
    assert bounds(circle(10)) == pytest.approx((0, 0, 10, 10))
    assert bounds(circle(10, centre=(0, 0))) == pytest.approx((-5, -5, 5, 5))
    assert area(ellipse(10, 4)) == pytest.approx(10 * math.pi)
    assert ellipse(10, 4).closed
    # Perimeter 4·a·E(e²) with E(0.84) for a = 5, b = 2: 23.01311… by the series in
    # Abramowitz & Stegun 17.3.34 (and by numerical integration here)
    integral = sum(
        math.hypot(5 * math.sin(math.tau * k / 4096), 2 * math.cos(math.tau * k / 4096))
        for k in range(4096)
    )
    assert length(ellipse(10, 4)) == pytest.approx(integral * math.tau / 4096, rel=1e-11)


def test_points():
    assert polygon_path([(0, 0), (1, 0), (0, 1), (0, 0)]).closed
    with pytest.raises(PatternError, match="at least 3 points"):
        polygon_path([(0, 0), (1, 0), (0, 0)])


@pytest.mark.parametrize("size", [0.0, -1.0, math.nan, math.inf])
def test_sizes_have_to_be_sizes(size):
    with pytest.raises(PatternError, match="more than 0"):
        rectangle(size, 10)
    with pytest.raises(PatternError, match="more than 0"):
        circle(size)


def test_a_radius_that_does_not_fit():
    with pytest.raises(PatternError, match="doesn't fit"):
        rectangle(100, 40, radius=21)
