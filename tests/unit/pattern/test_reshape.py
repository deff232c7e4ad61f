"""Points of an outline moved, put and taken out: what is beside them, and which edge was which."""

from __future__ import annotations

import math

import pytest

from nesting.errors import PatternError
from nesting.pattern.by_hand.reshape import added_point, moved_point, outline_points, removed_point
from nesting.pattern.edges import edges
from nesting.pattern.measure import area, bounds
from nesting.pattern.path import Arc, Bezier, Line, Path
from nesting.pattern.shapes import circle, rectangle
from nesting.pattern.svg_path import parse_path

BOX = rectangle(200.0, 100.0)
(FLAP,) = parse_path("M 0,0 H 200 C 200,60 150,100 100,100 C 50,100 0,60 0,0 Z")


def test_a_corner_is_moved_and_both_its_edges_follow() -> None:
    made = moved_point(BOX, 2, (230.0, 120.0))
    assert outline_points(made.outline) == ((0, 0), (200, 0), (230, 120), (0, 100))
    assert made.outline.closed
    assert made.edges_before == (1, 2, 3, 4)
    first = moved_point(BOX, 0, (-10.0, -5.0)).outline
    assert (first.start, first.end) == ((-10.0, -5.0), (-10.0, -5.0))


def test_curves_keep_their_handles_beside_a_moved_end() -> None:
    made = moved_point(FLAP, 2, (100.0, 130.0)).outline
    before, after = made.segments[1], made.segments[2]
    assert isinstance(before, Bezier)
    assert isinstance(after, Bezier)
    # The tangent there is as it was: level, and as long.
    assert before.second == (150.0, 130.0)
    assert after.first == (50.0, 130.0)
    assert (before.first, after.second) == ((200.0, 60.0), (0.0, 60.0))


def test_an_arc_stays_one_that_ends_where_the_point_is() -> None:
    round_ = rectangle(200.0, 100.0, radius=20.0)
    number = next(i for i, s in enumerate(round_.segments) if isinstance(s, Arc))
    x, y = round_.segments[number].start
    made = moved_point(round_, number, (x - 10.0, y)).outline
    arc = made.segments[number]
    assert isinstance(arc, Arc)
    assert arc.radius is not None
    assert arc.start == pytest.approx((x - 10.0, y))
    assert arc.end == pytest.approx(round_.segments[number].end)
    with pytest.raises(PatternError, match="whole circle"):
        moved_point(Path((Arc((0, 0), (50, 0), (0, 50), 0.0, math.tau),)), 0, (60.0, 0.0))


def test_a_point_is_put_where_the_outline_is_nearest_and_changes_nothing() -> None:
    made = added_point(BOX, (60.0, -7.0))
    assert outline_points(made.outline) == ((0, 0), (60, 0), (200, 0), (200, 100), (0, 100))
    assert made.origins == (0, 0, 1, 2, 3)
    for outline, at in ((FLAP, (160.0, 90.0)), (circle(100.0), (35.0, 36.0))):
        more = added_point(outline, at).outline
        assert len(more.segments) == len(outline.segments) + 1
        assert area(more) == pytest.approx(area(outline), rel=1e-9)
        assert bounds(more) == pytest.approx(bounds(outline))
    with pytest.raises(PatternError, match="already"):
        added_point(BOX, (200.02, 0.0))


def test_what_was_said_of_an_edge_stays_with_it() -> None:
    pulled = added_point(BOX, (60.0, 0.0))
    made = moved_point(pulled.outline, 1, (60.0, -30.0))
    assert len(edges(made.outline)) == 5
    both = type(made)(BOX, made.outline, pulled.origins)
    assert both.edges_before == (1, 1, 2, 3, 4)
    # Without its upper right corner its right edge goes on as a slope.
    assert removed_point(BOX, 2).edges_before == (1, 2, 4)


def test_a_point_is_taken_out_and_a_straight_line_or_one_curve_is_left() -> None:
    made = removed_point(BOX, 1).outline
    assert outline_points(made) == ((0, 0), (200, 100), (0, 100))
    curve = removed_point(FLAP, 2).outline.segments[1]
    assert curve == Bezier((200, 0), (200, 60), (0, 60), (0, 0))
    corner = removed_point(FLAP, 1).outline.segments[0]
    assert corner == Line((0, 0), (100, 100))
    ring = circle(100.0)
    again = removed_point(added_point(ring, (35.0, 36.0)).outline, 1).outline
    assert area(again) == pytest.approx(area(ring))
    assert len(again.segments) == len(ring.segments)
    assert removed_point(BOX, 0).outline.closed


def test_what_would_be_no_outline_is_refused() -> None:
    triangle = Path.polyline([(0, 0), (100, 0), (0, 100)], closed=True)
    with pytest.raises(PatternError, match="three corners"):
        removed_point(triangle, 1)
    with pytest.raises(PatternError, match="no such point"):
        moved_point(triangle, 3, (1.0, 1.0))
    with pytest.raises(PatternError, match="on one another"):
        moved_point(triangle, 1, (0.0, 0.01))
