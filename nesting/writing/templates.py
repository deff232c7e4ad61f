"""Pattern pieces as paper templates: each once, at true size, with its sewing line and marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.measure import bounds
from nesting.pattern.piece import Piece
from nesting.pattern.variant import upright
from nesting.writing.draw import draw
from nesting.writing.drawing import Drawing, Operation
from nesting.writing.tiles import PAPERS, Paper

__all__ = ["templates"]

_GAP = 5.0
"""Between templates on one sheet, mm."""
_EDGE = 2.1
"""What the frame has to be larger than what is on it, mm: the lines have a width."""


def templates(
    pieces: Sequence[Piece], *, paper: Paper = PAPERS["a4"], name: str = "Templates"
) -> tuple[Drawing, ...]:
    """Draw pieces to cut out as templates, grain level, for `print_drawings`.

    Small pieces share a sheet of the paper, on its side where they fit that, in rows,
    tallest first; a piece that is larger than the paper's frame has a drawing of its own,
    which is spread over sheets.
    """
    left = [upright(piece) for piece in pieces]
    drawings: list[Drawing] = []
    sheets: list[list[tuple[Piece, float, float]]] = []
    for sheet in (paper.turned, paper):
        width, height = sheet.frame_width - _EDGE, sheet.frame_height - _EDGE
        fitting = [p for p in left if _size(p)[0] <= width and _size(p)[1] <= height]
        left = [piece for piece in left if not any(piece is other for other in fitting)]
        sheets += _rows(fitting, width, height)
    for piece in left:
        drawings.append(_drawn([(piece, 0.0, 0.0)], f"{name}: {piece.name}"))
    for number, placed in enumerate(sheets, start=1):
        drawings.append(_drawn(placed, f"{name}, sheet {number}"))
    return tuple(drawings)


def _size(piece: Piece) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(piece.cut)
    return x1 - x0, y1 - y0


def _rows(
    pieces: Sequence[Piece], width: float, height: float
) -> list[list[tuple[Piece, float, float]]]:
    """Put pieces in rows on sheets: (piece, x, y) of their lower left corners, y upwards."""
    sheets: list[list[tuple[Piece, float, float]]] = []
    x = y = row = 0.0
    for piece in sorted(pieces, key=lambda p: -_size(p)[1]):
        w, h = _size(piece)
        if x and x + w > width:
            x, y = 0.0, y + row + _GAP
            row = 0.0
        if not sheets or y + h > height:
            sheets.append([])
            x = y = row = 0.0
        sheets[-1].append((piece, x, y))
        x, row = x + w + _GAP, max(row, h)
    return sheets


def _drawn(placed: Sequence[tuple[Piece, float, float]], name: str) -> Drawing:
    """Draw pieces as if they were a marker's parts, with their sewing lines."""
    parts, placements, far = [], [], 0.0
    for i, (piece, x, y) in enumerate(placed):
        x0, y0, _, y1 = bounds(piece.cut)
        parts.append(Part(name=piece.name, piece=piece, turns=Turns(angles=(0.0,))))
        placements.append(Placement(part=i, x=x - x0, y=y - y0))
        far = max(far, y + y1 - y0)
    lay = Lay(name=name, parts=tuple(parts), stock=Strip(width=max(far, 1.0)))
    drawing = draw(Marker(lay=lay, placements=tuple(placements)), sew=True)
    strokes = tuple(s for s in drawing.strokes if s.operation is not Operation.EDGE)
    return replace(drawing, strokes=strokes)
