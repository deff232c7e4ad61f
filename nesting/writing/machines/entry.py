"""Where a tool enters each contour: away from corners, and near the ones before and after."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

import numpy as np

from nesting.pattern.path import Path, Point
from nesting.writing.machines.contour import begin_at, chord_length, corners

__all__ = ["Way", "chosen", "ways"]

_MOST = 12
_LONGEST = 4
_CLEAR = 5.0
"""Entries keep this far (mm) from corners where the contour is long enough."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way to run a path: from `start` to `end`. `segment`, `t`: where a contour is entered."""

    start: Point
    end: Point
    segment: int = 0
    t: float = 0.0
    backwards: bool = False

    def of(self, path: Path) -> Path:
        """Return the path run this way."""
        if self.backwards:
            return path.reversed()
        return begin_at(path, self.segment, t=self.t) if self.segment or self.t else path


def ways(path: Path, *, avoid: Sequence[Point] = ()) -> list[Way]:
    """Return the ways to run a path: both directions of an open one, entries of a contour.

    `avoid`: points (mm) to keep away from as from corners, such as the feet of notches.
    """
    if not path.closed:
        there, back = path.start, path.end
        return [Way(start=there, end=back), Way(start=back, end=there, backwards=True)]
    sizes = [chord_length(segment) for segment in path.segments]
    total = sum(sizes)
    if total <= 0.0:
        return [Way(start=path.start, end=path.end)]
    starts = [0.0, *accumulate(sizes)]
    sharp = [starts[i] for i, _ in corners(path)]
    # Evenly round the contour, and in the middle of the longest segments.
    spots = []
    for k in range(_MOST):
        place = total * (k + 0.5) / _MOST
        i = min(bisect_right(starts, place) - 1, len(sizes) - 1)
        spots.append((place, i, (place - starts[i]) / sizes[i] if sizes[i] else 0.0))
    longest = sorted(range(len(sizes)), key=sizes.__getitem__)[-_LONGEST:]
    spots += [(starts[i] + sizes[i] / 2.0, i, 0.5) for i in longest]
    found = []
    for place, i, t in spots:
        gaps = [abs(place - s) for s in sharp]
        room = min((min(gap, total - gap) for gap in gaps), default=math.inf)
        point = path.segments[i].at(t)
        for p in avoid:
            room = min(room, math.dist(point, p))
        found.append((room, Way(start=point, end=point, segment=i, t=t)))
    good = [way for room, way in found if room >= _CLEAR]
    return good or [max(found, key=lambda pair: pair[0])[1]]


def chosen(choices: Sequence[Sequence[Way]], *, start: Point | None = None) -> list[Way]:
    """Return one way of each, in the order given, such that the travel between is least.

    Exact: a shortest path through the layers of choices (dynamic programming).
    """
    if not choices:
        return []
    cost = np.zeros(len(choices[0]))
    if start is not None:
        cost = np.array([math.dist(start, way.start) for way in choices[0]])
    back = []
    for before, after in pairwise(choices):
        ends = np.array([way.end for way in before])
        starts = np.array([way.start for way in after])
        sums = cost[:, None] + np.hypot(*(ends[:, None] - starts[None]).transpose(2, 0, 1))
        back.append(sums.argmin(axis=0))
        cost = sums.min(axis=0)
    at = int(cost.argmin())
    picked = [at]
    for step in reversed(back):
        at = int(step[at])
        picked.append(at)
    return [ways[i] for ways, i in zip(choices, reversed(picked), strict=True)]
