"""How the parallels of two neighbours come together at a corner: mitred, cut off, or shortened."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nesting.pattern.parallel.segment import right_of
from nesting.pattern.path import Point

__all__ = ["HAIR", "MITRE", "Corner", "corner_at"]
MITRE = 4.0
"""Mitred corners longer than this many times the distance are cut off square there.

The number is the initial value of SVG's stroke-miterlimit (SVG 2, 13.5.4).
"""
HAIR = 1e-6
"""Ends nearer than this (mm) are simply joined."""
STRAIGHT = 1e-7
"""Neighbours whose tangents differ by less (radians) run on smoothly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """How the parallels of two neighbours come together.

    `points`: from the end of the first parallel to the start of the second, in order,
    where both have to be lengthened; None where one has to be shortened.
    `meets`: where the two straight parallels would meet, if they do.
    """

    points: tuple[Point, ...] | None
    meets: Point | None


def corner_at(
    point: Point, before: Point, after: Point, *, by: tuple[float, float], mitre: float = MITRE
) -> Corner:
    """Return how two parallels come together at a vertex.

    `before`, `after`: unit directions of the two segments there; `by`: the distances
    to the right of each.
    """
    w1, w2 = by
    cross = before[0] * after[1] - before[1] * after[0]
    dot = before[0] * after[0] + before[1] * after[1]
    e1, e2 = right_of(point, before, w1), right_of(point, after, w2)
    if dot > 0 and abs(cross) < STRAIGHT:
        return Corner(points=(e1, e2) if w1 != w2 else (e1,), meets=e1 if w1 == w2 else None)
    if dot > 0 and math.dist(e1, e2) < HAIR:
        return Corner(points=(e1, e2), meets=None)
    outside = cross * (w1 + w2) > 0
    if dot < 0 and abs(cross) < STRAIGHT:
        if not outside:
            return Corner(points=None, meets=None)
        return Corner(points=_cut_off(e1, e2, before, after, before, by, mitre), meets=None)
    # the point at distance w1 from one line and w2 from the other
    s1 = (w2 - w1 * dot) / cross  # along `before` from e1
    s2 = (w2 * dot - w1) / cross  # along `after` from e2
    meets = (e1[0] + s1 * before[0], e1[1] + s1 * before[1])
    if s1 < -1e-9 or s2 > 1e-9:
        return Corner(points=None, meets=meets)
    far = math.dist(point, meets)
    if far <= mitre * max(abs(w1), abs(w2)) * (1 + 1e-9):
        return Corner(points=(e1, meets, e2), meets=meets)
    towards = ((meets[0] - point[0]) / far, (meets[1] - point[1]) / far)
    return Corner(points=_cut_off(e1, e2, before, after, towards, by, mitre), meets=meets)


def _cut_off(
    e1: Point,
    e2: Point,
    before: Point,
    after: Point,
    towards: Point,
    by: tuple[float, float],
    mitre: float,
) -> tuple[Point, ...]:
    """Return the points of a corner cut off square at the mitre limit."""
    reach = mitre * max(abs(by[0]), abs(by[1]))
    own = [
        w * (d[1] * towards[0] - d[0] * towards[1])
        for w, d in zip(by, (before, after), strict=True)
    ]
    s1 = (reach - own[0]) / (before[0] * towards[0] + before[1] * towards[1])
    s2 = (reach - own[1]) / (after[0] * towards[0] + after[1] * towards[1])
    return (
        e1,
        (e1[0] + s1 * before[0], e1[1] + s1 * before[1]),
        (e2[0] + s2 * after[0], e2[1] + s2 * after[1]),
        e2,
    )
