"""Geometries as convex parts, whose union they are."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from nesting.pattern.path import Point
from nesting.search.prepared.polygons import Floats, oriented, polygons

__all__ = ["convex_parts"]
_HAIR = 1e-6
"""Edges shorter than this (mm) have no direction that could be trusted."""
_STRAIGHT = 1e-6
"""Corners that turn back by less (radians) are straight but for rounding."""


def convex_parts(shape: BaseGeometry, *, tries: int = 12) -> tuple[Floats, ...]:
    """Return convex counter-clockwise rings whose union is the geometry.

    Constrained Delaunay triangles, merged across diagonals as long as they stay convex
    (Hertel and Mehlhorn 1983), the best of several orders.
    """
    parts: list[Floats] = []
    for polygon in polygons(shape):
        parts.extend(_convex(polygon, tries))
    return tuple(parts)


def _convex(polygon: Polygon, tries: int) -> list[Floats]:
    triangles = polygons(shapely.constrained_delaunay_triangles(polygon))
    points: dict[Point, int] = {}
    faces: list[list[int]] = []
    for triangle in triangles:
        ring = oriented(triangle.exterior.coords, ccw=True)
        faces.append([points.setdefault((float(x), float(y)), len(points)) for x, y in ring])
    xy = list(points)
    scale = max((abs(c) for p in xy for c in p), default=1.0)
    best: list[list[int]] = faces
    dice = random.Random(1)
    if len(faces) > 1:
        for _ in range(tries if len(faces) > 2 else 1):
            merged = _merge([list(face) for face in faces], xy, dice, 1e-13 * scale * scale)
            if len(merged) < len(best):
                best = merged
    return [np.array(_clean([xy[v] for v in face]), dtype=np.float64) for face in best]


def _clean(ring: list[Point]) -> list[Point]:
    """Return a ring without hairs: edges too short to have a direction, corners that turn back.

    An edge of rounding's length may look any way, and then seems to keep others off.
    """
    done = ring
    for i in range(len(ring) - 1, -1, -1):
        n = len(done)
        if n <= 3:
            break
        (ax, ay), (bx, by), (cx, cy) = done[i - 1], done[i], done[(i + 1) % n]
        one, two = math.hypot(bx - ax, by - ay), math.hypot(cx - bx, cy - by)
        cross = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
        if one < _HAIR or cross < -_STRAIGHT * one * two:
            done = done[:i] + done[i + 1 :]
    return done


def _merge(
    faces: list[list[int]], xy: Sequence[Point], dice: random.Random, slack: float
) -> list[list[int]]:
    owner: dict[tuple[int, int], int] = {}
    for f, face in enumerate(faces):
        for k, v in enumerate(face):
            owner[v, face[(k + 1) % len(face)]] = f
    diagonals = [(u, v) for u, v in owner if u < v and (v, u) in owner]
    dice.shuffle(diagonals)
    diagonals.sort(key=lambda e: -math.dist(xy[e[0]], xy[e[1]]) * dice.uniform(0.5, 1.5))

    def convex(a: int, b: int, c: int) -> bool:
        (ax, ay), (bx, by), (cx, cy) = xy[a], xy[b], xy[c]
        return (bx - ax) * (cy - by) - (by - ay) * (cx - bx) >= -slack

    for u, v in diagonals:
        f, g = owner[u, v], owner[v, u]
        if f == g:
            continue
        one, two = faces[f], faces[g]
        i, j = one.index(u), two.index(v)
        # one: … p u v q …; two: … r v u s …
        p, q = one[i - 1], one[(i + 2) % len(one)]
        r, s = two[j - 1], two[(j + 2) % len(two)]
        if not (convex(p, u, s) and convex(r, v, q)):
            continue
        joined = one[i + 1 :] + one[: i + 1]  # v … u
        tail = two[j + 1 :] + two[: j + 1]  # u … v
        joined = joined + tail[1:-1]
        faces[f] = joined
        faces[g] = []
        for k, w in enumerate(joined):
            owner[w, joined[(k + 1) % len(joined)]] = f
    return [face for face in faces if face]
