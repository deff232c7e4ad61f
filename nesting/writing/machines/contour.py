"""Closed paths for tools that run along them: corners, where to begin, circles."""

from __future__ import annotations

import math
from itertools import pairwise

from nesting.pattern.measure import segment_length
from nesting.pattern.path import Arc, Bezier, Path, Point, Segment
from nesting.pattern.segment import direction, part
from nesting.tolerance import TOLERANCE

__all__ = ["as_beziers", "begin_at", "chord_length", "circle", "corners", "is_dot", "turning"]

_SMOOTH = math.radians(8.0)
"""A change of direction below this is no corner (curves imported as chords)."""


def turning(before: Segment, after: Segment) -> float:
    """Return the change of direction from one segment to the next, radians in −π…π."""
    a, b = direction(before, 1.0), direction(after, 0.0)
    return math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])


def corners(path: Path) -> list[tuple[int, float]]:
    """Return the corners of a closed path: index of the segment that starts there, turning."""
    segments = path.segments
    turns = [(i, turning(segments[i - 1], segments[i])) for i in range(len(segments))]
    return [(i, turn) for i, turn in turns if abs(turn) > _SMOOTH]


def begin_at(path: Path, index: int, *, t: float = 0.0) -> Path:
    """Return a closed path that begins at parameter t of one of its segments."""
    segments = path.segments
    rest = segments[index + 1 :] + segments[:index]
    if t <= 0.0:
        return Path((segments[index], *rest))
    if t >= 1.0:
        return Path((*rest, segments[index]))
    return Path((part(segments[index], t, 1.0), *rest, part(segments[index], 0.0, t)))


def is_dot(path: Path) -> bool:
    """Whether a path is a point: one line of no length."""
    return len(path.segments) == 1 and path.start == path.segments[0].at(0.5) == path.end


def chord_length(segment: Segment) -> float:
    """Return a segment's length (mm), that of curves along chords: a thousandth off at most."""
    if isinstance(segment, Bezier):
        points = [segment.start, *segment.points(TOLERANCE.search_chord)]
        return sum(math.dist(p, q) for p, q in pairwise(points))
    return segment_length(segment)


def circle(centre: Point, diameter: float) -> Path:
    """Return a circle, clockwise as the outline of a hole."""
    r = diameter / 2.0
    return Path((Arc(centre, (r, 0.0), (0.0, r), 0.0, -2.0 * math.pi),))


def as_beziers(arc: Arc) -> list[Bezier]:
    """Return an arc as cubic curves of at most 11.25°, within 1e-9 of its size."""
    n = max(1, math.ceil(abs(arc.sweep) / (math.pi / 16.0) - 1e-9))
    step = arc.sweep / n
    k = 4.0 / 3.0 * math.tan(step / 4.0)
    (cx, cy), (ux, uy), (vx, vy) = arc.centre, arc.u, arc.v
    out: list[Bezier] = []
    end, ahead = arc.start, (0.0, 0.0)
    for i in range(n + 1):
        c, s = math.cos(arc.begin + i * step), math.sin(arc.begin + i * step)
        start, back = end, ahead
        end = (cx + ux * c + vx * s, cy + uy * c + vy * s)
        ahead = (k * (vx * c - ux * s), k * (vy * c - uy * s))
        if i:
            first = (start[0] + back[0], start[1] + back[1])
            out.append(Bezier(start, first, (end[0] - ahead[0], end[1] - ahead[1]), end))
    return out
