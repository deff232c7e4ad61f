"""What one line, arc or curve can tell: direction, parts of it, where it meets a line."""

from __future__ import annotations

import math
from itertools import pairwise

from nesting.pattern.path import Affine, Arc, Bezier, Line, Point, Segment

__all__ = [
    "ON_END",
    "derivative",
    "direction",
    "is_finite",
    "numbers",
    "part",
    "second_derivative",
    "similarity",
    "with_ends",
]

ON_END = 1e-12
"""A root this far outside 0…1 (in the parameter) is taken as the end itself."""


def derivative(segment: Segment, t: float) -> Point:
    """Return d(point)/dt at parameter t in 0…1."""
    if isinstance(segment, Line):
        return (segment.end[0] - segment.start[0], segment.end[1] - segment.start[1])
    if isinstance(segment, Arc):
        angle = segment.begin + t * segment.sweep
        c, s = math.cos(angle) * segment.sweep, math.sin(angle) * segment.sweep
        return (segment.v[0] * c - segment.u[0] * s, segment.v[1] * c - segment.u[1] * s)
    p, q, r, e = segment.start, segment.first, segment.second, segment.end
    w0, w1, w2 = 3 * (1 - t) ** 2, 6 * (1 - t) * t, 3 * t * t
    return (
        w0 * (q[0] - p[0]) + w1 * (r[0] - q[0]) + w2 * (e[0] - r[0]),
        w0 * (q[1] - p[1]) + w1 * (r[1] - q[1]) + w2 * (e[1] - r[1]),
    )


def direction(segment: Segment, t: float) -> Point:
    """Return the unit tangent at parameter t.

    Where the derivative vanishes (a Bézier handle of no length) it is taken a little
    further inside the segment; a segment of no length has direction (1, 0).
    """
    for shift in (0.0, 1e-6, 1e-3):
        inside = t + shift if t < 0.5 else t - shift
        dx, dy = derivative(segment, inside)
        size = math.hypot(dx, dy)
        if size > 1e-9 * _size(segment):
            return (dx / size, dy / size)
    return (1.0, 0.0)


def _size(segment: Segment) -> float:
    if isinstance(segment, Arc):
        return max(math.hypot(*segment.u), math.hypot(*segment.v)) * abs(segment.sweep)
    if isinstance(segment, Line):
        return math.dist(segment.start, segment.end)
    p = (segment.start, segment.first, segment.second, segment.end)
    return sum(math.dist(a, b) for a, b in pairwise(p))


def part(segment: Segment, begin: float, end: float) -> Segment:
    """Return the exact part of a segment from parameter `begin` to `end` (begin < end)."""
    if begin == 0.0 and end == 1.0:
        return segment
    if isinstance(segment, Line):
        return Line(segment.at(begin), segment.at(end))
    if isinstance(segment, Arc):
        return Arc(
            segment.centre,
            segment.u,
            segment.v,
            segment.begin + begin * segment.sweep,
            (end - begin) * segment.sweep,
        )
    third = (end - begin) / 3.0
    start, stop = segment.at(begin), segment.at(end)
    (ax, ay), (bx, by) = derivative(segment, begin), derivative(segment, end)
    return Bezier(
        start,
        (start[0] + third * ax, start[1] + third * ay),
        (stop[0] - third * bx, stop[1] - third * by),
        stop,
    )


def with_ends(segment: Segment, start: Point, end: Point) -> tuple[Segment, ...]:
    """Return the segment with its ends moved by a hair to `start` and `end`.

    A line or a Bézier's end is moved itself, an arc is turned and scaled as a whole
    (a circular arc stays one). Where an arc's ends are too near each other for that
    (a full circle), short lines are put before and after it.
    """
    if isinstance(segment, Line):
        return (Line(start, end),)
    if isinstance(segment, Bezier):
        ax, ay = start[0] - segment.start[0], start[1] - segment.start[1]
        bx, by = end[0] - segment.end[0], end[1] - segment.end[1]
        first = (segment.first[0] + ax, segment.first[1] + ay)
        second = (segment.second[0] + bx, segment.second[1] + by)
        return (Bezier(start, first, second, end),)
    hair = 1e-9 * max(1.0, math.hypot(*start))
    gaps = math.dist(start, segment.start), math.dist(end, segment.end)
    if max(gaps) <= hair:
        return (segment,)
    if math.dist(segment.start, segment.end) > 20.0 * max(gaps):
        return (segment.transformed(similarity((segment.start, segment.end), (start, end))),)
    lines = Line(start, segment.start), Line(segment.end, end)
    before, after = ([line] if gap > hair else [] for line, gap in zip(lines, gaps, strict=True))
    return (*before, segment, *after)


def similarity(from_ends: tuple[Point, Point], to_ends: tuple[Point, Point]) -> Affine:
    """Return the turn, scaling and move that takes two points to two points."""
    p, q, r, s = (complex(*point) for point in (*from_ends, *to_ends))
    k = (s - r) / (q - p)
    move = r - k * p
    return Affine(k.real, -k.imag, k.imag, k.real, move.real, move.imag)


def is_finite(segment: Segment) -> bool:
    """Whether every number of the segment is finite."""
    return all(map(math.isfinite, numbers(segment)))


def numbers(segment: Segment) -> tuple[float, ...]:
    """Return the numbers that a segment is made of."""
    if isinstance(segment, Line):
        return (*segment.start, *segment.end)
    if isinstance(segment, Arc):
        return (*segment.centre, *segment.u, *segment.v, segment.begin, segment.sweep)
    return (*segment.start, *segment.first, *segment.second, *segment.end)


def second_derivative(segment: Segment, t: float) -> Point:
    """Return d²(point)/dt² at parameter t in 0…1."""
    if isinstance(segment, Line):
        return (0.0, 0.0)
    if isinstance(segment, Arc):
        angle, k = segment.begin + t * segment.sweep, -segment.sweep * segment.sweep
        c, s = math.cos(angle) * k, math.sin(angle) * k
        return (segment.u[0] * c + segment.v[0] * s, segment.u[1] * c + segment.v[1] * s)
    p, q, r, e = segment.start, segment.first, segment.second, segment.end
    w0, w1 = 6 * (1 - t), 6 * t
    return (
        w0 * (r[0] - 2 * q[0] + p[0]) + w1 * (e[0] - 2 * r[0] + q[0]),
        w0 * (r[1] - 2 * q[1] + p[1]) + w1 * (e[1] - 2 * r[1] + q[1]),
    )
