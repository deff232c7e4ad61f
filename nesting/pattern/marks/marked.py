"""Whether what is made on a piece for a mark stays on the piece."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import shapely
from shapely.geometry.base import BaseGeometry

from nesting.pattern.marks.notch_shapes import notch_paths
from nesting.pattern.path import Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.polygon import piece_polygon
from nesting.tolerance import TOLERANCE

__all__ = ["beyond", "clipped", "marks_beyond"]


_STEPS = 200.0
"""What is off a piece is measured at so many places at least."""


@lru_cache(maxsize=4096)
def marks_beyond(piece: Piece) -> tuple[tuple[Mark, float], ...]:
    """Return the marks of a piece that reach beyond its outline or into a cut-out, and how far."""
    found = ((mark, beyond(mark, piece)) for mark in piece.marks)
    return tuple((mark, off) for mark, off in found if off > TOLERANCE.close)


def beyond(mark: Mark, piece: Piece) -> float:
    """Return how far (mm) what is cut or drawn for a mark reaches off its piece.

    A drill hole counts with its diameter, a notch with its depth and width, a text with
    its anchor. 0 within `TOLERANCE.close`.
    """
    area = piece_polygon(piece)
    made = _made(mark, piece)
    if made is None:
        return 0.0
    out = shapely.difference(made, _with_border(area))
    if out.is_empty:
        return 0.0
    # The farthest point of a line across a cut-out is in its middle.
    dense = shapely.segmentize(out, max(out.length / _STEPS, TOLERANCE.close))
    return float(shapely.distance(shapely.points(shapely.get_coordinates(dense)), area).max())


@lru_cache(maxsize=64)
def _with_border(area: BaseGeometry) -> BaseGeometry:
    return shapely.buffer(area, TOLERANCE.close)


def _made(mark: Mark, piece: Piece) -> BaseGeometry | None:
    """Return the lines or the disc that are made for a mark."""
    if mark.path is not None:
        return _line(mark.path)
    if mark.at is None:
        return None
    if mark.kind is MarkKind.NOTCH:
        strokes = notch_paths(mark, piece.cut)
        return shapely.MultiLineString([_line(path) for path in strokes])
    place = shapely.Point(mark.at)
    drilled = mark.kind is MarkKind.DRILL and mark.size > 0.0
    return shapely.buffer(place, mark.size / 2.0) if drilled else place


def _line(path: Path) -> shapely.LineString:
    points = path.points(TOLERANCE.chord)
    return shapely.LineString([*points, *(points[:1] if path.closed else ())])


def clipped(mark: Mark, piece: Piece) -> tuple[Mark, ...]:
    """Return a drawn line as far as it is on its piece: one mark for each bit of it."""
    if mark.path is None or not beyond(mark, piece):
        return (mark,)
    kept = shapely.line_merge(shapely.intersection(_line(mark.path), piece_polygon(piece)))
    runs = [run for run in getattr(kept, "geoms", [kept]) if run.length > TOLERANCE.close]
    return tuple(
        replace(
            mark,
            kind=MarkKind.LINE,
            path=Path.polyline([(x, y) for x, y, *_ in run.coords], closed=False),
        )
        for run in runs
        if math.isfinite(run.length)
    )
