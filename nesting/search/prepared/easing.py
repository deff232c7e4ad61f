"""Outlines of fewer corners, or holes, that contain the true ones."""

from __future__ import annotations

import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from nesting.search.kernels import rings
from nesting.search.prepared.polygons import oriented, polygons

__all__ = ["eased", "simplified", "without_small_holes"]

FEW = 25
"""Outlines of fewer corners are not simplified."""

_CORNERS = 3_000
"""Outlines of more corners are eased until they have no more."""
_EASE = 2e-4
"""The first step of easing, as a share of the outline's extent."""


def simplified(shape: BaseGeometry, *, share: float, height: float) -> BaseGeometry:
    """Return a geometry of fewer corners that contains this one.

    It adds at most `share` of its area, and never moves an outline by more than `height`.
    Outlines of few corners stay as they are: they gain no speed, and would no longer fit
    together like the pieces of a jigsaw.
    """
    done: list[Polygon] = []
    for polygon in polygons(shape):
        if len(polygon.exterior.coords) <= FEW:
            done.append(polygon)
            continue
        limit = share * polygon.area
        outer = rings.simplify(oriented(polygon.exterior.coords, ccw=True), limit, height, 3)
        whole: BaseGeometry = Polygon(outer)
        if not whole.is_valid:
            whole = Polygon(polygon.exterior)
        for hole in polygon.interiors:
            if not Polygon(hole).is_empty:
                whole = whole.difference(Polygon(hole))
        done.extend(polygons(whole))
    return MultiPolygon(done) if len(done) != 1 else done[0]


def eased(shape: BaseGeometry, extent: float) -> BaseGeometry:
    """Return a geometry of no more than so many corners that contains this one.

    Thousands of tiny teeth cost minutes and gigabytes, and no part fits between them.
    """
    off = _EASE * extent
    while shapely.get_num_coordinates(shape) > _CORNERS and off < extent:
        # The larger outline lies at least 0.98 of `off` away, and is moved by less than that.
        shape = shapely.simplify(shapely.buffer(shape, off, quad_segs=8), 0.9 * off)
        off *= 4.0
    return shape


def without_small_holes(shape: BaseGeometry, least: float) -> BaseGeometry:
    """Return a geometry with the holes filled that are narrower than `least` (mm)."""
    done = []
    for polygon in polygons(shape):
        large = [
            hole
            for hole in polygon.interiors
            if min(hole.bounds[2] - hole.bounds[0], hole.bounds[3] - hole.bounds[1]) > least
        ]
        done.append(Polygon(polygon.exterior, large))
    return MultiPolygon(done) if len(done) != 1 else done[0]
