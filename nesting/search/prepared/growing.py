"""Outlines grown by a distance: what is grown contains all that is nearer."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from nesting.search.prepared.polygons import Floats, oriented, polygons

__all__ = ["grown"]

_FAN = math.radians(15)


_DENSE, _RUNS = 3_000, 1_000
_OVER = 1.002
"""More than 1 / cos(90° / 16 / 2): arcs of a buffer are chords between its points."""


def grown(shape: BaseGeometry, by: float) -> BaseGeometry:
    """Return a geometry that contains all points nearer than `by`, edges moved exactly.

    Each edge moves by exactly `by`; round corners are cut by tangents at most 15° apart, so
    that they contain the arc (by at most 0.9 % of `by`). An outline of thousands of corners
    grows by the hulls of short runs of them: strips beside its edges would overlap in crowds.
    """
    if by <= 0.0:
        return shape
    pieces: list[BaseGeometry] = [shape]
    for polygon in polygons(shape):
        if shapely.get_num_coordinates(polygon) > _DENSE:
            pieces.extend(_run_hulls(polygon, by))
            continue
        pieces.append(shapely.buffer(polygon, by, join_style="round", quad_segs=16))
        pieces.extend(_margins(oriented(polygon.exterior.coords, ccw=True), by))
        for hole in polygon.interiors:
            pieces.extend(_margins(oriented(hole.coords, ccw=False), by))
    return _union(pieces)


_SNAP = 1e-7
"""Points no farther apart (mm) are one, where a union fails otherwise."""


def _union(pieces: list[BaseGeometry]) -> BaseGeometry:
    """Return the union, or one a hair larger where edges that all but coincide defeat it.

    They make it fail, or lose a whole side without a word (GEOS 3.14.1).
    """
    try:
        whole = shapely.union_all(pieces)
        if not _lost(whole, pieces):
            return whole
    except shapely.errors.GEOSException:
        pass
    snapped = shapely.buffer(
        shapely.union_all(pieces, grid_size=_SNAP), 2.0 * _SNAP, join_style="mitre"
    )
    hull = shapely.convex_hull(shapely.GeometryCollection(pieces))
    return hull if _lost(snapped, pieces) else snapped


def _lost(whole: BaseGeometry, pieces: list[BaseGeometry]) -> bool:
    """Whether corners of some pieces lie outside what should be their union."""
    shapely.prepare(whole)
    corners = shapely.points(shapely.get_coordinates(pieces))
    return not bool(shapely.dwithin(whole, corners, _SNAP).all())


def _run_hulls(polygon: Polygon, by: float) -> list[BaseGeometry]:
    """Return the grown hulls of runs of corners: together they hold what is near the edge."""
    found: list[BaseGeometry] = []
    for ring in (polygon.exterior, *polygon.interiors):
        corners = shapely.get_coordinates(ring)
        step = math.ceil(len(corners) / _RUNS)
        runs = [corners[i : i + step + 1] for i in range(0, len(corners) - 1, step)]
        hulls = shapely.convex_hull([shapely.MultiPoint(run) for run in runs])
        found.extend(shapely.buffer(hulls, by * _OVER, join_style="round", quad_segs=16))
    return found


def _margins(ring: Floats, by: float) -> list[BaseGeometry]:
    """Return the strips beside a ring's edges and the fans at its convex corners."""
    ahead = np.roll(ring, -1, axis=0) - ring
    length = np.hypot(ahead[:, 0], ahead[:, 1])
    keep = length > 0
    p, ahead, length = ring[keep], ahead[keep], length[keep]
    n = by * np.stack([ahead[:, 1], -ahead[:, 0]], axis=1) / length[:, None]
    q, m = np.roll(p, -1, axis=0), np.roll(n, -1, axis=0)
    sides = np.stack([p, p + n, q + n, q], axis=1)
    cross = n[:, 0] * m[:, 1] - n[:, 1] * m[:, 0]
    turn = np.arctan2(cross, np.sum(n * m, axis=1))
    slight = (turn > 1e-9) & (turn <= _FAN)
    # One tangent does where the corner is slight, as along a flattened curve.
    tip = q + (n + m) / (1.0 + np.cos(turn))[:, None].clip(min=1e-12)
    fans = np.stack([q, q + n, tip, q + m], axis=1)[slight]
    rows = np.asarray(shapely.polygons(np.concatenate([sides, fans])), dtype=object)
    strips: list[BaseGeometry] = list(rows)
    for i in np.flatnonzero(turn > _FAN):
        count = math.ceil(turn[i] / _FAN)
        step = turn[i] / count
        angles = math.atan2(n[i, 1], n[i, 0]) + step * (np.arange(count) + 0.5)
        reach = by / math.cos(step / 2)
        tips = q[i] + reach * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        strips.append(Polygon([q[i], q[i] + n[i], *tips, q[i] + m[i]]))
    return strips
