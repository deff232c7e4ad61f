"""The point of a path nearest to another, and the way inwards there."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from nesting.pattern.crossings import extremes
from nesting.pattern.path import Arc, Bezier, Line, Path, Point, Segment
from nesting.pattern.segment import derivative, direction

__all__ = ["Nearest", "inward", "nearest"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Nearest:
    """The point of a path nearest to another: on which segment, where on it, how far (mm)."""

    segment: int
    t: float
    point: Point
    distance: float


def nearest(path: Path, point: Point) -> Nearest:
    """Return the point of a path nearest to `point` (the first of several)."""
    best: Nearest | None = None
    for i, segment in enumerate(path.segments):
        if best is not None and _out_of_reach(segment, point, best.distance):
            continue
        for t in _candidates(segment, point):
            at = segment.at(t)
            distance = math.dist(at, point)
            if best is None or distance < best.distance:
                best = Nearest(segment=i, t=t, point=at, distance=distance)
    assert best is not None
    return best


def _out_of_reach(segment: Segment, point: Point, reach: float) -> bool:
    """Whether a segment's hull is certainly farther from the point than `reach`."""
    if isinstance(segment, Arc):
        size = math.hypot(*segment.u) + math.hypot(*segment.v)
        return math.dist(segment.centre, point) - size > reach
    hull = (
        (segment.start, segment.end)
        if isinstance(segment, Line)
        else (segment.start, segment.first, segment.second, segment.end)
    )
    xs, ys = [p[0] for p in hull], [p[1] for p in hull]
    dx = max(min(xs) - point[0], point[0] - max(xs), 0.0)
    dy = max(min(ys) - point[1], point[1] - max(ys), 0.0)
    return math.hypot(dx, dy) > reach


def _candidates(segment: Segment, point: Point) -> list[float]:
    """Return the parameters at which the distance to a point can be least."""
    if isinstance(segment, Line):
        dx, dy = derivative(segment, 0.0)
        n = dx * dx + dy * dy
        if n == 0.0:
            return [0.0]
        t = ((point[0] - segment.start[0]) * dx + (point[1] - segment.start[1]) * dy) / n
        return [min(1.0, max(0.0, t))]
    if isinstance(segment, Arc) and segment.radius is not None:
        away = (point[0] - segment.centre[0], point[1] - segment.centre[1])
        return extremes(segment, away)
    if isinstance(segment, Bezier):
        return _bezier_candidates(segment, point)
    return _searched(segment, point)


def _bezier_candidates(curve: Bezier, point: Point) -> list[float]:
    """Return the roots of (B − p)·B′, a polynomial of degree 5, and the ends."""
    p = np.array((curve.start, curve.first, curve.second, curve.end)) - np.array(point)
    bends = (p[3] - 3 * p[2] + 3 * p[1] - p[0], 3 * (p[2] - 2 * p[1] + p[0]))
    power = np.array([*bends, 3 * (p[1] - p[0]), p[0]])
    x, y = (np.polymul(power[:, k], np.polyder(power[:, k])) for k in (0, 1))
    roots = np.roots(np.polyadd(x, y))
    real = roots[np.abs(roots.imag) < 1e-6].real
    return [0.0, 1.0, *(float(t) for t in real if 0.0 < t < 1.0)]


def _searched(segment: Segment, point: Point) -> list[float]:
    """Return local minima of the distance by sampling, narrowed by golden section."""

    def off(t: float) -> float:
        return math.dist(segment.at(t), point)

    n = 64
    far = [off(i / n) for i in range(n + 1)]
    found = [0.0, 1.0]
    for i in range(1, n):
        if far[i] <= far[i - 1] and far[i] <= far[i + 1]:
            found.append(_golden(off, (i - 1) / n, (i + 1) / n))
    found += [_golden(off, 0.0, 1 / n), _golden(off, 1 - 1 / n, 1.0)]
    return found


def _golden(function: Callable[[float], float], low: float, high: float) -> float:
    share = (math.sqrt(5.0) - 1.0) / 2.0
    while high - low > 1e-10:
        a, b = high - share * (high - low), low + share * (high - low)
        if function(a) <= function(b):
            high = b
        else:
            low = a
    return (low + high) / 2


def inward(path: Path, place: Nearest) -> Point:
    """Return the unit normal to the left of the path there: into a counter-clockwise outline.

    At a corner the mean of the two sides.
    """
    n = len(path.segments)
    dx, dy = direction(path.segments[place.segment], place.t)
    neighbour: int | None = None
    if place.t <= 1e-9 and (place.segment > 0 or path.closed):
        neighbour = (place.segment - 1) % n
    elif place.t >= 1.0 - 1e-9 and (place.segment < n - 1 or path.closed):
        neighbour = (place.segment + 1) % n
    if neighbour is not None:
        ex, ey = direction(path.segments[neighbour], 1.0 if place.t < 0.5 else 0.0)
        if math.hypot(dx + ex, dy + ey) > 1e-6:
            dx, dy = dx + ex, dy + ey
    size = math.hypot(dx, dy)
    return (-dy / size, dx / size)
