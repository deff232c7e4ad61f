"""The grain of a part as an arrow, where there is room for one."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry as Area

from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon
from nesting.writing.neutral.lettering import Lettering, free_of_marks

__all__ = ["grain_arrow"]

_CHORD = 0.1  # mm: for finding room, not for cutting


def grain_arrow(
    piece: Piece, *, both: bool, lettering: Lettering, avoid: Sequence[Area] = ()
) -> tuple[Path, ...]:
    """Return an arrow along the grain (+x), clear of what is written; none if there is no room.

    Parameters
    ----------
    piece
        The part's piece; its marks are kept clear of if there is room beside them.
    both
        A head at either end: the piece may lie upside down.
    avoid
        What it must not cross, in the piece's coordinates (mm).
    lettering
        How large things are drawn.

    """
    return _grain_arrow(piece, both, tuple(avoid), lettering)


@lru_cache(maxsize=4096)
def _grain_arrow(
    piece: Piece, both: bool, avoid: tuple[Area, ...], lettering: Lettering
) -> tuple[Path, ...]:
    clear = lettering.clear
    taken = shapely.union_all(avoid).buffer(clear) if avoid else None

    def free(area: Area) -> Area:
        return area if taken is None else area.difference(taken)

    beside = _arrow_in(free(free_of_marks(piece, clear=clear)), both, lettering)
    across = free(piece_polygon(piece, chord=_CHORD).buffer(-clear / 2.0))
    return beside or _arrow_in(across, both, lettering)


def _arrow_in(free: Area, both: bool, lettering: Lettering) -> tuple[Path, ...]:
    """Return the arrow that an area has room for."""
    chord = _longest_chord(free, lettering)
    if chord is None:
        return ()
    x0, x1, y, room = chord
    length = min(0.8 * (x1 - x0), 30.0 * lettering.readable)
    side = min(0.12 * length, 0.6 * lettering.readable, max(room, 0.3))
    for _ in range(6):
        arrow = _arrow(((x0 + x1) / 2.0, y), length, side, both)
        if all(free.contains(LineString(path.points(_CHORD))) for path in arrow):
            return arrow
        length, side = 0.8 * length, 0.6 * side
    return ()


def _arrow(middle: Point, length: float, side: float, both: bool) -> tuple[Path, ...]:
    """Return an arrow along x: its shaft and its heads, which reach `side` off the shaft."""
    x, y = middle
    start, end = (x - length / 2.0, y), (x + length / 2.0, y)
    paths = [Path.polyline([start, end], closed=False), _head(end, -side)]
    if both:
        paths.append(_head(start, side))
    return tuple(paths)


def _head(tip: Point, side: float) -> Path:
    x, y = tip
    back = x + 2.5 * side
    return Path.polyline([(back, y + abs(side)), tip, (back, y - abs(side))], closed=False)


def _longest_chord(area: Area, lettering: Lettering) -> tuple[float, float, float, float] | None:
    """Return a chord along x that is long, central, with room: x0, x1, y, room (mm)."""
    if area.is_empty:
        return None
    x0, y0, x1, y1 = area.bounds
    readable, border = lettering.readable, area.boundary
    middle, best, best_score = area.centroid.y, None, 0.0
    for share in np.linspace(0.05, 0.95, 19):
        y = float(y0 + share * (y1 - y0))
        for part in shapely.get_parts(area.intersection(LineString([(x0, y), (x1, y)]))):
            if part.geom_type != "LineString" or part.is_empty:
                continue
            (a, _), (b, _) = part.coords[0], part.coords[-1]
            a, b = min(a, b), max(a, b)
            if b - a < 1.6 * readable:
                continue
            spots = [shapely.Point(a + f * (b - a), y) for f in (0.3, 0.5, 0.7)]
            room = min(border.distance(spot) for spot in spots)
            central = 1.0 - 0.5 * abs(y - middle) / (y1 - y0)
            score = min(b - a, 60.0 * readable) * min(1.0, room / readable) * central
            if score > best_score:
                best, best_score = (a, b, y, room), score
    return best
