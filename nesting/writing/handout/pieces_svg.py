"""Pieces as SVG at true scale: one group for a piece, everything in it classed by what it is.

1 user unit is 1 mm. Curves stay curves. Marks for chosen copies, hands or materials are
drawn like the others, and fold-back lines, motifs and named points are not.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from xml.sax.saxutils import escape, quoteattr

from nesting.pattern.marks.capitals import CAPITALS
from nesting.pattern.marks.notch import notch_place
from nesting.pattern.marks.notch_shapes import NOTCH_DEPTH
from nesting.pattern.measure import bounds
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.svg_path import format_path
from nesting.writing.files import one_line

__all__ = ["pieces_svg"]

_GAP = 20.0
_WIDEST = 1500.0
_STYLE = (
    "path,line,circle{fill:none;stroke:#000;stroke-width:.3}"
    ".sew{stroke-dasharray:4 2}.grain,.fold{stroke:#2f6f73}.mark{stroke:#666}"
    "text{font-family:sans-serif}"
)


def pieces_svg(
    pieces: Sequence[Piece], *, quantities: Mapping[str, tuple[int, int]] | None = None
) -> str:
    """Return pieces as SVG, side by side, in mm."""
    moves, width, height = _places(pieces)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(height)}mm" '
        f'viewBox="0 0 {_n(width)} {_n(height)}">',
        f"<style>{_STYLE}</style>",
    ]
    for i, (piece, move) in enumerate(zip(pieces, moves, strict=True), start=1):
        lines += _group(piece, i, move, (quantities or {}).get(piece.name))
    return "\n".join([*lines, "</svg>"]) + "\n"


def _places(pieces: Sequence[Piece]) -> tuple[list[Point], float, float]:
    """Return how far each piece is moved (y down), in rows, and the size of the drawing."""
    moves: list[Point] = []
    x = y = row = widest = 0.0
    for piece in pieces:
        x0, y0, x1, y1 = bounds(piece.cut)
        if x > 0.0 and x + x1 - x0 > _WIDEST:
            x, y, row = 0.0, y + row + _GAP, 0.0
        moves.append((x + _GAP - x0, y + _GAP + y1))
        x += x1 - x0 + _GAP
        row, widest = max(row, y1 - y0), max(widest, x)
    return moves, widest + _GAP, y + row + 2 * _GAP


def _group(
    piece: Piece, serial: int, move: Point, quantity: tuple[int, int] | None
) -> Iterator[str]:
    yield f'<g id="piece-{serial}" transform="translate({_n(move[0])} {_n(move[1])})">'
    yield f"<title>{escape(one_line(piece.name))}</title>"
    yield _path("cut", piece.cut)
    for hole in piece.holes:
        yield _path("hole", hole)
    if piece.sew is not None:
        yield _path("sew", piece.sew)
    x0, y0, x1, y1 = bounds(piece.cut)
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    turn, half = Affine.turn(piece.grain), min(x1 - x0, y1 - y0) / 3
    yield _line(
        "grain",
        (middle[0] - half * turn.a, middle[1] - half * turn.c),
        (middle[0] + half * turn.a, middle[1] + half * turn.c),
    )
    if piece.fold is not None:
        yield _line("fold", *piece.fold)
    for mark in piece.marks:
        yield from _mark(mark, piece)
    if quantity is not None:
        said = f"Quantity: {quantity[0]},{quantity[1]}"
        yield _text(said, middle, 8.0, 0.0)
    yield "</g>"


def _mark(mark: Mark, piece: Piece) -> Iterator[str]:
    label = f" aria-label={quoteattr(one_line(mark.name))}" if mark.name else ""
    if mark.kind is MarkKind.NOTCH and mark.at is not None:
        into = notch_place(mark, piece.cut).into
        depth = mark.size or NOTCH_DEPTH
        x, y = mark.at
        tip = (x + depth * into[0], y + depth * into[1])
        said = f' data-depth="{_n(mark.size)}" data-width="{_n(mark.width)}"'
        said += ' data-angle="square"' if mark.angle is None else ""
        yield _line(f"notch {mark.style.value}", mark.at, tip, extra=said + label)
    elif mark.kind is MarkKind.DRILL and mark.at is not None:
        x, y = mark.at
        yield f'<circle class="drill" cx="{_n(x)}" cy="{_n(-y)}" r="{_n(mark.size / 2)}"{label}/>'
    elif mark.kind is MarkKind.TEXT and mark.at is not None:
        yield _text(mark.text, mark.at, mark.size or 6.0, mark.angle or 0.0)
    elif mark.path is not None:
        role = {"stripe line": "stripe", "plaid line": "plaid"}.get(mark.name, "mark")
        yield _path(role, mark.path, extra=label if role == "mark" else "")


def _path(role: str, path: Path, *, extra: str = "") -> str:
    return f'<path class="{role}" d="{format_path(path.transformed(Affine.mirror()))}"{extra}/>'


def _line(role: str, start: Point, end: Point, *, extra: str = "") -> str:
    values = {"x1": start[0], "y1": -start[1], "x2": end[0], "y2": -end[1]}
    said = " ".join(f'{key}="{_n(value)}"' for key, value in values.items())
    return f'<line class="{role}" {said}{extra}/>'


def _text(text: str, at: Point, height: float, angle: float) -> str:
    """Write a line about its middle; the base line lies half its capitals' height below."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    x, y = at[0] + 0.5 * height * s, at[1] - 0.5 * height * c
    turn = f' transform="rotate({_n(-angle)} {_n(x)} {_n(-y)})"' if angle else ""
    return (
        f'<text class="text" x="{_n(x)}" y="{_n(-y)}" text-anchor="middle" '
        f'font-size="{_n(height / CAPITALS)}"{turn}>'
        f"{escape(one_line(text))}</text>"
    )


def _n(value: float) -> str:
    if not math.isfinite(value):
        raise ValueError("a coordinate is not finite")
    text = repr(float(value) + 0.0)
    return text[:-2] if text.endswith(".0") else text
