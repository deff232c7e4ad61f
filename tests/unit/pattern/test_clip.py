"""Outlines cut along a line; shapely cuts the reference."""

from __future__ import annotations

import pytest
from shapely import box

from nesting.errors import PatternError
from nesting.pattern.clip import clipped_region, clipped_runs, off_line
from nesting.pattern.measure import area, clockwise, length, signed_area
from nesting.pattern.path import Line, Path
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import circle, polygon_path, rectangle
from nesting.pattern.svg_path import parse_path

LEVEL = ((0.0, 30.0), (1.0, 30.0))  # runs along +x: its right is below it
CURVY, *_ = parse_path("M0 0C30 -20 70 20 100 0L110 80Q60 40 0 90Z")
COMB = polygon_path([(0, 0), (90, 0), (90, 60), (60, 60), (60, 10), (30, 10), (30, 60), (0, 60)])


def test_right_of_a_line():
    assert off_line((0, 0), LEVEL) == 30.0
    assert off_line((7, 42), LEVEL) == -12.0
    with pytest.raises(PatternError, match="two different points"):
        off_line((0, 0), ((1, 1), (1, 1)))


@pytest.mark.parametrize("outline", [CURVY, rectangle(100, 60, radius=10), circle(80)])
@pytest.mark.parametrize("y", [5.0, 30.0, 40.0, 55.0])
def test_against_shapely(outline, y):
    outlines, holes = clipped_region([outline], ((0, y), (1, y)))
    reference = polygon(outline, chord=1e-5).intersection(box(-500, -500, 500, y))
    assert holes == []
    assert sum(map(area, outlines)) == pytest.approx(reference.area, rel=1e-5)
    assert sum(map(length, outlines)) == pytest.approx(reference.length, rel=1e-5)
    assert all(signed_area(ring) > 0 for ring in outlines)


def test_wholly_on_one_side():
    ring = rectangle(10, 10)
    assert clipped_region([ring], LEVEL) == ([ring], [])
    assert clipped_region([ring], ((0, -5), (1, -5))) == ([], [])


def test_a_comb_falls_into_its_teeth():
    outlines, _ = clipped_region([COMB], ((1, 30), (0, 30)))
    assert sorted(map(area, outlines)) == [900, 900]
    outlines, _ = clipped_region([COMB], LEVEL)
    assert [area(ring) for ring in outlines] == [900 + 2 * 30 * 20]


def test_an_edge_in_the_line_is_no_trouble():
    outlines, _ = clipped_region([rectangle(50, 30)], LEVEL)
    assert [area(ring) for ring in outlines] == [1500]
    assert clipped_region([rectangle(50, 30)], ((1, 30), (0, 30))) == ([], [])


def test_a_vertex_on_the_line():
    diamond = polygon_path([(0, 30), (20, 10), (40, 30), (20, 50)])
    outlines, _ = clipped_region([diamond], LEVEL)
    assert [area(ring) for ring in outlines] == [400]


def test_a_hole_across_the_line_becomes_a_bay():
    hole = clockwise(circle(20, centre=(50, 30)))
    below = clockwise(circle(10, centre=(20, 10)))
    outlines, holes = clipped_region([rectangle(100, 60), hole, below], LEVEL)
    assert holes == [below]
    assert len(outlines) == 1
    assert area(outlines[0]) == pytest.approx(3000 - area(circle(20)) / 2)


def test_runs_of_an_open_path():
    zigzag = Path.polyline([(0, 0), (10, 60), (20, 0), (30, 60)], closed=False)
    runs = clipped_runs(zigzag, LEVEL)
    assert [len(run.segments) for run in runs] == [1, 2]
    assert runs[1].start == pytest.approx((15, 30))
    assert clipped_runs(Path((Line((0, 30), (9, 30)),)), LEVEL) == []
    assert clipped_runs(Path((Line((0, 3), (9, 3)),)), LEVEL) == [Path((Line((0, 3), (9, 3)),))]


def test_runs_of_a_closed_path_go_on_through_its_start():
    assert len(clipped_runs(COMB, LEVEL)) == 2
    (whole,) = clipped_runs(circle(80), ((0, 70), (1, 70)))
    assert len(whole.segments) == 3
