"""The cutting line from the sewing line: so far out as each edge's allowance says.

Square to the seam, corners mitred; a mitre longer than four times the allowance is cut off
square there (SVG 2, 13.5.4, whose number the program takes).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from .shapes import Outline, Pt

__all__ = ["largest", "narrowed", "widened"]

_MITRE = 4.0
_CRACK = 1e-5
"""Strips beside each other are grown by so much (mm), so that no crack is left between them."""


def widened(sew: Outline, by: Sequence[float]) -> Polygon:
    """Return what lies within the cutting line; `by`: the allowance (mm) of each segment."""
    joined = shapely.union_all([sew.area, *_strips(sew, by, 1.0)])
    return Polygon(largest(joined).exterior)


def narrowed(cut: Outline, by: Sequence[float]) -> Polygon:
    """Return what lies within the sewing line of a cutting line."""
    return largest(cut.area.difference(shapely.union_all(_strips(cut, by, -1.0))))


def largest(area: BaseGeometry) -> Polygon:
    """Return the largest bit of an area."""
    found: Polygon = max(getattr(area, "geoms", [area]), key=lambda bit: bit.area)
    return found


def _strips(outline: Outline, by: Sequence[float], side: float) -> list[BaseGeometry]:
    """Return a strip beside each segment, outside (`side` 1) or inside (-1), and their corners."""
    ring, n = outline.ring, len(outline.ring)
    out = [_outward(ring[k], ring[(k + 1) % n]) for k in range(n)]
    found: list[Polygon] = []
    for k in range(n):
        (x0, y0), (x1, y1), w = ring[k], ring[(k + 1) % n], side * by[k]
        nx, ny = out[k]
        if w:
            far = [(x1 + w * nx, y1 + w * ny), (x0 + w * nx, y0 + w * ny)]
            strip = Polygon([(x0, y0), (x1, y1), *far])
            for j, at in ((k - 1, ring[k]), ((k + 1) % n, ring[(k + 1) % n])):
                past = _past(at, (out[k], out[j]), (w, side * by[j]), side, first=j != k - 1)
                if past is not None:
                    end = (at[0] + side * by[j] * out[j][0], at[1] + side * by[j] * out[j][1])
                    full = (at[0] + w * out[k][0], at[1] + w * out[k][1])
                    found.append(largest(Polygon([at, end, full]).difference(past)))
                    strip = largest(strip.difference(past))
            found.append(strip)
        corner = _corner(ring[k], (out[k - 1], out[k]), (by[k - 1], by[k]), side)
        if corner is not None:
            found.append(corner)
    return [bit.buffer(_CRACK, join_style="mitre") for bit in found]


def _outward(p: Pt, q: Pt) -> Pt:
    """Return the way out of a ring that runs counter-clockwise."""
    length = math.dist(p, q)
    return (q[1] - p[1]) / length, -(q[0] - p[0]) / length


def _past(
    at: Pt, out: tuple[Pt, Pt], by: tuple[float, float], side: float, *, first: bool
) -> Polygon | None:
    """Return where a strip's end stands out beyond a narrower neighbour's outer line.

    `first`: whether the strip comes before its neighbour. The half plane beyond that line.
    """
    (ax, ay), (bx, by_) = out
    wide, narrow = abs(by[0]), abs(by[1])
    cross, dot = side * (ax * by_ - ay * bx) * (1 if first else -1), ax * bx + ay * by_
    if cross <= 1e-9 or wide * dot <= narrow:
        return None
    near, r = (at[0] + by[1] * bx, at[1] + by[1] * by_), 4.0 * wide
    return Polygon(
        [
            (near[0] + s * by_ * r + d * side * bx * r, near[1] - s * bx * r + d * side * by_ * r)
            for s, d in ((-1, 0), (1, 0), (1, 1), (-1, 1))
        ]
    )


def _corner(at: Pt, out: tuple[Pt, Pt], by: tuple[float, float], side: float) -> Polygon | None:
    """Return what the strips of two segments leave open at a corner, up to where they meet."""
    (ax, ay), (bx, by_) = out
    before, after = by
    cross, dot = side * (ax * by_ - ay * bx), ax * bx + ay * by_
    if cross <= 1e-9 or max(by) == 0.0:
        return None
    a = (at[0] + side * before * ax, at[1] + side * before * ay)
    b = (at[0] + side * after * bx, at[1] + side * after * by_)
    t = (after - before * dot) / cross  # along the first segment from a
    tip = (a[0] - t * ay, a[1] + t * ax)
    far = math.dist(at, tip)
    if far < 1e-9:
        return None
    wedge = Polygon([at, a, tip, b])
    if not wedge.is_valid or wedge.area <= 0.0:
        return None
    reach = _MITRE * max(by)
    if far > reach:
        ux, uy = (tip[0] - at[0]) / far, (tip[1] - at[1]) / far
        r = 2.0 * far
        ends = [(at[0] + s * ux * reach - w * uy * r, at[1] + s * uy * reach + w * ux * r)
                for s, w in ((-1, -1), (1, -1), (1, 1), (-1, 1))]  # fmt: skip
        wedge = largest(wedge.intersection(Polygon(ends)))
    return wedge
