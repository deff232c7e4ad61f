"""Notches cut into an outline: narrow dents between two corners of it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from nesting.pattern.curves import Line, Segment
from nesting.pattern.path import Path, Point
from nesting.reading.pieces.notch import LONGEST_NOTCH

__all__ = ["without_dents"]

_WIDEST = 12.0
"""A dent that is wider at its mouth (mm) is part of the outline: common practice, no source."""
_LEAST = 1.5
"""A dent that is less deep (mm) is a nick."""
_STRAIGHT = math.radians(20.0)
"""The edge goes on behind a notch as it came, by no more than this turn."""


def without_dents(path: Path) -> tuple[Path, list[Path]]:
    """Return an outline without its notches, and each notch as it is cut: from the edge and back.

    A notch is of two straight sides (a V) or three (a box), narrow at the mouth, and leads into
    the piece.
    """
    segments = list(path.segments)
    inward = _inward(path)
    notches: list[Path] = []
    i = 0
    while i < len(segments) and len(segments) > 4:
        for count in (2, 3):
            around = [segments[(i + k) % len(segments)] for k in range(-1, count + 1)]
            if _is_dent(around, inward):
                ends = [side.start for side in around[1:-1]] + [around[-2].end]
                notches.append(Path.polyline(ends, closed=False))
                segments = _bridged(segments, i, count)
                break
        else:
            i += 1
    if not notches:
        return path, []
    return Path(tuple(segments)), notches


def _inward(path: Path) -> float:
    """Return 1 if the inside is on the left, else -1."""
    x, y = np.array(path.points(0.5)).T
    return 1.0 if float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0.0 else -1.0


def _is_dent(around: Sequence[Segment], inward: float) -> bool:
    before, *sides, after = around
    if not all(_straight(side) for side in sides):
        return False
    mouth = (sides[0].start, sides[-1].end)
    wide = math.dist(*mouth)
    if not 0.2 <= wide <= _WIDEST:
        return False
    way = ((mouth[1][0] - mouth[0][0]) / wide, (mouth[1][1] - mouth[0][1]) / wide)
    depths = [
        inward * (way[0] * (p[1] - mouth[0][1]) - way[1] * (p[0] - mouth[0][0]))
        for p in (side.end for side in sides[:-1])
    ]
    if min(depths) < _LEAST or not 0.4 * wide < max(depths) <= LONGEST_NOTCH:
        return False
    come, go = _way(before, last=True), _way(after, last=False)
    return max(_between(come, way), _between(way, go)) <= _STRAIGHT


def _straight(segment: Segment) -> bool:
    """Tell whether a side of a notch is straight, as far as so short a line tells."""
    if isinstance(segment, Line):
        return True
    (xa, ya), (xb, yb), (xm, ym) = segment.start, segment.end, segment.at(0.5)
    long = math.dist(segment.start, segment.end)
    bow = abs((xb - xa) * (ym - ya) - (yb - ya) * (xm - xa)) / max(long, 1e-9)
    return long <= 2.0 * LONGEST_NOTCH and bow < 0.12 * long


def _way(segment: Segment, *, last: bool) -> Point:
    a, b = (segment.at(t) for t in ((0.95, 1.0) if last else (0.0, 0.05)))
    long = math.dist(a, b) or 1.0
    return ((b[0] - a[0]) / long, (b[1] - a[1]) / long)


def _between(a: Point, b: Point) -> float:
    return abs(math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]))


def _bridged(segments: list[Segment], i: int, count: int) -> list[Segment]:
    """Return the segments with those of a notch left out, and its mouth closed."""
    total = len(segments)
    order = [segments[(i + k) % total] for k in range(total)]
    start, end = order[0].start, order[count - 1].end
    rest = order[count:]
    before, after = rest[-1], rest[0]
    if isinstance(before, Line) and isinstance(after, Line) and len(rest) > 2:
        turn = _between(_way(before, last=True), _way(after, last=False))
        if turn < math.radians(1.0):  # one edge, cut in two by the notch
            return [Line(before.start, after.end), *rest[1:-1]]
    return [Line(start, end), *rest]
