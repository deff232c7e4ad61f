"""Where two segments cross."""

from __future__ import annotations

import math
from itertools import pairwise

from shapely import LineString, STRtree

from nesting.pattern.crossings import crossings
from nesting.pattern.path import Line, Segment
from nesting.pattern.segment import derivative

__all__ = ["meeting"]

COARSE = 0.05
"""Chords (mm) on which crossings of two curves are first looked for."""


def meeting(a: Segment, b: Segment) -> list[tuple[float, float]]:
    """Return the parameters (on a, on b) at which two segments cross, rising on a.

    Crossings with a line are in closed form; of two curves they are found on chords
    and polished by Newton's method, so that two crossings nearer than a chord's
    height (0.05 mm) may be missed. Segments that overlap cross nowhere.
    """
    if isinstance(a, Line):
        return sorted((u, t) for t, u in _on_line(b, a))
    if isinstance(b, Line):
        return _on_line(a, b)
    return _on_curves(a, b)


def _on_line(curve: Segment, line: Line) -> list[tuple[float, float]]:
    """Return the parameters (on curve, on line)."""
    dx, dy = derivative(line, 0.0)
    n = dx * dx + dy * dy
    out: list[tuple[float, float]] = []
    if n == 0.0:
        return out
    for t in crossings(curve, line.start, line.end):
        x, y = curve.at(t)
        u = ((x - line.start[0]) * dx + (y - line.start[1]) * dy) / n
        if -1e-9 <= u <= 1.0 + 1e-9:
            out.append((t, min(1.0, max(0.0, u))))
    return out


def _on_curves(a: Segment, b: Segment) -> list[tuple[float, float]]:
    chords_a = [LineString(ends) for ends in pairwise((a.start, *a.points(COARSE)))]
    chords_b = [LineString(ends) for ends in pairwise((b.start, *b.points(COARSE)))]
    pairs = STRtree(chords_b).query(chords_a, predicate="dwithin", distance=COARSE)
    found: list[tuple[float, float]] = []
    for i, j in pairs.T.tolist():
        polished = _polished(a, b, (i + 0.5) / len(chords_a), (j + 0.5) / len(chords_b))
        if polished and all(abs(polished[0] - t) > 1e-9 for t, _ in found):
            found.append(polished)
    return sorted(found)


def _polished(a: Segment, b: Segment, t: float, u: float) -> tuple[float, float] | None:
    """Return the crossing near two parameters by Newton's method."""
    for _ in range(20):
        (px, py), (qx, qy) = a.at(t), b.at(u)
        rx, ry = qx - px, qy - py
        (ax, ay), (bx, by) = derivative(a, t), derivative(b, u)
        det = ay * bx - ax * by
        if abs(det) <= 1e-12 * math.hypot(ax, ay) * math.hypot(bx, by):
            return None
        dt, du = (ry * bx - rx * by) / det, (ax * ry - ay * rx) / det
        t, u = t + dt, u + du
        if not (-0.5 <= t <= 1.5 and -0.5 <= u <= 1.5):
            return None
        if abs(dt) < 1e-14 and abs(du) < 1e-14:
            break
    inside = -1e-9 <= t <= 1 + 1e-9 and -1e-9 <= u <= 1 + 1e-9
    t, u = min(1.0, max(0.0, t)), min(1.0, max(0.0, u))
    return (t, u) if inside and math.dist(a.at(t), b.at(u)) < 1e-7 else None
