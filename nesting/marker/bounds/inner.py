"""Boxes that lie inside a piece: what a bound on rectangles may count of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from nesting.pattern.path import Affine
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon
from nesting.tolerance import TOLERANCE

__all__ = ["InnerBox", "inner_boxes"]

Floats = NDArray[np.float64]
_CUTS = 14  # places along x between which boxes are sought


@dataclass(frozen=True, slots=True)
class InnerBox:
    """A box inside a part: `length` along x, `height` along y (mm)."""

    length: float
    height: float


@lru_cache(maxsize=2048)
def inner_boxes(piece: Piece, by: Affine) -> tuple[InnerBox, ...]:
    """Return axis-parallel boxes inside a piece mapped by `by`, none inside another's size.

    Between any two of some places along x, the tallest box that stays within the true
    outline; curves cost twice their chord.
    """
    area = piece_polygon(piece, by=by)
    x0, y0, x1, y1 = area.bounds
    if area.area >= (x1 - x0) * (y1 - y0) * (1.0 - 1e-12):
        return (InnerBox(x1 - x0, y1 - y0),)
    edges = _edges(area)
    shrink = 2.0 * TOLERANCE.chord if _curved(piece) else 0.0
    cuts = _cuts(edges)
    found: list[tuple[float, float]] = []
    for i, low in enumerate(cuts[:-1]):
        for high in cuts[i + 1 :]:
            height = _tallest(area, edges, low, high)
            if height <= shrink:
                break  # a longer one is no taller
            if high - low > shrink:
                found.append((float(high - low) - shrink, height - shrink))
    return _undominated(found)


def _curved(piece: Piece) -> bool:
    return piece.cut.curved or any(hole.curved for hole in piece.holes)


def _edges(area: shapely.Polygon) -> Floats:
    """Return the edges of all rings as rows x0, y0, x1, y1 with x0 <= x1."""
    rows = []
    for ring in (area.exterior, *area.interiors):
        xy = np.array(ring.coords)
        rows.append(np.hstack([xy[:-1], xy[1:]]))
    edges = np.vstack(rows)
    back = edges[:, 0] > edges[:, 2]
    edges[back] = edges[back][:, [2, 3, 0, 1]]
    return edges


def _cuts(edges: Floats) -> Floats:
    """Return places along x: the vertices if there are few, else those evenly spread."""
    xs = np.unique(edges[:, [0, 2]])
    if len(xs) <= _CUTS:
        return xs
    even = np.linspace(xs[0], xs[-1], _CUTS)
    near = xs[np.abs(xs[:, None] - even).argmin(axis=0)]
    return np.unique(near)


def _tallest(area: shapely.Polygon, edges: Floats, low: float, high: float) -> float:
    """Return the height of the tallest box inside the area over low < x < high."""
    e = edges[(edges[:, 0] < high) & (edges[:, 2] > low)]
    if not len(e):
        return 0.0
    run = e[:, 2] - e[:, 0]
    slope = np.divide(e[:, 3] - e[:, 1], run, out=np.zeros_like(run), where=run > 0)
    a = np.where(run > 0, e[:, 1] + slope * (np.maximum(low, e[:, 0]) - e[:, 0]), e[:, 1])
    b = np.where(run > 0, e[:, 1] + slope * (np.minimum(high, e[:, 2]) - e[:, 0]), e[:, 3])
    bottom, top = np.minimum(a, b), np.maximum(a, b)
    order = np.argsort(bottom)
    bottom, covered = bottom[order], np.maximum.accumulate(top[order])
    gap = bottom[1:] - covered[:-1]
    for k in np.argsort(-gap):
        if gap[k] <= 0.0:
            return 0.0
        middle = shapely.Point(0.5 * (low + high), 0.5 * (bottom[k + 1] + covered[k]))
        if area.contains(middle):
            return float(gap[k])
    return 0.0


def _undominated(found: list[tuple[float, float]]) -> tuple[InnerBox, ...]:
    out: list[InnerBox] = []
    for length, height in sorted(found, reverse=True):
        if not out or height > out[-1].height:
            out.append(InnerBox(length, height))
    return tuple(out)
