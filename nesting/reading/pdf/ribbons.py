"""Lines that a program has turned into filled shapes: their middles are meant.

A closed line becomes a ring, an open one a narrow shape. Neither edge of it is what was drawn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from shapely import LinearRing, Polygon, STRtree, distance, get_coordinates, points
from shapely.errors import GEOSException

from nesting.errors import PatternError
from nesting.pattern.measure import bounds, counter_clockwise, length
from nesting.pattern.parallel.allowance import sewing_line
from nesting.pattern.path import Line, Path
from nesting.reading.pdf.page import Stroke

__all__ = ["as_lines"]

WIDEST = 3.0
"""Widest line (mm) that is taken for one: own choice, wider than any pen."""
_FINE = 0.02
_SAME = 0.25
"""By what share of its width a ring may be wider and narrower in places."""
_MOST = 2_000
"""Filled shapes of a page that are looked at."""
_SAMPLES = 400
_LEAST = 40.0
"""Longest side (mm) of rings that may be letters, and stay what they are."""
_CHORD = 0.02


def as_lines(strokes: Sequence[Stroke]) -> list[Stroke]:
    """Return the strokes, filled rings and straight filled bars as the lines in their middle."""
    filled = [i for i, one in enumerate(strokes) if one.ground and not one.colour][:_MOST]
    areas = {i: area for i in filled if (area := _area(strokes[i].path)) is not None}
    keys = list(areas)
    tree = STRtree([areas[i] for i in keys])
    out: dict[int, Path | None] = {}
    for i in keys:
        if i in out:
            continue
        if (bar := _bar(strokes[i].path)) is not None:
            out[i] = bar
            continue
        inside = (keys[k] for k in map(int, tree.query(areas[i], predicate="contains")))
        for j in inside:
            if j == i or j in out or strokes[j].ground != strokes[i].ground:
                continue
            width = _width(areas[i], areas[j])
            if width is not None:
                out[i], out[j] = _middle(strokes[i].path, areas[i], width / 2.0), None
                break
    found = []
    for i, one in enumerate(strokes):
        path = out.get(i, one.path)
        if path is one.path:
            found.append(one)
        elif path is not None:
            found.append(replace(one, path=path, colour=one.ground, ground=""))
    return found


def _area(path: Path) -> Polygon | None:
    """Return the area of a path that is large enough for a line, None of others."""
    x0, y0, x1, y1 = bounds(path)
    if not path.closed or math.hypot(x1 - x0, y1 - y0) < _LEAST:
        return None
    try:
        area = Polygon(path.points(_FINE))
    except (ValueError, GEOSException):
        return None
    return area if area.is_valid and area.area > 0.0 else None


def _width(outer: Polygon, inner: Polygon) -> float | None:
    """Return how wide the ring between two outlines is, None if that differs or is too much."""
    width = 2.0 * (outer.area - inner.area) / (outer.length + inner.length)
    if not 0.0 < width <= WIDEST:
        return None
    edge = outer.exterior
    places = get_coordinates(inner.exterior)
    off = distance(edge, points(places[:: 1 + len(places) // _SAMPLES]))
    even = (1.0 - _SAME) * width <= off.min() and off.max() <= (1.0 + _SAME) * width
    return width if even else None


def _middle(path: Path, area: Polygon, inwards: float) -> Path:
    """Return the line so far inside an outline: with its curves where that is possible."""
    plain = area.buffer(-inwards, join_style="mitre", mitre_limit=10.0)
    try:
        found = sewing_line(counter_clockwise(path), inwards)
        same = Polygon(found.points(_FINE)).symmetric_difference(plain).area
        if same <= _CHORD * plain.length:
            return found
    except (PatternError, ValueError, GEOSException):
        pass
    ring = get_coordinates(LinearRing(plain.exterior).simplify(_CHORD / 4.0))
    corners = [(float(x), float(y)) for x, y in ring]
    return Path(tuple(Line(a, b) for a, b in pairwise(corners)))


def _bar(path: Path) -> Path | None:
    """Return the middle of a straight bar that is a line, None of other shapes."""
    sides = path.segments
    if len(sides) != 4 or not all(isinstance(side, Line) for side in sides):
        return None
    long = sorted(range(4), key=lambda k: -math.dist(sides[k].start, sides[k].end))
    one, other = sides[long[0]], sides[long[1]]
    wide = max(math.dist(sides[k].start, sides[k].end) for k in long[2:])
    if (long[0] - long[1]) % 2 or wide > WIDEST or length(path) < 20.0 * wide:
        return None
    ends = [
        ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)
        for a, b in ((one.start, other.end), (one.end, other.start))
    ]
    return Path((Line(*ends),))
