"""Shapes whose contacts are decided exactly, in whole and rational numbers.

A shape is a polygon with holes, grown by a radius (0: not grown): a disc is a grown point, a
rounded rectangle a grown rectangle. Corners are snapped to a grid of 2⁻³⁰ mm, and from there
on nothing is rounded: crossings by the signs of determinants, points in polygons by the
even-odd rule, squared distances as fractions. No geometry library is used.

Source: F. P. Preparata and M. I. Shamos, Computational Geometry (1985), chapters 1 and 2
(from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

__all__ = ["GRID", "Contact", "Pt", "Shape", "clearance", "contact", "plate_contact", "snapped"]

GRID = 1 << 30
"""Grid steps in a millimetre."""

_SOME = 1e-12
"""A depth (mm) that says no more than that there is one."""

Pt = tuple[int, int]
_Edge = tuple[Pt, Pt]


def snapped(x: float, y: float) -> Pt:
    """Return the grid point next to a point (mm)."""
    return round(x * GRID), round(y * GRID)


@dataclass(frozen=True)
class Shape:
    """Rings of grid points (the first is the outline), grown by `radius` (grid steps).

    `bore`: centre and radius (grid steps) of a round cut-out, well inside the first ring.
    """

    rings: tuple[tuple[Pt, ...], ...]
    radius: int = 0
    bore: tuple[Pt, int] | None = None

    @cached_property
    def edges(self) -> tuple[_Edge, ...]:
        """The edges of all rings; of a single point the one of no length."""
        return tuple((ring[k - 1], ring[k]) for ring in self.rings for k in range(len(ring)))

    @cached_property
    def corners(self) -> tuple[Pt, ...]:
        """The corners of all rings."""
        return tuple(point for ring in self.rings for point in ring)

    @cached_property
    def box(self) -> tuple[int, int, int, int]:
        """The least and largest x and y, growth included."""
        xs, ys = [p[0] for p in self.rings[0]], [p[1] for p in self.rings[0]]
        r = self.radius
        return min(xs) - r, min(ys) - r, max(xs) + r, max(ys) + r

    def holds(self, point: Pt) -> bool:
        """Whether a point lies within the rings; on an edge it does not."""
        px, py = point
        odd = False
        for (x0, y0), (x1, y1) in self.edges:
            side = (x1 - x0) * (py - y0) - (y1 - y0) * (px - x0)
            if (y0 > py) != (y1 > py):
                if side == 0:
                    return False
                odd ^= (side > 0) == (y1 > y0)
            elif (
                side == 0 and min(x0, x1) <= px <= max(x0, x1) and min(y0, y1) <= py <= max(y0, y1)
            ):
                return False
        return odd

    def off_edge(self, point: Pt) -> float:
        """Return the distance (mm) of a point from the nearest edge."""
        return _root(min(_point_edge(point, edge) for edge in self.edges))


@dataclass(frozen=True)
class Contact:
    """How two shapes lie: `gap` between them (mm, exact), and how deep they overlap at least.

    `deep` (mm) is how far inside one of the two the deepest of the places looked at lies that
    both share: the depth is no less. 0 if they share nothing.
    """

    gap: float
    deep: float


def contact(a: Shape, b: Shape) -> Contact:
    """Return how two shapes lie to each other; the gap is infinite if it is above all needs."""
    return _contact(a, b, outside=False)


def plate_contact(a: Shape, b: Shape) -> Contact:
    """Return how two shapes lie to each other, one of which may have a round cut-out.

    What lies wholly in the cut-out is as far off as its farthest corner is from the circle.
    """
    if b.bore is not None and a.bore is None:
        a, b = b, a
    if a.bore is None:
        return contact(a, b)
    if b.bore is not None or not all(map(a.holds, b.corners)):
        lies = contact(a, b)  # as if there were no cut-out: how deep isn't known
        return Contact(gap=lies.gap, deep=min(lies.deep, _SOME))
    (cx, cy), r = a.bore
    far = [_root(Fraction((x - cx) ** 2 + (y - cy) ** 2, GRID * GRID)) for x, y in b.corners]
    gap = r / GRID - max(far) - b.radius / GRID
    if gap >= 0.0:
        return Contact(gap=gap, deep=0.0)
    # Its farthest point lies so deep in the plate, if the outer edge isn't nearer.
    rim = a.off_edge(b.corners[far.index(max(far))]) - b.radius / GRID
    return Contact(gap=0.0, deep=min(-gap, max(rim, _SOME)))


def clearance(part: Shape, sheet: Shape) -> tuple[float, float]:
    """Return how far (mm) a part stays inside a sheet's edge, and how far it leaves it at least.

    The first is 0 if it leaves the sheet or touches its edge, the second 0 if it doesn't
    leave it. A grown sheet's core is convex: a part's distance from it is then that of its
    farthest corner.
    """
    if sheet.radius:
        out = [sheet.off_edge(p) for p in part.corners if not sheet.holds(p)]
        least = min(map(sheet.off_edge, part.corners)) if not out else -max(out)
        inside = least + (sheet.radius - part.radius) / GRID
        return max(inside, 0.0), max(-inside, 0.0)
    lies = _contact(part, sheet, outside=True)
    return lies.gap, lies.deep


def _contact(a: Shape, b: Shape, *, outside: bool) -> Contact:
    """Return how a shape lies to another one, or to all that is outside that other one."""
    square, crossings = _nearest(a.edges, b.edges)

    def in_b(point: Pt) -> bool:
        return b.holds(point) != outside

    apart = Fraction(0) if square is None else square
    shared: list[Pt] = [p for p in a.corners if in_b(p)]
    holed = outside and any(map(a.holds, b.corners))  # a hole inside the part
    if holed and not shared:
        return Contact(gap=0.0, deep=_SOME)
    if apart > 0 and not outside and not shared:
        shared = [p for p in b.corners if a.holds(p)]
    grown = Fraction(a.radius + (0 if outside else b.radius), GRID)
    if apart > 0 and not shared:  # cores apart
        gap = Fraction(_root(apart)) - grown
        if gap >= 0:
            return Contact(gap=float(gap), deep=0.0)
        # Along the shortest line: a's farthest point lies so deep in b, as far as b reaches.
        reach = Fraction(max(a.radius, b.radius), GRID)
        if outside:  # beyond a hole or between outlines there is no telling
            return Contact(gap=0.0, deep=float(-gap) if len(b.rings) == 1 else _SOME)
        return Contact(gap=0.0, deep=float(min(-gap, reach)))
    places = set(shared)
    if not outside:
        places.update(p for p in b.corners if a.holds(p))
    spots = [*crossings, *a.corners, *([] if outside else b.corners)]
    for i, (x0, y0) in enumerate(spots[:16]):
        for x1, y1 in spots[:i]:
            middle = ((x0 + x1) // 2, (y0 + y1) // 2)
            if a.holds(middle) and in_b(middle):
                places.add(middle)
    deep = 0.0
    for place in places:
        deep = max(deep, b.off_edge(place) + (0.0 if outside else b.radius / GRID))
        if not outside:
            if a.holds(place) or a.radius:
                deep = max(deep, a.off_edge(place) + a.radius / GRID)
        elif a.radius:
            deep = max(deep, b.off_edge(place))
    if deep == 0.0 and grown > 0:  # cores touch
        deep = float(grown if outside else Fraction(max(a.radius, b.radius), GRID))
        if outside and len(b.rings) > 1:
            deep = _SOME
    return Contact(gap=0.0, deep=max(deep, _SOME) if holed else deep)


def _nearest(first: Sequence[_Edge], second: Sequence[_Edge]) -> tuple[Fraction | None, list[Pt]]:
    """Return the squared distance (mm²) of two sets of edges, None if they meet; and crossings."""
    best: tuple[int, int] | None = None
    crossings: list[Pt] = []
    met = False
    for one in first:
        for other in second:
            if best is not None and not met and _boxes_apart(one, other, best):
                continue
            at = _crossing(one, other)
            if at is not None:
                met = True
                crossings.append(at)
            if met:
                continue
            for square in _ends(one, other):
                if best is None or square[0] * best[1] < best[0] * square[1]:
                    best = square
                if square[0] == 0:
                    met = True
    if met or best is None:
        return None, crossings
    return Fraction(best[0], best[1] * GRID * GRID), crossings


def _boxes_apart(one: _Edge, other: _Edge, best: tuple[int, int]) -> bool:
    """Whether the boxes of two edges are farther apart than the best distance so far."""
    (ax, ay), (bx, by) = one
    (cx, cy), (dx, dy) = other
    x = max(min(ax, bx) - max(cx, dx), min(cx, dx) - max(ax, bx), 0)
    y = max(min(ay, by) - max(cy, dy), min(cy, dy) - max(ay, by), 0)
    return (x * x + y * y) * best[1] >= best[0] > 0


def _ends(one: _Edge, other: _Edge) -> Iterator[tuple[int, int]]:
    for point in one:
        yield _square(point, other)
    for point in other:
        yield _square(point, one)


def _square(point: Pt, edge: _Edge) -> tuple[int, int]:
    """Return the squared distance of a point from an edge (grid steps²) over a denominator."""
    (px, py), ((ax, ay), (bx, by)) = point, edge
    wx, wy, ux, uy = bx - ax, by - ay, px - ax, py - ay
    dot, long = ux * wx + uy * wy, wx * wx + wy * wy
    if dot <= 0 or long == 0:
        return ux * ux + uy * uy, 1
    if dot >= long:
        return (px - bx) ** 2 + (py - by) ** 2, 1
    return (wx * uy - wy * ux) ** 2, long


def _point_edge(point: Pt, edge: _Edge) -> Fraction:
    top, bottom = _square(point, edge)
    return Fraction(top, bottom * GRID * GRID)


def _crossing(one: _Edge, other: _Edge) -> Pt | None:
    """Return the grid point next to where two edges cross inside both, or None."""
    a, b = one
    c, d = other
    s, t = _side(a, b, c), _side(a, b, d)
    if s == 0 or t == 0 or (s > 0) == (t > 0):
        return None
    u, v = _side(c, d, a), _side(c, d, b)
    if u == 0 or v == 0 or (u > 0) == (v > 0):
        return None
    x = a[0] + Fraction((b[0] - a[0]) * u, u - v)
    y = a[1] + Fraction((b[1] - a[1]) * u, u - v)
    return round(x), round(y)


def _side(a: Pt, b: Pt, c: Pt) -> int:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _root(square: Fraction) -> float:
    """Return the square root of a fraction, right to the last digits of a float."""
    return math.isqrt((square.numerator << 120) // square.denominator) / (1 << 60)
