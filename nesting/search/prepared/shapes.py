"""Pieces made ready for the search: rings that contain the true ones, as convex parts."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from nesting.pattern.path import Path, Point
from nesting.search.kernels import rings
from nesting.tolerance import TOLERANCE

__all__ = [
    "Floats",
    "Outline",
    "convex_parts",
    "flat",
    "grown",
    "outline",
    "polygons",
    "simplified",
]

Floats = npt.NDArray[np.float64]

FEW = 25
"""Outlines of fewer corners are not simplified."""

_CORNERS = 3_000
"""Outlines of more corners are eased until they have no more."""
_EASE = 2e-4
"""The first step of easing, as a share of the outline's extent."""

_FAN = math.radians(15)
_HAIR = 1e-6
"""Edges shorter than this (mm) have no direction that could be trusted."""
_STRAIGHT = 1e-6
"""Corners that turn back by less (radians) are straight but for rounding."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """An outline about its own centre, as the search sees it.

    `centre`: the middle of the true bounding box in the piece's coordinates (mm); all
    else is relative to it. `parts`: convex rings (k, 2), counter-clockwise, whose union
    contains the true outline and half the spacing around it. `plain`: the same without
    the spacing, against a region. `ring`: the true outline's corners (m, 2), for its
    extent at any turn. `area` and `hull`: mm² of the true outline and of its hull.
    """

    centre: Point
    parts: tuple[Floats, ...]
    plain: tuple[Floats, ...]
    ring: Floats
    area: float
    hull: float

    @property
    def size(self) -> float:
        """The geometric mean of the bounding box's sides, or the longer if it is thin (mm)."""
        w, h = np.ptp(self.ring, axis=0)
        return float(max(math.sqrt(w * h), 0.2 * max(w, h)))


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons with area of any geometry."""
    if isinstance(shape, Polygon):
        return [shape] if shape.area > 0 else []
    found: list[Polygon] = []
    for part in getattr(shape, "geoms", ()):
        found.extend(polygons(part))
    return found


def flat(cut: Path, holes: Iterable[Path], *, chord: float) -> BaseGeometry:
    """Return a closed path with holes as a valid polygon of chords."""
    ring = cut.points(chord)
    if len(ring) < 3:
        return Polygon()
    inner = [points for points in (hole.points(chord) for hole in holes) if len(points) >= 3]
    shape: BaseGeometry = Polygon(ring, inner)
    return shape if shape.is_valid else shapely.make_valid(shape)


def _oriented(coords: Any, *, ccw: bool) -> Floats:
    ring = np.ascontiguousarray(np.asarray(coords, dtype=np.float64)[:-1, :2])
    x, y = ring[:, 0], ring[:, 1]
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    return ring if (area > 0) == ccw else np.ascontiguousarray(ring[::-1])


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
        pieces.extend(_margins(_oriented(polygon.exterior.coords, ccw=True), by))
        for hole in polygon.interiors:
            pieces.extend(_margins(_oriented(hole.coords, ccw=False), by))
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
        outer = rings.simplify(_oriented(polygon.exterior.coords, ccw=True), limit, height, 3)
        whole: BaseGeometry = Polygon(outer)
        if not whole.is_valid:
            whole = Polygon(polygon.exterior)
        for hole in polygon.interiors:
            if not Polygon(hole).is_empty:
                whole = whole.difference(Polygon(hole))
        done.extend(polygons(whole))
    return MultiPolygon(done) if len(done) != 1 else done[0]


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
        ring = _oriented(triangle.exterior.coords, ccw=True)
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


@lru_cache(maxsize=1024)
def outline(
    cut: Path, holes: tuple[Path, ...], *, spacing: float, share: float, least_hole: float
) -> Outline:
    """Prepare a piece's outline.

    `share`: how much area the simplification may add. `least_hole` (mm): holes narrower
    than this are filled, as nothing fits into them.
    """
    base = _base(cut, holes, spacing, least_hole)
    plain = convex_parts(simplified(base.shape, share=share, height=base.height))
    parts = plain
    if spacing > 0.0:
        parts = convex_parts(simplified(base.wide, share=share, height=base.height))
    return Outline(
        centre=base.centre,
        parts=parts,
        plain=plain,
        ring=base.ring,
        area=base.area,
        hull=float(base.shape.convex_hull.area),
    )


@dataclass(frozen=True, slots=True)
class _Base:
    """An outline about its middle before it is simplified: as it is, and grown for spacing."""

    centre: Point
    ring: Floats
    shape: BaseGeometry
    wide: BaseGeometry
    height: float
    area: float


@lru_cache(maxsize=1024)
def _base(cut: Path, holes: tuple[Path, ...], spacing: float, least_hole: float) -> _Base:
    ring = np.array(cut.points(TOLERANCE.chord), dtype=np.float64)
    low, high = ring.min(axis=0), ring.max(axis=0)
    centre = (float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2)
    extent = float(max(high - low))
    curved = cut.curved or any(hole.curved for hole in holes)
    chord = min(TOLERANCE.search_chord, 2e-4 * extent) if curved else TOLERANCE.chord
    drawn = shapely.transform(flat(cut, holes, chord=chord), lambda xy: xy - np.array(centre))
    error = chord if curved else 0.0
    return _Base(
        centre=centre,
        ring=ring - np.array(centre),
        shape=_eased(_without_small_holes(grown(drawn, error), least_hole), extent),
        wide=_eased(_without_small_holes(grown(drawn, error + spacing / 2), least_hole), extent),
        height=0.01 * extent,
        area=float(flat(cut, holes, chord=TOLERANCE.chord).area),
    )


def _eased(shape: BaseGeometry, extent: float) -> BaseGeometry:
    """Return a geometry of no more than so many corners that contains this one.

    Thousands of tiny teeth cost minutes and gigabytes, and no part fits between them.
    """
    off = _EASE * extent
    while shapely.get_num_coordinates(shape) > _CORNERS and off < extent:
        # The larger outline lies at least 0.98 of `off` away, and is moved by less than that.
        shape = shapely.simplify(shapely.buffer(shape, off, quad_segs=8), 0.9 * off)
        off *= 4.0
    return shape


def _without_small_holes(shape: BaseGeometry, least: float) -> BaseGeometry:
    done = []
    for polygon in polygons(shape):
        large = [
            hole
            for hole in polygon.interiors
            if min(hole.bounds[2] - hole.bounds[0], hole.bounds[3] - hole.bounds[1]) > least
        ]
        done.append(Polygon(polygon.exterior, large))
    return MultiPolygon(done) if len(done) != 1 else done[0]
