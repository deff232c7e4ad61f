"""B-splines as cubic Béziers, exact where they can be."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from ezdxf.math import BSpline

from nesting.pattern.path import Bezier, Line, Point, Segment

__all__ = ["beziers"]

_SPLINE_ERROR = 1e-7
"""Share of its size by which a curve that is no cubic spline may be missed."""


def beziers(curve: BSpline) -> Iterable[Segment]:
    """Yield the curve as cubic Béziers: exact up to degree 3 without weights, else close."""
    weights = curve.weights()
    plain = not weights or max(weights) - min(weights) <= 1e-12 * max(weights)
    if plain and curve.degree <= 3:
        if weights:
            curve = BSpline(curve.control_points, order=curve.order, knots=curve.knots())
        for points in _clamped(curve).bezier_decomposition():
            yield _cubic([(p.x, p.y) for p in points])
        return
    yield from _approximated(curve)


def _clamped(curve: BSpline) -> BSpline:
    """Return the same curve with end knots as often as the order, by putting knots in."""
    if curve.is_clamped:
        return curve
    knots, degree = list(curve.knots()), curve.degree
    begin, end = knots[degree], knots[-degree - 1]
    for t in (begin, end):
        for _ in range(curve.order - sum(1 for k in curve.knots() if k == t)):
            curve = curve.insert_knot(t)
    knots = list(curve.knots())
    first = knots.index(begin)
    last = len(knots) - 1 - knots[::-1].index(end)
    kept = list(curve.control_points)[first : last - degree]
    return BSpline(kept, order=curve.order, knots=knots[first : last + 1])


def _cubic(p: Sequence[Point]) -> Segment:
    """Return a Bézier of degree 1, 2 or 3 as a line or a cubic (degree elevation)."""
    if len(p) == 2:
        return Line(p[0], p[1])
    if len(p) == 3:
        return Bezier(p[0], _along(p[0], p[1], 2 / 3), _along(p[2], p[1], 2 / 3), p[2])
    return Bezier(p[0], p[1], p[2], p[3])


def _along(p: Point, q: Point, share: float) -> Point:
    return (p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1]))


def _approximated(curve: BSpline) -> Iterable[Segment]:
    """Yield cubics through the curve (Hermite), halved until they fit to `_SPLINE_ERROR`.

    Curves with weights are plain ones in homogeneous coordinates: those are parted into
    Bézier curves exactly (knot insertion; Piegl and Tiller, The NURBS Book, 2nd ed., ch. 5).
    """
    points = curve.control_points
    xs, ys = [p.x for p in points], [p.y for p in points]
    size = max(max(xs) - min(xs), max(ys) - min(ys))
    weights = curve.weights() or [1.0] * len(points)
    lifted = [(p.x * w, p.y * w, w) for p, w in zip(points, weights, strict=True)]
    whole = _clamped(BSpline(lifted, order=curve.order, knots=curve.knots()))
    for bit in whole.bezier_decomposition():
        yield from _hermite([(p.x, p.y, p.z) for p in bit], _SPLINE_ERROR * size)


_Lifted = list[tuple[float, float, float]]


def _hermite(control: _Lifted, error: float) -> Iterable[Segment]:
    """Yield cubics along a Bézier curve in homogeneous coordinates."""
    left = [(0.0, 1.0, 12)]
    while left:
        a, b, depth = left.pop()
        (start, da), (end, db) = _point(control, a), _point(control, b)
        third = (b - a) / 3
        cubic = Bezier(
            start,
            (start[0] + third * da[0], start[1] + third * da[1]),
            (end[0] - third * db[0], end[1] - third * db[1]),
            end,
        )
        samples = [(t, _point(control, a + t * (b - a))[0]) for t in (0.25, 0.5, 0.75)]
        if depth == 0 or max(math.dist(cubic.at(t), p) for t, p in samples) <= error:
            yield cubic
        else:
            middle = (a + b) / 2
            left += [(middle, b, depth - 1), (a, middle, depth - 1)]


def _point(control: _Lifted, t: float) -> tuple[Point, Point]:
    """Return point and derivative of a Bézier curve in homogeneous coordinates (de Casteljau)."""
    degree, s = len(control) - 1, 1.0 - t
    row = control
    while len(row) > 2:
        row = [
            (s * px + t * qx, s * py + t * qy, s * pw + t * qw)
            for (px, py, pw), (qx, qy, qw) in pairwise(row)
        ]
    (px, py, pw), (qx, qy, qw) = row
    w = s * pw + t * qw
    x, y = (s * px + t * qx) / w, (s * py + t * qy) / w
    slope = degree * (qw - pw)
    return (x, y), (
        (degree * (qx - px) - slope * x) / w,
        (degree * (qy - py) - slope * y) / w,
    )
