"""Lines, arcs, curves and points of DXF entities (DXF reference, ENTITIES section)."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import islice, pairwise

from ezdxf.math import OCS, BSpline, bulge_center, fit_points_to_cad_cv

from nesting.errors import PatternError
from nesting.limits import MOST_CURVES
from nesting.pattern.path import Affine, Arc, Bezier, Line, Point, Segment
from nesting.reading.dxf.tags import Entity
from nesting.reading.items import MAX_POINTS

__all__ = ["SHAPES", "flat"]

_HIGHEST_DEGREE = 25
"""Of a spline (own choice); drawings have 3, seldom 5."""

MOST_BITS = 50_000
"""Curves that the splines of a file may come to, blocks counted as often as inserted."""

_SPLINE_ERROR = 1e-7
"""Share of its size by which a curve that is no cubic spline may be missed."""


def flat(entity: Entity) -> Affine | None:
    """Return the map from the entity's own axes to the drawing's; None if it is tilted.

    Old plan entities carry an extrusion direction; (0, 0, −1) is drawn from behind, so
    that x runs the other way (DXF reference, "Arbitrary axis algorithm").
    """
    z = (entity.number(210), entity.number(220), entity.number(230, 1.0))
    size = math.hypot(*z)
    if size == 0.0 or math.hypot(z[0], z[1]) > 1e-6 * size:
        return None
    if z[2] > 0.0:
        return Affine()
    x, y = OCS((0, 0, -1)).to_wcs((1, 0, 0)), OCS((0, 0, -1)).to_wcs((0, 1, 0))
    return Affine(x.x, y.x, x.y, y.y)


def _line(entity: Entity) -> list[Segment]:
    start = (entity.number(10), entity.number(20))
    return [Line(start, (entity.number(11), entity.number(21)))]


def _solid(entity: Entity) -> list[Segment]:
    """Return the rim of a filled triangle or quadrilateral, whose last two corners are swapped."""
    corners = [(entity.number(10 + i), entity.number(20 + i)) for i in (0, 1, 2)]
    if entity.raw(13) is not None:
        corners.insert(2, (entity.number(13), entity.number(23)))
    return [Line(a, b) for a, b in pairwise([*corners, corners[0]]) if a != b]


def _arc(entity: Entity) -> list[Segment]:
    begin, end = entity.number(50), entity.number(51, 360.0)
    sweep = (end - begin) % 360.0 or 360.0
    return [_circular(entity, math.radians(begin), math.radians(sweep))]


def _circle(entity: Entity) -> list[Segment]:
    return [_circular(entity, 0.0, math.tau)]


def _circular(entity: Entity, begin: float, sweep: float) -> Arc:
    radius = abs(entity.number(40))
    return Arc((entity.number(10), entity.number(20)), (radius, 0.0), (0.0, radius), begin, sweep)


def _ellipse(entity: Entity) -> list[Segment]:
    u = (entity.number(11), entity.number(21))
    ratio = entity.number(40, 1.0) * (-1.0 if entity.number(230, 1.0) < 0.0 else 1.0)
    begin, end = entity.number(41), entity.number(42, math.tau)
    sweep = (end - begin) % math.tau
    if sweep < 1e-12 or abs(end - begin) >= math.tau - 1e-12:
        sweep = math.tau
    v = (-u[1] * ratio, u[0] * ratio)
    return [Arc((entity.number(10), entity.number(20)), u, v, begin, sweep)]


def _lwpolyline(entity: Entity) -> list[Segment]:
    count = (entity.end - entity.begin) // 2
    if count > 3 * MAX_POINTS:
        raise _too_long(entity.integer(90, count), entity.line)
    vertices: list[tuple[float, float, float]] = []
    for code, value in entity.tags():
        if code == 10:
            vertices.append((entity.as_number(value), 0.0, 0.0))
        elif code in (20, 42) and vertices:
            x, y, bulge = vertices[-1]
            number = entity.as_number(value)
            vertices[-1] = (x, number, bulge) if code == 20 else (x, y, number)
    return _bulged(vertices, closed=bool(entity.integer(70) & 1), line=entity.line)


def _polyline(entity: Entity) -> list[Segment]:
    flags = entity.integer(70)
    if flags & (16 | 64):
        raise PatternError("a mesh is not a pattern piece", line=entity.line)
    if len(entity.parts) > MAX_POINTS:
        raise _too_long(len(entity.parts), entity.line)
    vertices = [
        (part.number(10), part.number(20), part.number(42))
        for part in entity.parts
        if part.raw(70) is None or not part.integer(70) & 16  # the frame of a fitted spline
    ]
    return _bulged(vertices, closed=bool(flags & 1), line=entity.line)


def _too_long(count: int, line: int) -> PatternError:
    hint = f"at most {MAX_POINTS:,}"
    return PatternError(f"an outline of {count:,} points", line=line, hint=hint)


def _bulged(
    vertices: Sequence[tuple[float, float, float]], *, closed: bool, line: int
) -> list[Segment]:
    """Return straight and circular segments; bulge = tan(quarter of the arc's angle)."""
    if len(vertices) > MAX_POINTS:
        raise _too_long(len(vertices), line)
    ring = [*vertices, vertices[0]] if closed and vertices else vertices
    out: list[Segment] = []
    for (x0, y0, bulge), (x1, y1, _) in pairwise(ring):
        start, end = (x0, y0), (x1, y1)
        if start == end:
            continue
        out.append(_bulge(start, end, bulge) if abs(bulge) > 1e-9 else Line(start, end))
    return out


def _bulge(start: Point, end: Point, bulge: float) -> Arc:
    middle = bulge_center(start, end, bulge)
    radius = math.dist((middle.x, middle.y), start)
    begin = math.atan2(start[1] - middle.y, start[0] - middle.x)
    return Arc((middle.x, middle.y), (radius, 0.0), (0.0, radius), begin, 4.0 * math.atan(bulge))


def _spline(entity: Entity) -> list[Segment]:
    control = list(zip(entity.numbers(10), entity.numbers(20), strict=False))
    knots, weights = entity.numbers(40), entity.numbers(41)
    degree = entity.integer(71, 3)
    fit = list(zip(entity.numbers(11), entity.numbers(21), strict=False))
    many = max(len(control), len(knots) - degree - 1, 0 if control else len(fit))
    if many > MOST_CURVES:
        hint = f"at most {MOST_CURVES:,}"
        raise PatternError(f"a spline of {many:,} points", line=entity.line, hint=hint)
    try:
        if not 1 <= degree <= _HIGHEST_DEGREE:
            raise ValueError
        if not control:
            curve = fit_points_to_cad_cv(fit, tangents=_tangents(entity))
        else:
            curve = BSpline(control, order=degree + 1, knots=knots or None, weights=weights or None)
        bits = list(islice(_beziers(curve), MOST_BITS - entity.document.spline_bits + 1))
    except Exception:  # ezdxf's spline tools fail in many ways on impossible knots
        raise PatternError("a spline can't be made of these numbers", line=entity.line) from None
    entity.document.spline_bits += len(bits)
    if entity.document.spline_bits > MOST_BITS:
        raise PatternError(
            "the file's splines are of too many bits",
            line=entity.line,
            hint=f"at most {MOST_BITS:,}",
        )
    return bits


def _tangents(entity: Entity) -> list[tuple[float, float]] | None:
    if entity.raw(12) is None or entity.raw(13) is None:
        return None
    return [
        (entity.number(12), entity.number(22)),
        (entity.number(13), entity.number(23)),
    ]


def _beziers(curve: BSpline) -> Iterable[Segment]:
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


SHAPES: dict[str, Callable[[Entity], list[Segment]]] = {
    "LINE": _line,
    "SOLID": _solid,
    "ARC": _arc,
    "CIRCLE": _circle,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "SPLINE": _spline,
}
"""What each entity that can be drawn becomes, in its own axes."""
