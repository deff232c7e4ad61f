"""The blade is simulated: its tip is dragged behind the axis at a fixed distance."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import LineString, Point

from nesting.pattern.measure import length
from nesting.pattern.path import Arc, Bezier, Line, Path
from nesting.writing.machines.knife import axis_path, over_cut

OFFSET = 0.5

SQUARE = Path.polyline([(20, 0), (40, 0), (40, 40), (0, 40), (0, 0)], closed=True)
ROUND = Path((Arc((0.0, 0.0), (20.0, 0.0), (0.0, 20.0), 0.0, 2 * math.pi),))
HOLE = ROUND.reversed()
STAR = Path.polyline([(20, 0), (40, 0), (25, 10), (45, 40), (15, 20), (0, 0)], closed=True)
WAVE = Path((Line((0, 0), (10, 0)), Bezier((10, 0), (30, 0), (20, 30), (50, 30))))


def dragged(axis, tip, *, step=0.01):
    """Return where a tip goes that is pulled along the axis at distance OFFSET (a tractrix)."""
    points = axis.points(1e-3)
    line = LineString([*points, points[0]] if axis.closed else points)
    at = shapely.line_interpolate_point(line, np.arange(step, line.length + step, step))
    trail = [tip]
    for px, py in shapely.get_coordinates(at).tolist():
        x, y = trail[-1]
        d = math.hypot(x - px, y - py)
        trail.append((px + (x - px) * OFFSET / d, py + (y - py) * OFFSET / d))
    return trail


@pytest.mark.parametrize("path", [SQUARE, ROUND, HOLE, STAR, WAVE])
def test_the_tip_follows_the_path(path):
    axis = axis_path(path, offset=OFFSET, chord=0.005)
    trail = LineString(dragged(axis, path.start))
    points = path.points(1e-3)
    true = LineString([*points, points[0]] if path.closed else points)
    assert trail.hausdorff_distance(true) < 0.02


def test_without_compensation_the_corners_are_cut_round():
    points = [*SQUARE.points(1e-3), SQUARE.start]
    trail = LineString(dragged(Path.polyline(points, closed=False), (SQUARE.start[0] - 0.5, 0.0)))
    assert trail.distance(Point(40, 0)) > 0.1


def test_a_tip_that_points_the_wrong_way_is_right_again_after_the_over_cut():
    path = over_cut(SQUARE, by=3.0)
    axis = axis_path(path, offset=OFFSET, chord=0.005)
    x, y = axis.start
    trail = LineString(dragged(axis, (x, y + OFFSET)))
    true = LineString([*SQUARE.points(1e-3), SQUARE.start])
    assert trail.distance(Point(20, 0)) < 0.01
    assert true.difference(trail.buffer(0.02)).is_empty


def test_over_cut_runs_on_along_the_path():
    longer = over_cut(SQUARE, by=25.0)
    assert length(longer) == pytest.approx(length(SQUARE) + 25.0)
    assert longer.end == (40.0, 5.0)
    assert all(math.dist(a.end, b.start) < 1e-9 for a, b in pairwise(longer.segments))


def test_on_a_circle_the_axis_runs_on_a_larger_one():
    axis = axis_path(ROUND, offset=OFFSET, chord=0.01)
    (arc,) = axis.segments
    assert arc.radius == pytest.approx(math.hypot(20.0, OFFSET))
