"""Where a line, arc or curve meets a straight line, and where it reaches farthest."""

from __future__ import annotations

import math

import numpy as np

from nesting.pattern.path import Arc, Line, Point, Segment
from nesting.pattern.segment import ON_END

__all__ = ["crossings", "extremes"]


def crossings(segment: Segment, start: Point, end: Point) -> list[float]:
    """Return the parameters, rising, at which a segment meets the line through two points.

    A segment that lies in the line meets it nowhere.
    """
    n = (start[1] - end[1], end[0] - start[0])
    return _roots(segment, n, n[0] * start[0] + n[1] * start[1])


def extremes(segment: Segment, axis: Point) -> list[float]:
    """Return the parameters at which a segment's extent along a direction can be extreme."""
    if isinstance(segment, Line):
        return [0.0, 1.0]
    if isinstance(segment, Arc):
        u = segment.u[0] * axis[0] + segment.u[1] * axis[1]
        v = segment.v[0] * axis[0] + segment.v[1] * axis[1]
        top = math.atan2(v, u)
        return [0.0, 1.0, *_angles(segment, [top, top + math.pi], slack=0.0)]
    p = [
        q[0] * axis[0] + q[1] * axis[1]
        for q in (segment.start, segment.first, segment.second, segment.end)
    ]
    d = [p[1] - p[0], p[2] - p[1], p[3] - p[2]]
    poly = [d[0] - 2 * d[1] + d[2], 2 * (d[1] - d[0]), d[0]]
    return [0.0, 1.0, *_real_roots(poly, slack=0.0)]


def _roots(segment: Segment, n: Point, c: float) -> list[float]:
    """Return t with n·point(t) = c."""
    if isinstance(segment, Line):
        a = n[0] * segment.start[0] + n[1] * segment.start[1] - c
        b = n[0] * segment.end[0] + n[1] * segment.end[1] - c
        return _clamped([a / (a - b)], slack=ON_END) if a != b else []
    if isinstance(segment, Arc):
        u = segment.u[0] * n[0] + segment.u[1] * n[1]
        v = segment.v[0] * n[0] + segment.v[1] * n[1]
        w = c - n[0] * segment.centre[0] - n[1] * segment.centre[1]
        size = math.hypot(u, v)
        if size == 0.0 or abs(w) > size * (1 + 1e-15):
            return []
        top, half = math.atan2(v, u), math.acos(max(-1.0, min(1.0, w / size)))
        return _angles(segment, [top + half, top - half], slack=ON_END)
    p = [
        q[0] * n[0] + q[1] * n[1] - c
        for q in (segment.start, segment.first, segment.second, segment.end)
    ]
    poly = [
        p[3] - 3 * p[2] + 3 * p[1] - p[0],
        3 * (p[2] - 2 * p[1] + p[0]),
        3 * (p[1] - p[0]),
        p[0],
    ]
    return _real_roots(poly, slack=ON_END)


def _angles(arc: Arc, angles: list[float], *, slack: float) -> list[float]:
    """Return the parameters of an arc at which its angle is one of `angles` (mod 2π)."""
    found = []
    low, high = sorted((arc.begin, arc.begin + arc.sweep))
    for angle in angles:
        first = math.ceil((low - angle) / math.tau - 1e-9)
        last = math.floor((high - angle) / math.tau + 1e-9)
        found += [(angle + k * math.tau - arc.begin) / arc.sweep for k in range(first, last + 1)]
    return _clamped(found, slack=slack)


def _real_roots(poly: list[float], *, slack: float) -> list[float]:
    """Return the real roots in 0…1 of a polynomial (highest power first), polished."""
    size = max(abs(c) for c in poly)
    if size == 0.0:
        return []
    while len(poly) > 1 and abs(poly[0]) <= 1e-14 * size:
        poly = poly[1:]
    if len(poly) == 3:
        return _clamped(_quadratic(*poly), slack=slack)
    found = []
    slope = np.polyder(np.array(poly)) if len(poly) > 1 else None
    for root in np.roots(poly):
        if abs(root.imag) > 1e-7 * max(1.0, abs(root)):
            continue
        t = float(root.real)
        for _ in range(3):
            steep = float(np.polyval(slope, t)) if slope is not None else 0.0
            if abs(steep) > 1e-12 * size:
                t -= float(np.polyval(poly, t)) / steep
        found.append(t)
    return _clamped(found, slack=slack)


def _quadratic(a: float, b: float, c: float) -> list[float]:
    """Return the real roots of a·t² + b·t + c, without cancellation; a double one twice."""
    inside = b * b - 4.0 * a * c
    if inside < -1e-14 * max(b * b, abs(4.0 * a * c)):
        return []
    q = -0.5 * (b + math.copysign(math.sqrt(max(0.0, inside)), b))
    return [q / a, c / q if q else 0.0]


def _clamped(values: list[float], *, slack: float) -> list[float]:
    inside = sorted(min(1.0, max(0.0, t)) for t in values if -slack <= t <= 1.0 + slack)
    return [t for i, t in enumerate(inside) if i == 0 or t > inside[i - 1]]
