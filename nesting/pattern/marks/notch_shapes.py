"""How each style of notch is cut or drawn, from edge to edge, and how deep.

Depths (common practice, no standard): a factory nick is 2 to 3 mm deep; a notch should
not reach further than half the seam allowance, or it may show.
"""

from __future__ import annotations

import math

from nesting.pattern.marks.notch import first_hit, notch_place
from nesting.pattern.path import Affine, Arc, Line, Path, Point, Segment
from nesting.pattern.piece import Mark, NotchStyle

__all__ = ["NOTCH_DEPTH", "NOTCH_WIDTH", "default_depth", "notch_paths"]
NOTCH_DEPTH = 3.0
"""Depth (mm) of a notch that states none, where the seam allowance has room for it."""
NOTCH_WIDTH = 3.0
"""Width at the edge (mm) of a notch that states none (a slit has none)."""


def default_depth(allowance: float | None) -> float:
    """Return the depth (mm) of a notch that states none: 3 mm, at most half the allowance.

    Common practice, no source.
    """
    return NOTCH_DEPTH if not allowance else min(NOTCH_DEPTH, allowance / 2.0)


def notch_paths(mark: Mark, cut: Path, *, allowance: float | None = None) -> tuple[Path, ...]:
    """Return how a notch is cut or drawn, from edge to edge, within the piece.

    slit: one line inwards. v: to a point and back. t: a slit and a bar across its end.
    castle: a box. check: one side square to the edge, the other slanted. u: a slot with
    a round end. `allowance` (mm) bounds the depth of a notch that states none.
    """
    place = notch_place(mark, cut)
    depth = mark.size if mark.size > 0.0 else default_depth(allowance)
    half = (mark.width if mark.width > 0.0 else NOTCH_WIDTH) / 2.0
    local = _local(mark.style, depth, half)
    # local axes: x along the edge, y into the piece
    (ix, iy), (x, y) = place.into, place.at
    side = -1.0 if mark.mirrored else 1.0
    frame = Affine(side * iy, ix, -side * ix, iy, x, y)
    open_ended = mark.style not in (NotchStyle.SLIT, NotchStyle.T)
    paths = [path.transformed(frame) for path in local]
    return tuple(_from_edge(path, cut, half) for path in paths) if open_ended else tuple(paths)


def _local(style: NotchStyle, depth: float, half: float) -> list[Path]:
    """Return a notch's strokes at the origin, the edge along x, the piece above it."""
    if style is NotchStyle.SLIT:
        return [_line((0.0, 0.0), (0.0, depth))]
    if style is NotchStyle.T:
        return [_line((0.0, 0.0), (0.0, depth)), _line((-half, depth), (half, depth))]
    if style is NotchStyle.V:
        return [_line((-half, 0.0), (0.0, depth), (half, 0.0))]
    if style is NotchStyle.CASTLE:
        return [_line((-half, 0.0), (-half, depth), (half, depth), (half, 0.0))]
    if style is NotchStyle.CHECK:
        return [_line((-half, 0.0), (-half, depth), (half, 0.0))]
    round_half = min(half, depth)
    low = depth - round_half
    arc = Arc((0.0, low), (half, 0.0), (0.0, round_half), math.pi, -math.pi)
    sides = (Line((-half, 0.0), (-half, low)), arc, Line((half, low), (half, 0.0)))
    return [Path(tuple(s for s in sides if not isinstance(s, Line) or s.start != s.end))]


def _line(*points: Point) -> Path:
    return Path.polyline(points, closed=False)


def _from_edge(path: Path, cut: Path, half: float) -> Path:
    """Return a stroke with both ends brought onto a cutting line that may be curved."""
    first, last = path.segments[0], path.segments[-1]
    segments: list[Segment] = list(path.segments)
    if isinstance(first, Line):
        segments[0] = Line(_brought(first.end, first.start, cut, half), first.end)
    if isinstance(last, Line):
        segments[-1] = Line(last.start, _brought(last.start, last.end, cut, half))
    return Path(tuple(segments))


def _brought(inner: Point, end: Point, cut: Path, half: float) -> Point:
    """Return where the line from inside the piece through `end` leaves it, near `end`."""
    size = math.dist(inner, end)
    out = ((end[0] - inner[0]) / size, (end[1] - inner[1]) / size)
    hit = first_hit(cut, inner, out)
    return hit if hit is not None and math.dist(hit, end) <= 2.0 * half else end
