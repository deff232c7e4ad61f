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
    if beside:
        return beside
    across = free(piece_polygon(piece, chord=_CHORD).buffer(-clear / 2.0))
    return _arrow_in(across, both, lettering)


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
    readable, middle = lettering.readable, area.centroid.y
    levels = y0 + np.linspace(0.05, 0.95, 19) * (y1 - y0)
    # All levels at once, and so below: one by one, most of the time went into the calls.
    ends = [[(x0, y), (x1, y)] for y in levels]
    parts, level = shapely.get_parts(
        shapely.intersection(area, shapely.linestrings(ends)), return_index=True
    )
    lines = (shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING) & ~shapely.is_empty(
        parts
    )
    parts, y = parts[lines], levels[level[lines]]
    first, last = (shapely.get_x(shapely.get_point(parts, i)) for i in (0, -1))
    a, b = np.minimum(first, last), np.maximum(first, last)
    long = b - a >= 1.6 * readable
    a, b, y = a[long], b[long], y[long]
    if not len(a):
        return None
    spots = shapely.points(
        np.stack([np.stack((a + f * (b - a), y), axis=1) for f in (0.3, 0.5, 0.7)])
    )
    room = shapely.distance(area.boundary, spots).min(axis=0)
    central = 1.0 - 0.5 * np.abs(y - middle) / (y1 - y0)
    score = np.minimum(b - a, 60.0 * readable) * np.minimum(1.0, room / readable) * central
    best = int(score.argmax())
    if score[best] <= 0.0:
        return None
    return float(a[best]), float(b[best]), float(y[best]), float(room[best])
