"""The grain line as drawn: its direction, and which end its arrowheads say is up."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from shapely import LineString

from nesting.pattern.path import Path, Point
from nesting.tolerance import TOLERANCE

__all__ = ["GrainLine", "grain_line"]

_HEAD = 0.4
"""An arrowhead is no longer or wider than this share of its shaft."""
_NEAR = 0.3
"""A stroke within this share of the shaft about its end is no grain line of its own."""
_STRAIGHT = 1e-3
"""A run that is off a straight line by less than this share of its size is straight."""

Ends = tuple[Point, Point]
Stroke = tuple[Point, Point]


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainLine:
    """A direction in degrees, towards the end that is up if `up_known`.

    `heads`: how many ends have an arrowhead. `several`: there are others, shorter, that
    run another way.
    """

    direction: float
    heads: int
    several: bool

    @property
    def up_known(self) -> bool:
        """Whether one end, and one only, has an arrowhead."""
        return self.heads == 1


def grain_line(paths: Sequence[Path]) -> GrainLine:
    """Return the grain line among what is drawn for it: the longest straight run.

    Everything else near one of its ends may be an arrowhead there: strokes from the tip, a
    triangle at it or beyond it. A dot, a bar and a tail are none.
    """
    shafts = [_shaft(path) for path in paths]
    shaft = max(shafts, key=lambda ends: math.dist(*ends))
    turns = {
        round(_direction(ends) % 180.0, 3)
        for ends in shafts
        if ends is shaft or not _belongs(ends, shaft)
    }
    strokes = [stroke for path in paths for stroke in _strokes(path)]
    first, last = (_headed(tip, tail, strokes) for tip, tail in (shaft, shaft[::-1]))
    up = shaft[::-1] if first and not last else shaft
    return GrainLine(direction=_direction(up), heads=first + last, several=len(turns) > 1)


def _strokes(path: Path) -> Iterator[Stroke]:
    points = path.points(TOLERANCE.search_chord)
    yield from pairwise([*points, *(points[:1] if path.closed else ())])


def _shaft(path: Path) -> Ends:
    """Return the ends of the longest straight run of a path; of a crooked line, its own."""
    strokes = list(_strokes(path))
    line = LineString([strokes[0][0], *(end for _, end in strokes)])
    x0, y0, x1, y1 = line.bounds
    corners = list(line.simplify(_STRAIGHT * math.hypot(x1 - x0, y1 - y0)).coords)
    runs = [((a[0], a[1]), (b[0], b[1])) for a, b in pairwise(corners)]
    longest = max(runs, key=lambda run: math.dist(*run))
    if not path.closed and math.dist(*longest) < 0.5 * math.dist(path.start, path.end):
        return path.start, path.end
    return longest


def _belongs(ends: Ends, shaft: Ends) -> bool:
    """Tell whether a stroke is so short and near an end of the shaft that it is of its head."""
    reach = _NEAR * math.dist(*shaft)
    return any(all(math.dist(end, tip) <= reach for end in ends) for tip in shaft)


def _headed(tip: Point, tail: Point, strokes: Sequence[Stroke]) -> bool:
    """Tell whether what is drawn about the tip is narrow in front and wide behind."""
    long = math.dist(tip, tail)
    ux, uy = (tip[0] - tail[0]) / long, (tip[1] - tail[1]) / long
    head: list[tuple[float, float]] = []  # how far before the tip, how far beside the shaft
    for stroke in strokes:
        places = [
            ((x - tip[0]) * ux + (y - tip[1]) * uy, abs((y - tip[1]) * ux - (x - tip[0]) * uy))
            for x, y in stroke
        ]
        near = all(max(abs(along), beside) <= _HEAD * long for along, beside in places)
        if near and max(beside for _, beside in places) > 0.01 * long:
            head += places
    if not head:
        return False
    front, back = max(head)[0], min(head)[0]
    depth, wide = front - back, max(beside for _, beside in head)
    nose = max(beside for along, beside in head if along >= front - 0.1 * depth)
    heel = max(beside for along, beside in head if along <= back + 0.25 * depth)
    at_tip = front >= -0.1 * long
    return at_tip and depth > 0.2 * wide and nose <= 0.3 * wide and heel >= 0.6 * wide


def _direction(ends: Ends) -> float:
    (x0, y0), (x1, y1) = ends
    return math.degrees(math.atan2(y1 - y0, x1 - x0)) + 0.0
