"""Areas, lengths and extents of paths, exact where a closed form exists."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from nesting.pattern.crossings import extremes
from nesting.pattern.path import Arc, Line, Path, Point, Segment
from nesting.pattern.segment import derivative

__all__ = [
    "area",
    "bounds",
    "clockwise",
    "counter_clockwise",
    "length",
    "segment_length",
    "signed_area",
]


@lru_cache(maxsize=512)
def signed_area(path: Path) -> float:
    """Return the area (mm²) inside a closed path, negative if it runs clockwise.

    Green's theorem, ½∮(x·dy − y·dx), in closed form on lines, arcs and Béziers.
    """
    ox, oy = path.start
    return sum(_swept(segment, ox, oy) for segment in path.segments) / 2.0


def _swept(segment: Segment, ox: float, oy: float) -> float:
    """Return ∫(x·dy − y·dx) along a segment, about (ox, oy)."""

    def cross(p: Point, q: Point) -> float:
        return (p[0] - ox) * (q[1] - oy) - (p[1] - oy) * (q[0] - ox)

    if isinstance(segment, Line):
        return cross(segment.start, segment.end)
    if isinstance(segment, Arc):
        start, end, (cx, cy) = segment.start, segment.end, segment.centre
        about = (cx - ox) * (end[1] - start[1]) - (cy - oy) * (end[0] - start[0])
        turned = segment.u[0] * segment.v[1] - segment.u[1] * segment.v[0]
        return about + turned * segment.sweep
    p, q, r, e = segment.start, segment.first, segment.second, segment.end
    outer = 6 * cross(p, q) + 3 * cross(p, r) + cross(p, e)
    return (outer + 3 * cross(q, r) + 3 * cross(q, e) + 6 * cross(r, e)) / 10.0


def area(path: Path) -> float:
    """Return the area (mm²) inside a closed path, whichever way it runs."""
    return abs(signed_area(path))


def counter_clockwise(path: Path) -> Path:
    """Return a closed path run counter-clockwise, from the same start."""
    return path if signed_area(path) >= 0.0 else path.reversed()


def clockwise(path: Path) -> Path:
    """Return a closed path run clockwise (a hole), from the same start."""
    return path if signed_area(path) <= 0.0 else path.reversed()


def length(path: Path) -> float:
    """Return the length of a path (mm), to 1e-10 of itself."""
    return sum(segment_length(segment) for segment in path.segments)


def segment_length(segment: Segment) -> float:
    """Return the length of one segment (mm): exact for lines and circular arcs."""
    if isinstance(segment, Line):
        return math.dist(segment.start, segment.end)
    if isinstance(segment, Arc) and segment.radius is not None:
        return segment.radius * abs(segment.sweep)
    return _integrated(segment, 0.0, 1.0, depth=24)


_NODES, _WEIGHTS = (a.tolist() for a in np.polynomial.legendre.leggauss(12))


def _integrated(segment: Segment, a: float, b: float, *, depth: int) -> float:
    """Return the arc length by Gauss-Legendre, halved until two halves agree with the whole."""
    whole = _gauss(segment, a, b)
    middle = (a + b) / 2
    halves = _gauss(segment, a, middle) + _gauss(segment, middle, b)
    if depth == 0 or abs(whole - halves) <= 1e-12 * max(1.0, halves):
        return halves
    return _integrated(segment, a, middle, depth=depth - 1) + _integrated(
        segment, middle, b, depth=depth - 1
    )


def _gauss(segment: Segment, a: float, b: float) -> float:
    half, middle = (b - a) / 2, (a + b) / 2
    return half * sum(
        w * math.hypot(*derivative(segment, middle + half * x))
        for x, w in zip(_NODES, _WEIGHTS, strict=True)
    )


def bounds(path: Path) -> tuple[float, float, float, float]:
    """Return (xmin, ymin, xmax, ymax) in mm, exact on curves too."""
    points = [
        segment.at(t)
        for segment in path.segments
        for axis in ((1.0, 0.0), (0.0, 1.0))
        for t in extremes(segment, axis)
    ]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys), max(xs), max(ys))
