"""The parallel of one line, arc or curve: a line, an arc about the same centre, or Béziers."""

from __future__ import annotations

import math

from nesting.pattern.path import Affine, Arc, Bezier, Line, Point, Segment
from nesting.pattern.segment import derivative, direction, second_derivative

__all__ = ["fitted_parallel", "parallel_segment", "right_of"]

FIT = 5e-4
"""Largest distance (mm) of a fitted curve from the true parallel, at the places checked."""
SLIP = 0.01
"""How much a slip along the parallel counts as a misfit: it has no effect of first order."""


def right_of(point: Point, along: Point, by: float) -> Point:
    """Return the point `by` to the right of a direction."""
    return (point[0] + by * along[1], point[1] - by * along[0])


def parallel_segment(segment: Segment, by: float) -> tuple[Segment, ...] | None:
    """Return the parallel of a segment `by` (mm) to its right (left if negative).

    None where it would turn back on itself (a curve tighter than the distance).
    """
    if by == 0.0:
        return (segment,)
    if isinstance(segment, Line):
        dx, dy = direction(segment, 0.0)
        return (segment.transformed(Affine.move(by * dy, -by * dx)),)
    radius = segment.radius if isinstance(segment, Arc) else None
    if isinstance(segment, Arc) and radius is not None:
        left = (segment.u[0] * segment.v[1] - segment.u[1] * segment.v[0]) * segment.sweep > 0
        grown = (radius + (by if left else -by)) / radius
        if grown * radius <= 1e-6:
            return None
        u, v = segment.u, segment.v
        return (
            Arc(
                segment.centre,
                (u[0] * grown, u[1] * grown),
                (v[0] * grown, v[1] * grown),
                segment.begin,
                segment.sweep,
            ),
        )
    return fitted_parallel(segment, by, begin=0.0, end=1.0)


def fitted_parallel(
    segment: Segment, by: float, *, begin: float, end: float
) -> tuple[Segment, ...] | None:
    """Return Béziers for the parallel of a segment between two of its parameters."""
    return _fitted(segment, by, begin=begin, end=end, depth=10)


def _fitted(
    segment: Segment, by: float, *, begin: float, end: float, depth: int
) -> tuple[Segment, ...] | None:
    """Return Béziers with the ends and end slopes of the parallel, halved until they fit."""
    slope_in, slope_out = (_parallel_slope(segment, t, by) for t in (begin, end))
    if slope_in is None or slope_out is None:
        return None
    third = (end - begin) / 3.0
    (ax, ay), (bx, by_) = slope_in, slope_out
    p, q = (right_of(segment.at(t), direction(segment, t), by) for t in (begin, end))
    first = (p[0] + third * ax, p[1] + third * ay)
    curve = Bezier(p, first, (q[0] - third * bx, q[1] - third * by_), q)
    worst = 0.0
    for share in (0.2, 0.4, 0.6, 0.8):
        t = begin + share * (end - begin)
        if _parallel_slope(segment, t, by) is None:
            return None
        worst = max(worst, _misfit(curve.at(share), segment, t, by))
    if worst <= FIT:
        return (curve,)
    if depth == 0:
        return (Line(p, q),)
    middle = (begin + end) / 2
    first_half = _fitted(segment, by, begin=begin, end=middle, depth=depth - 1)
    second_half = _fitted(segment, by, begin=middle, end=end, depth=depth - 1)
    return None if first_half is None or second_half is None else first_half + second_half


def _misfit(point: Point, segment: Segment, t: float, by: float) -> float:
    """Return how far a point lies off the parallel, which it may have slipped along a little."""
    along = direction(segment, t)
    true = right_of(segment.at(t), along, by)
    dx, dy = point[0] - true[0], point[1] - true[1]
    return max(abs(dx * along[1] - dy * along[0]), SLIP * abs(dx * along[0] + dy * along[1]))


def _parallel_slope(segment: Segment, t: float, by: float) -> Point | None:
    """Return the derivative of the parallel, (1 + by·κ)·B′; None where it turns back."""
    dx, dy = derivative(segment, t)
    speed = math.hypot(dx, dy)
    if speed < 1e-9:
        return (0.0, 0.0)
    ex, ey = second_derivative(segment, t)
    stretch = 1.0 + by * (dx * ey - dy * ex) / speed**3
    return (stretch * dx, stretch * dy) if stretch > 1e-6 else None
