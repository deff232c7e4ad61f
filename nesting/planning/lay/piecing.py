"""Pieces put together from several: where they don't fit, or where a join saves cloth.

A piece that fits whole, but alone keeps the lay longer than everything else needs (a strap
across the cloth's corner), is joined if that saves a step of what is bought.

A piece is parted along straight lines with the grain, or square to it; both of its
neighbours go beyond the line by a seam allowance, or by half an overlap. A strip on the
bias is so parted along the grain, which gives the slanting joins of the trade.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import shapely

from nesting.marker.lay import Sheets, Strip
from nesting.material.material import Goods, Material, Nap
from nesting.pattern.measure import bounds
from nesting.pattern.path import Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.polygon import outlines_of, piece_polygon
from nesting.pattern.strips import joined_strip
from nesting.planning.lay.loads import REGISTER
from nesting.planning.lay.reach import least_length, length_by_area
from nesting.planning.lay.slots import Slot
from nesting.planning.lay.turns import turns_of
from nesting.tolerance import TOLERANCE
from nesting.units import round_up

__all__ = ["cut_lengths", "pieced", "pieced_slots"]

Room = tuple[float | None, float]
"""How long and wide a part may be (mm); None is any length."""

_HAIR = 1e-6
"""What sticks out by no more (mm) fits."""

_SMALLEST = 1.0
"""A bit of a piece smaller than this (mm²) is no part."""


def cut_lengths(length: float, *, most: float, beyond: float) -> int:
    """Return the fewest equal pieces of at most `most` that make a length, joined.

    Each join takes `beyond` of both pieces (mm). 0 if the pieces are too short to be joined.
    """
    if length > most + _HAIR and most <= 2.0 * beyond + _HAIR:
        return 0
    return joined_strip(length, longest=most + _HAIR, per_join=2.0 * beyond).joins + 1


def pieced(
    piece: Piece, *, width: float | None, length: float | None, beyond: float
) -> tuple[Piece, ...]:
    """Part a ready piece (grain along x) so that each bit is at most `length` by `width` (mm).

    Bits of one row are equally large where they are cut, and the joins are marked on them.
    Marks that lie across a join go. The piece itself if it fits, or can't be parted.
    """
    x0, y0, x1, y1 = bounds(piece.cut)
    rows = 1 if width is None else cut_lengths(y1 - y0, most=width, beyond=beyond)
    columns = 1 if length is None else cut_lengths(x1 - x0, most=length, beyond=beyond)
    if rows * columns <= 1:
        return (piece,)
    whole = piece_polygon(piece)
    bits = []
    for low, high in _spans(y0, y1, rows, beyond):
        for left, right in _spans(x0, x1, columns, beyond):
            box = shapely.box(left, low, right, high)
            inner = _less(box, (x0, y0, x1, y1), beyond)
            area = whole.intersection(box)
            for bit in getattr(area, "geoms", [area]):
                if isinstance(bit, shapely.Polygon) and bit.area > _SMALLEST:
                    bits.append(_bit(piece, bit, inner))
    return tuple(bits)


def _spans(low: float, high: float, count: int, beyond: float) -> Iterator[tuple[float, float]]:
    """Yield where each of `count` equally long bits begins and ends."""
    size = (high - low + 2.0 * beyond * (count - 1)) / count
    for k in range(count):
        start = low + k * (size - 2.0 * beyond)
        yield start, start + size


def _less(
    box: shapely.Polygon, whole: tuple[float, float, float, float], beyond: float
) -> shapely.Polygon:
    """Return a bit's box up to its joins."""
    a, b, c, d = box.bounds
    x0, y0, x1, y1 = whole
    return shapely.box(
        a if a <= x0 + _HAIR else a + beyond,
        b if b <= y0 + _HAIR else b + beyond,
        c if c >= x1 - _HAIR else c - beyond,
        d if d >= y1 - _HAIR else d - beyond,
    )


def _bit(piece: Piece, area: shapely.Polygon, inner: shapely.Polygon) -> Piece:
    marks = tuple(kept for mark in piece.marks for kept in _within(mark, inner))
    cut, *holes = outlines_of(area)
    return replace(
        piece,
        cut=cut,
        holes=tuple(holes),
        sew=None,
        fold=None,
        fold_back=None,
        motif=None,
        points=(),
        marks=(*marks, *_joins(area, inner)),
    )


def _joins(area: shapely.Polygon, inner: shapely.Polygon) -> Iterator[Mark]:
    """Yield the lines at which a bit is joined to its neighbours."""
    a, b, c, d = area.bounds
    lines = [
        shapely.LineString([(a, y), (c, y)])
        for y in inner.bounds[1::2]
        if b + _HAIR < y < d - _HAIR
    ]
    lines += [
        shapely.LineString([(x, b), (x, d)])
        for x in inner.bounds[0::2]
        if a + _HAIR < x < c - _HAIR
    ]
    for line in lines:
        seam = line.intersection(area)
        for bit in getattr(seam, "geoms", [seam]):
            if isinstance(bit, shapely.LineString) and bit.length > _HAIR:
                path = Path.polyline([(x, y) for x, y, *_ in bit.coords], closed=False)
                yield Mark(kind=MarkKind.LINE, name="join", path=path, joins=True)


def _within(mark: Mark, inner: shapely.Polygon) -> Iterator[Mark]:
    """Yield what of a mark is on a bit: a line goes on in the next bit, on both sides of the join.

    A closed outline across a join is an open line on each bit; notches and points are on one.
    """
    if mark.path is None:
        at = shapely.Point(mark.at or (math.inf, math.inf))
        drill = mark.size / 2.0 if mark.kind is MarkKind.DRILL else 0.0
        if inner.covers(shapely.buffer(at, drill) if drill else at):
            yield mark
        return
    points = mark.path.points(TOLERANCE.chord)
    line = shapely.LineString([*points, *(points[:1] if mark.path.closed else ())])
    if inner.covers(line):
        yield mark
        return
    kept = shapely.line_merge(shapely.intersection(line, inner))
    for run in getattr(kept, "geoms", [kept]):
        if isinstance(run, shapely.LineString) and run.length > _HAIR:
            path = Path.polyline([(x, y) for x, y, *_ in run.coords], closed=False)
            yield replace(mark, kind=MarkKind.LINE, path=path)


def pieced_slots(
    slots: Sequence[Slot],
    stock: Strip | Sheets,
    material: Material,
    *,
    bed: tuple[float, float] | None = None,
) -> list[Slot]:
    """Return the slots, each that may be pieced as several where it doesn't fit or that saves.

    `bed`: what a load of it takes, along and across (mm): bits fit that, too.
    """
    nap = material.nap
    rooms = [_on_bed(room, bed) for room in _rooms(stock)]
    found: list[Slot] = []
    known: dict[tuple[int, float], tuple[Piece, ...]] = {}
    for slot in slots:
        beyond = slot.cut.pieced
        if beyond is None or slot.edge is not None:
            found.append(slot)
            continue
        key = (id(slot.piece), beyond)
        if key not in known:
            free = (slot.cut.nap or nap) is Nap.ANY
            known[key] = _fitting(slot.piece, rooms, beyond, free=free)
            if len(known[key]) == 1 and stock.open_ended:
                known[key] = _saving(slot, slots, material, stock.width)
        bits = known[key]
        if len(bits) == 1:
            found.append(slot)
            continue
        found += [
            replace(slot, piece=bit, bit=f"piece {k} of {len(bits)}", bits=len(bits))
            for k, bit in enumerate(bits, start=1)
        ]
    return found


def _saving(slot: Slot, slots: Sequence[Slot], cloth: Goods, width: float) -> tuple[Piece, ...]:
    """Return a piece that fits whole, or the bits that save a step of the cloth bought.

    Each further join has to save another step.
    """
    turns = turns_of(slot.piece, slot.cut, cloth)
    alone = least_length(slot.piece, turns, width=width)
    others = [other for other in slots if other.piece is not slot.piece]
    need = max(
        (least_length(o.piece, turns_of(o.piece, o.cut, cloth), width=width) for o in others),
        default=0.0,
    )
    copies = len(slots) - len(others)
    beyond = slot.cut.pieced or 0.0
    best: tuple[Piece, ...] = (slot.piece,)
    x0, _, x1, _ = bounds(slot.piece.cut)
    length = x1 - x0
    least = _bought(max(need, alone), cloth)
    for count in range(2, slot.cut.joins + 2):
        bits = pieced(
            slot.piece,
            width=None,
            length=(length + 2.0 * beyond * (count - 1)) / count,
            beyond=beyond,
        )
        if len(bits) != count:
            break
        reach = max(least_length(bit, turns, width=width) for bit in bits)
        area = length_by_area([*(o.piece for o in others), *bits * copies], width=width)
        bought = _bought(max(need, reach, area), cloth)
        if bought < least:
            best, least = bits, bought
    return best


def _bought(length: float, cloth: Goods) -> float:
    return round_up(length + 2.0 * cloth.ends, step=cloth.step) if length < math.inf else length


def _rooms(stock: Strip | Sheets) -> list[Room]:
    """Return the rooms of a stock: of sheets, those of which there are enough."""
    if stock.open_ended:
        return [(stock.longest, stock.width)]
    boxes = [bounds(sheet.outline) for sheet in stock.sheets if sheet.count is None]
    boxes = boxes or [bounds(sheet.outline) for sheet in stock.sheets]
    lost = 2.0 * stock.margin
    return [(x1 - x0 - lost, y1 - y0 - lost) for x0, y0, x1, y1 in boxes]


def _on_bed(room: Room, bed: tuple[float, float] | None) -> Room:
    """Return what of a room one load of the bed takes."""
    if bed is None:
        return room
    length, width = room
    most = bed[0] - REGISTER if length is None or length > bed[0] else length
    return most, min(width, bed[1])


def _fitting(
    piece: Piece, rooms: Sequence[Room], beyond: float, *, free: bool
) -> tuple[Piece, ...]:
    """Return the piece, or as few bits of it as fit a room."""
    x0, y0, x1, y1 = bounds(piece.cut)
    sizes = [(x1 - x0, y1 - y0), (y1 - y0, x1 - x0)] if free else [(x1 - x0, y1 - y0)]
    for length, width in rooms:
        for long, wide in sizes:
            if wide <= width + _HAIR and (length is None or long <= length + _HAIR):
                return (piece,)
    ways = [pieced(piece, width=w, length=n, beyond=beyond) for n, w in rooms]
    if free:
        ways += [pieced(piece, width=n, length=w, beyond=beyond) for n, w in rooms]
    ways = [way for way in ways if len(way) > 1]
    return min(ways, key=len, default=(piece,))
