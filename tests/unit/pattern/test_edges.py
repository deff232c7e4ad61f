"""Edges between corners, and widths by edge."""

from __future__ import annotations

import pytest

from nesting.errors import PatternError
from nesting.pattern.edges import corners, edge_at, edge_path, edge_widths, edges
from nesting.pattern.shapes import circle, polygon_path, rectangle
from nesting.pattern.svg_path import parse_path


def test_a_smooth_outline_is_one_edge():
    assert edges(circle(10)) == ((0, 1),)
    assert len(edges(rectangle(100, 40, radius=5))) == 1


def test_segments_that_run_on_smoothly_are_one_edge():
    (path,) = parse_path("M0 0H50H100V40A20 20 0 0 1 80 60H0Z")
    assert edges(path) == ((0, 1), (2, 3, 4), (5,))


def test_edge_one_runs_through_a_start_that_is_no_corner():
    (path,) = parse_path("M50 0H100V40H0V0Z")
    assert edges(path) == ((4, 0), (1,), (2,), (3,))
    first = edge_path(path, 1)
    assert (first.start, first.end) == ((0.0, 0.0), (100.0, 0.0))


def test_a_break_below_twenty_degrees_is_no_corner():
    path = polygon_path([(0, 0), (50, 0), (100, 15), (100, 50), (0, 50)])  # 16.7°
    assert corners(path) == (0, 2, 3, 4)
    assert corners(path, corner=10) == (0, 1, 2, 3, 4)


def test_explicit_corners():
    (path,) = parse_path("M0 0H50H100V40H0Z")
    assert edges(path, at=[(0, 0), (50, 0.1)]) == ((0,), (1, 2, 3, 4))
    with pytest.raises(PatternError, match="off the nearest vertex"):
        edges(path, at=[(25, 0)])


def test_edge_at_a_point():
    path = rectangle(100, 40)
    assert [edge_at(path, p) for p in [(50, 1), (99, 20), (50, 39), (1, 20)]] == [1, 2, 3, 4]


def test_widths_by_edge():
    (path,) = parse_path("M0 0H50H100V40H0Z")
    assert edge_widths(path, 7) == (7.0,) * 5
    assert edge_widths(path, {1: 10, 3: 5}, default=2) == (10, 10, 2, 5, 2)


@pytest.mark.parametrize("edge", [0, 5, -1])
def test_an_edge_that_is_not_there(edge):
    with pytest.raises(PatternError, match=f"no edge {edge}: the outline has 4"):
        edge_widths(rectangle(10, 10), {edge: 3})
    with pytest.raises(PatternError, match="no edge"):
        edge_path(rectangle(10, 10), edge)
