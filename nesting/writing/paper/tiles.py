"""How a drawing is spread over sheets of paper."""

from __future__ import annotations

import math
from dataclasses import replace

from shapely import box, unary_union
from shapely.geometry import LineString, MultiPoint
from shapely.geometry.base import BaseGeometry
from shapely.prepared import prep

from nesting.amounts import METRIC, Amounts
from nesting.errors import WriteError
from nesting.limits import MOST_SHEETS
from nesting.pattern.polygon import polygon
from nesting.tolerance import TOLERANCE
from nesting.writing.neutral.drawing import Drawing, Operation
from nesting.writing.paper.papers import Paper
from nesting.writing.paper.tiling import Join, Tile, Tiling

__all__ = ["printed", "tiled"]

SHORTEST = 240.0
"""Shortest page of a roll (mm): the check squares have to go on it."""


_WIDEST = 60.0
"""Overlap of sheets at most, mm."""


def tiled(
    drawing: Drawing, paper: Paper, *, overlap: float = 10.0, amounts: Amounts = METRIC
) -> Tiling:
    """Spread a drawing over sheets, upright or on their side, whichever takes fewer.

    Parameters
    ----------
    drawing
        What to print; its edges and repeat lines alone make no tile. One that has only notes
        to say takes none.
    paper
        The sheets.
    overlap
        By how much neighbours show the same (mm); 0 joins them butt.
    amounts
        How lengths are told.

    Raises
    ------
    WriteError
        The overlap can't be, or there is nothing to print.

    """
    if not 0.0 <= overlap <= _WIDEST:
        raise WriteError(
            f"an overlap of {amounts.tool(overlap)} can't be",
            hint=f"0 to {amounts.room(_WIDEST)}; {amounts.size(10.0)} is usual",
        )
    shape = printed(drawing)
    if shape.is_empty and drawing.notes:
        return Tiling(paper=paper, tiles=(), joins=(), rows=0, columns=0, overlap=overlap)
    if shape.is_empty:
        raise WriteError("there is nothing to print")
    upright, level = _spread(shape, paper, overlap), _spread(shape, paper.turned, overlap)
    return level if _paper_used(level) < _paper_used(upright) else upright


def _paper_used(tiling: Tiling) -> tuple[int, float]:
    return len(tiling.tiles), round(tiling.paper.width * tiling.paper.height)


_PAD = 1.0
"""Room for the width of lines around the drawing, mm."""


def printed(drawing: Drawing) -> BaseGeometry:
    """Return everything that needs paper: lines, and the whole insides of parts."""
    shapes: list[BaseGeometry] = []
    for stroke in drawing.strokes:
        if stroke.operation is Operation.EDGE:
            continue
        points = stroke.path.points(TOLERANCE.search_chord)
        if stroke.operation is Operation.CUT and stroke.path.closed and len(points) > 2:
            shapes.append(polygon(stroke.path, chord=TOLERANCE.search_chord).buffer(0.0))
        elif len(points) > 1:
            shapes.append(LineString(points))
    spots = [hole.at for hole in drawing.holes] + [
        label.at for label in drawing.labels if label.operation is not Operation.EDGE
    ]
    shapes.append(MultiPoint(spots))
    return unary_union(shapes)


def _spread(shape: BaseGeometry, paper: Paper, overlap: float) -> Tiling:
    x0, y0, x1, y1 = shape.bounds
    x0, y0, x1, y1 = x0 - _PAD, y0 - _PAD, x1 + _PAD, y1 + _PAD
    if paper.open_length:
        paper = _cut_to(paper, (x1 - x0) if paper.width > paper.height else (y1 - y0))
    width, height = paper.frame_width, paper.frame_height
    columns, rows = _count(x1 - x0, width, overlap), _count(y1 - y0, height, overlap)
    if columns * rows > 10 * MOST_SHEETS:
        raise _too_many(columns * rows)
    found: dict[tuple[int, int], Tile] = {}
    whole = Tiling(paper=paper, tiles=(), joins=(), rows=rows, columns=columns, overlap=overlap)
    ready = prep(shape)
    for row in range(rows):
        for column in range(columns):
            tile = Tile(
                row=row,
                column=column,
                x=x0 + column * (width - overlap),
                y=y1 - height - row * (height - overlap),
                width=width,
                height=height,
            )
            if ready.intersects(box(*whole.cell(tile))):
                found[row, column] = tile
    if len(found) > MOST_SHEETS:
        raise _too_many(len(found))
    joins = [
        _join(whole, tile, found[other])
        for (row, column), tile in found.items()
        for other in ((row, column + 1), (row + 1, column))
        if other in found
    ]
    return replace(whole, tiles=tuple(found.values()), joins=tuple(joins))


def _too_many(sheets: int) -> WriteError:
    return WriteError(
        f"the drawing would take {sheets:,} sheets, at most {MOST_SHEETS:,} are printed",
        hint="print it on a roll, or cut it by machine",
    )


def _cut_to(paper: Paper, length: float) -> Paper:
    """Return a roll's page no longer than what is on it, the check squares at least."""
    long_side = max(paper.frame_width, paper.frame_height)
    spare = long_side - max(min(length, long_side), SHORTEST)
    if paper.width > paper.height:
        return replace(paper, width=paper.width - spare, frame_width=long_side - spare)
    return replace(paper, height=paper.height - spare, frame_height=long_side - spare)


def _count(size: float, frame: float, overlap: float) -> int:
    """Return ceil((L − o) / (p − o)), at least 1."""
    return max(1, math.ceil((size - overlap) / (frame - overlap) - 1e-9))


def _join(tiling: Tiling, tile: Tile, other: Tile) -> Join:
    x0, y0, x1, y1 = tiling.cell(tile)
    if other.column > tile.column:
        return Join(x0=x1, y0=y0, x1=x1, y1=y1, names=(tile.name, other.name))
    return Join(x0=x0, y0=y0, x1=x1, y1=y0, names=(tile.name, other.name))
