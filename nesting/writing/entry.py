"""Where a tool enters each contour: away from corners, and near the ones before and after."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from nesting.pattern.path import Path, Point
from nesting.writing.contour import begin_at, chord_length, corners

__all__ = ["Way", "chosen", "ways"]

_MOST = 12
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
    starts = np.concatenate(([0.0], np.cumsum(sizes)))
    sharp = [float(starts[i]) for i, _ in corners(path)]
    places = [total * (k + 0.5) / _MOST for k in range(_MOST)]
    places += [starts[i] + sizes[i] / 2.0 for i in np.argsort(sizes)[-4:]]
    found = []
    for place in places:
        i = min(int(np.searchsorted(starts, place, side="right")) - 1, len(sizes) - 1)
        t = (place - starts[i]) / sizes[i] if sizes[i] else 0.0
        point = path.segments[i].at(t)
        room = min((_around(place - s, total) for s in sharp), default=math.inf)
        room = min([room, *(math.dist(point, p) for p in avoid)])
        found.append((room, Way(start=point, end=point, segment=i, t=float(t))))
    good = [way for room, way in found if room >= _CLEAR]
    return good or [max(found, key=lambda pair: pair[0])[1]]


def _around(distance: float, total: float) -> float:
    return min(abs(distance), total - abs(distance))


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
