r"""Pieces as sewn-product DXF: a block for a piece, layers that are numbers.

It follows the layer plan of the withdrawn ASTM D6673-10 (`pattern.sewn_layers`), in DXF
R12 with 7-bit text; letters beyond that as ``\U+XXXX`` (DXF reference). The layer plan
has no curves: they are chords, whose corners are turn points and whose other vertices
are curve points. It has no place for which cuts, hands or face a mark is for, nor for
fold-back lines, motifs and named points: `reading.pieces_file` keeps those. Pieces are
written whole, not as halves with a mirror line.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from nesting.pattern import sewn_layers as plan
from nesting.pattern.edges import corners
from nesting.pattern.measure import bounds
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.variants.transform import transformed
from nesting.writing.files import one_line

__all__ = ["sewn_dxf"]

_CHORD = 0.05
"""Farthest (mm) of a chord from the curve: what cutters resolve; common practice, no source."""
_TEXT = 5.0
"""Height of text, mm: 3.5 or 5 is recommended (a guide to the layer plan, by public notes)."""
_LONGEST_BLOCK_NAME = 31
"""DXF R12 allows capitals, digits, ``$``, ``-`` and ``_`` (DXF reference)."""


def sewn_dxf(
    pieces: Sequence[Piece],
    *,
    style: str = "",
    quantities: Mapping[str, tuple[int, int]] | None = None,
    materials: Mapping[str, str] | None = None,
    sizes: Mapping[str, tuple[str, str]] | None = None,
    sample: str = "",
    inches: bool = False,
    minimal: bool = False,
    chord: float = _CHORD,
) -> str:
    """Return pieces as sewn-product DXF.

    Parameters
    ----------
    pieces
        Each becomes a block, in its own coordinates.
    style
        The name of the style.
    quantities
        By the piece's name: how many right and left ones.
    materials
        By the piece's name: what it is cut from.
    sizes
        By the piece's name: which piece it is in which size, where a pattern has several.
    sample
        Which of them is the sample size.
    inches
        Write ``Units: ENGLISH`` and inches instead of ``METRIC`` and mm.
    minimal
        Leave HEADER and TABLES empty, as some readers want it.
    chord
        Farthest of a chord from the curve, mm.

    """
    names = _block_names(pieces)
    by = Affine.scale(1.0 / 25.4) if inches else Affine()
    tags: list[object] = []
    tags += _head(inches=inches, minimal=minimal)
    tags += [0, "SECTION", 2, "BLOCKS"]
    for piece, name in zip(pieces, names, strict=True):
        named, size = (sizes or {}).get(piece.name, (piece.name, ""))
        fields = [f"Piece Name: {_ascii(named)}"]
        if size:
            fields.append(f"Size: {_ascii(size)}")
        if quantities and piece.name in quantities:
            right, left = quantities[piece.name]
            fields.append(f"Quantity: {right},{left}")
        if materials and piece.name in materials:
            fields.append(f"Material: {_ascii(materials[piece.name])}")
        tags += _block(piece, name, fields, by=by, chord=chord)
    tags += [0, "ENDSEC", 0, "SECTION", 2, "ENTITIES"]
    fields = [f"Style Name: {_ascii(style or 'unnamed')}"]
    fields += [f"Units: {'ENGLISH' if inches else 'METRIC'}"]
    if sample:
        fields.append(f"Sample Size: {_ascii(sample)}")
    factor = by.a
    for i, field in enumerate(fields):
        tags += _label(plan.BOUNDARY, field, (0.0, -2.0 * _TEXT * (i + 1) * factor), factor)
    for name in names:
        tags += [0, "INSERT", 8, plan.BOUNDARY, 2, name, 10, 0.0, 20, 0.0, 30, 0.0]
    tags += [0, "ENDSEC", 0, "EOF"]
    return _text(tags)


def _text(tags: Sequence[object]) -> str:
    return "".join(f"{_value(tag)}\n" for tag in tags)


def _value(tag: object) -> str:
    return repr(tag + 0.0) if isinstance(tag, float) else str(tag)


def _head(*, inches: bool, minimal: bool) -> Iterator[object]:
    yield from (0, "SECTION", 2, "HEADER")
    if not minimal:
        yield from (9, "$ACADVER", 1, "AC1009")
        yield from (9, "$INSUNITS", 70, 1 if inches else 4)
        yield from (9, "$MEASUREMENT", 70, 0 if inches else 1)
    yield from (0, "ENDSEC", 0, "SECTION", 2, "TABLES")
    if not minimal:
        yield from (0, "TABLE", 2, "LTYPE", 70, 1, 0, "LTYPE", 2, "CONTINUOUS", 70, 64)
        yield from (3, "Solid line", 72, 65, 73, 0, 40, 0.0, 0, "ENDTAB")
        layers = [0, *range(1, 16), *plan.NOTCHES]
        layers = sorted(set(layers))
        yield from (0, "TABLE", 2, "LAYER", 70, len(layers))
        for layer in layers:
            yield from (0, "LAYER", 2, layer, 70, 0, 62, 7, 6, "CONTINUOUS")
        yield from (0, "ENDTAB")
    yield from (0, "ENDSEC")


def _block_names(pieces: Sequence[Piece]) -> list[str]:
    """Return a name for each block that DXF R12 allows, like the piece's, each once."""
    out: list[str] = []
    for piece in pieces:
        plain = re.sub(r"[^A-Z0-9$_-]+", "_", piece.name.upper()).strip("_") or "PIECE"
        name = plain[:_LONGEST_BLOCK_NAME]
        number = 1
        while name in out:
            number += 1
            tail = f"-{number}"
            name = plain[: _LONGEST_BLOCK_NAME - len(tail)] + tail
        out.append(name)
    return out


def _ascii(text: str) -> str:
    """Return a text in 7 bits on one line, DXF's own codes disarmed."""
    plain = one_line(text).replace("%%", "%").replace("^", "^ ")
    return "".join(c if c.isascii() else f"\\U+{ord(c):04X}" for c in plain if ord(c) < 0x10000)


def _block(
    piece: Piece, name: str, fields: Sequence[str], *, by: Affine, chord: float
) -> Iterator[object]:
    drawn = transformed(piece, by) if by != Affine() else piece
    chord *= by.a
    yield from (0, "BLOCK", 8, plan.BOUNDARY, 2, name, 70, 0, 10, 0.0, 20, 0.0, 30, 0.0, 3, name)
    yield from _ring(plan.BOUNDARY, drawn.cut, chord)
    yield from _vertices(drawn.cut, chord)
    for hole in drawn.holes:
        yield from _ring(plan.CUT_OUT, hole, chord)
    if drawn.sew is not None:
        yield from _ring(plan.SEW, drawn.sew, chord)
    x0, y0, x1, y1 = bounds(drawn.cut)
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    yield from _grain(drawn, middle, min(x1 - x0, y1 - y0) / 3)
    for mark in drawn.marks:
        yield from _mark(mark, by.a, chord)
    for i, field in enumerate(fields):
        at = (middle[0], middle[1] - 2.0 * _TEXT * i * by.a)
        yield from _label(plan.BOUNDARY, field, at, by.a)
    yield from (0, "ENDBLK", 8, plan.BOUNDARY)


def _ring(layer: int, path: Path, chord: float) -> Iterator[object]:
    yield from _polyline(layer, path.points(chord), closed=True)


def _polyline(layer: int, points: Iterable[Point], *, closed: bool) -> Iterator[object]:
    yield from (0, "POLYLINE", 8, layer, 66, 1, 10, 0.0, 20, 0.0, 30, 0.0, 70, int(closed))
    for x, y in points:
        yield from (0, "VERTEX", 8, layer, 10, x, 20, y, 30, 0.0)
    yield from (0, "SEQEND", 8, layer)


def _vertices(path: Path, chord: float) -> Iterator[object]:
    """Yield a turn point for every corner and a curve point for every other vertex."""
    points = path.points(chord)
    turns = set(corners(path))
    at = 0
    for i, segment in enumerate(path.segments):
        yield from _point(plan.TURN_POINTS if i in turns else plan.CURVE_POINTS, points[at])
        inner = len(segment.points(chord)) - 1
        for point in points[at + 1 : at + 1 + inner]:
            yield from _point(plan.CURVE_POINTS, point)
        at += 1 + inner


def _point(layer: int, at: Point, z: float = 0.0) -> Iterator[object]:
    yield from (0, "POINT", 8, layer, 10, at[0], 20, at[1], 30, z)


def _line(layer: int, start: Point, end: Point) -> Iterator[object]:
    yield from (0, "LINE", 8, layer, 10, start[0], 20, start[1], 30, 0.0)
    yield from (11, end[0], 21, end[1], 31, 0.0)


def _grain(piece: Piece, middle: Point, half: float) -> Iterator[object]:
    turn = Affine.turn(piece.grain)
    dx, dy = half * turn.a, half * turn.c
    start, end = (middle[0] - dx, middle[1] - dy), (middle[0] + dx, middle[1] + dy)
    yield from _line(plan.GRAIN, start, end)


def _mark(mark: Mark, factor: float, chord: float) -> Iterator[object]:
    if mark.kind is MarkKind.NOTCH and mark.at is not None:
        yield from _point(_notch_layer(mark), mark.at, mark.size * factor)
        if mark.width > 0.0:
            yield from (39, mark.width * factor)
        if mark.angle is not None:
            yield from (50, mark.angle % 360.0)
    elif mark.kind is MarkKind.DRILL and mark.at is not None:
        yield from _point(plan.DRILL, mark.at, mark.size * factor)
        if mark.name:
            yield from _label(plan.DRILL, _ascii(mark.name), mark.at, factor)
    elif mark.kind is MarkKind.TEXT and mark.at is not None:
        height = mark.size or _TEXT
        yield from _label(
            plan.ANNOTATION, _ascii(mark.text), mark.at, factor, height=height, middle=True
        )
        if mark.angle:
            yield from (50, mark.angle % 360.0)
    elif mark.path is not None:
        yield from _drawn(mark, mark.path, chord)


def _notch_layer(mark: Mark) -> int:
    return next((layer for layer, style in plan.NOTCHES.items() if style is mark.style), 4)


def _drawn(mark: Mark, path: Path, chord: float) -> Iterator[object]:
    layer = {"stripe line": plan.STRIPE, "plaid line": plan.PLAID}.get(mark.name, plan.INTERNAL)
    points = path.points(chord)
    if path.closed:
        yield from _polyline(layer, points, closed=True)
    elif len(points) == 2:
        yield from _line(layer, points[0], points[1])
    else:
        yield from _polyline(layer, points, closed=False)


def _label(
    layer: int, text: str, at: Point, factor: float, *, height: float = _TEXT, middle: bool = False
) -> Iterator[object]:
    size = height * factor
    if math.isfinite(size):
        yield from (0, "TEXT", 8, layer, 10, at[0], 20, at[1], 30, 0.0, 40, size, 1, text)
        if middle:  # its place is the middle of its capitals
            yield from (72, 1, 11, at[0], 21, at[1], 31, 0.0, 73, 2)
