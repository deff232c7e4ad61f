"""One outline laid upon another as well as a turn and a move can."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

__all__ = ["laid_upon"]

Array = NDArray[np.float64]


def laid_upon(found: shapely.Polygon, truth: shapely.Polygon) -> shapely.Polygon:
    """Return an outline moved and turned so that its points lie nearest to another's edge.

    It is turned by 20° at most (iterative closest points: P. Besl and N. McKay, 1992,
    doi 10.1109/34.121791).
    """
    dense = shapely.segmentize(found, 8.0)
    points = shapely.get_coordinates(dense)
    middle, there = np.array(found.centroid.coords[0]), np.array(truth.centroid.coords[0])
    starts = [_turned(points - middle, float(angle)) + there for angle in range(-20, 21, 4)]
    near = min(starts, key=lambda p: shapely.Polygon(p).symmetric_difference(truth).area)
    for _ in range(20):
        there_points = shapely.points(near)
        on = shapely.line_interpolate_point(
            truth.exterior, shapely.line_locate_point(truth.exterior, there_points)
        )
        goal = shapely.get_coordinates(on)
        a, b = near - near.mean(axis=0), goal - goal.mean(axis=0)
        turn = np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum())
        near = _turned(a, float(np.degrees(turn))) + goal.mean(axis=0)
    return shapely.Polygon(near)


def _turned(points: Array, degrees: float) -> Array:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.asarray(points @ np.array([[c, s], [-s, c]]))
