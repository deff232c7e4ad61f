"""Outlines of fewer corners, or holes, that contain the true ones."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from nesting.search.kernels import rings
from nesting.search.prepared.polygons import Floats, oriented, polygons

__all__ = ["eased", "narrowest", "simplified", "without_pockets", "without_small_holes"]

FEW = 25
"""Outlines of fewer corners are not simplified."""

_CORNERS = 3_000
"""Outlines of more corners are eased until they have no more."""
_EASE = 2e-4
"""The first step of easing, as a share of the outline's extent."""

_DEEP = 3.0
"""The way round a pocket is at least so many times as long as its mouth is wide."""
_RUGGED = 500
"""Outlines of more corners keep their pockets: to look at all pairs would take too long."""
_HALVINGS = 8
"""So often the interval in which a width lies is halved."""


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


def without_pockets(shape: BaseGeometry, mouth: float) -> BaseGeometry:
    """Return a geometry whose outlines have no pockets with mouths so narrow (mm).

    A pocket is closed by a chord of no more than `mouth` if the way round it is at least
    `_DEEP` times as long. The deepest are closed first.
    """
    every = polygons(shape)
    before = [oriented(polygon.exterior.coords, ccw=True) for polygon in every]
    closed = [_closed(ring, mouth) for ring in before]
    if all(len(one) == len(ring) for one, ring in zip(closed, before, strict=True)):
        return shape
    done = [Polygon(one, list(of.interiors)) for one, of in zip(closed, every, strict=True)]
    return MultiPolygon(done) if len(done) != 1 else done[0]


def _closed(ring: Floats, mouth: float) -> Floats:
    """Return a counter-clockwise ring (n, 2) without its narrow pockets."""
    n, after = len(ring), np.roll(ring, -1, axis=0)
    if n > _RUGGED:
        return ring
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*(after - ring).T))])
    swept = np.concatenate([[0.0], np.cumsum(_cross(ring, after))])
    apart = np.hypot(*(ring[:, None] - ring).T)
    first, last = np.nonzero(apart <= mouth)
    wraps, between = last < first, (last - first) % n
    length = way[last] - way[first] + wraps * way[n]
    area = swept[last] - swept[first] + wraps * swept[n] + _cross(ring[last], ring[first])
    deep = (area < 0.0) & (length >= _DEEP * apart[first, last]) & (length < 0.5 * way[n])
    some = np.flatnonzero(deep & (between >= 2))
    own, left = Polygon(ring), np.ones(n, dtype=bool)
    for k in some[np.argsort(-length[some], kind="stable")]:
        pocket = (first[k] + np.arange(between[k] + 1)) % n
        if not left[pocket].all():
            continue
        filled = Polygon(ring[pocket])
        if filled.is_valid and own.relate_pattern(filled, "F********"):
            left[pocket[1:-1]] = False
    return ring[left]


def _cross(one: Floats, other: Floats) -> Floats:
    return np.asarray(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])


def narrowest(shape: BaseGeometry, *, share: float, most: float) -> float:
    """Return a width (mm), no more than `most`: all but a `share` of the area is as wide.

    That is, it lies in discs of that width within the geometry.
    """
    low, high, width = 0.0, most, most
    for _ in range(_HALVINGS):
        within = shapely.buffer(shape, -0.5 * width)
        if shape.area - shapely.buffer(within, 0.5 * width).area > share * shape.area:
            high = width
        else:
            low = width
        if low == most:
            break
        width = 0.5 * (low + high)
    return low


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
