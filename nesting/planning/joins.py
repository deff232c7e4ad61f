"""Pieces that are put together from several, what the joins take, and what could be joined."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace

import shapely

from nesting.marker.lay import Part
from nesting.pattern.measure import bounds, counter_clockwise
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon
from nesting.pattern.shapes import rectangle
from nesting.planning.lay.reach import least_length, length_by_area
from nesting.planning.plan import Entry
from nesting.units import round_up

__all__ = ["Together", "Unjoined", "joined", "put_together", "unjoined"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """A piece put together from several, `times` in all.

    `sizes`: length and width of its bits (mm). `joins` in one. `lost`: what the joins of
    one take (mm²); `shorter`: the same as a length (mm), None where it is joined both ways.
    `whole`: the least length of cloth on which it fits in one (mm), infinite if on none.
    """

    piece: str
    times: int
    sizes: tuple[tuple[float, float], ...]
    joins: int
    lost: float
    shorter: float | None
    whole: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Unjoined:
    """A strap that alone keeps a marker long: `length` it needs, and the `rest` by area (mm)."""

    piece: str
    length: float
    rest: float


def put_together(parts: Iterable[Part], *, width: float) -> tuple[Together, ...]:
    """Return the pieces that are put together from the parts of a lay `width` wide (mm)."""
    wholes: defaultdict[tuple[object, ...], list[Part]] = defaultdict(list)
    for part in parts:
        if part.pieced > 1:
            bag = (part.design, part.bag)
            wholes[part.piece.name, part.hand, bag, part.copy, part.pieced].append(part)
    alike: defaultdict[tuple[object, ...], list[list[Part]]] = defaultdict(list)
    for (name, *_), bits in wholes.items():
        for start in range(0, len(bits), bits[0].pieced):  # several lines may cut the same
            one = bits[start : start + bits[0].pieced]
            alike[name, *(round(size, 1) for bit in one for size in _size(bit))].append(one)
    return tuple(_together(one[0], times=len(one), width=width) for one in alike.values())


def _size(part: Part) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(part.piece.cut)
    return x1 - x0, y1 - y0


def _together(bits: list[Part], *, times: int, width: float) -> Together:
    areas = [piece_polygon(bit.piece) for bit in bits]
    whole = shapely.union_all(areas)
    sizes = tuple(_size(bit) for bit in bits)
    along = [
        sum(size[axis] for size in sizes) - (whole.bounds[2 + axis] - whole.bounds[axis])
        for axis in (0, 1)
    ]
    lows = [{round(bounds(bit.piece.cut)[axis], 3) for bit in bits} for axis in (0, 1)]
    shorter = next((along[a] for a in (0, 1) if len(lows[1 - a]) == 1), None)
    return Together(
        piece=bits[0].piece.name,
        times=times,
        sizes=sizes,
        joins=sum(mark.joins for bit in bits for mark in bit.piece.marks) // 2,
        lost=sum(area.area for area in areas) - whole.area,
        shorter=shorter,
        whole=least_length(_outline(bits[0].piece, whole), bits[0].turns, width=width),
    )


def _outline(piece: Piece, area: shapely.Geometry) -> Piece:
    """Return the convex hull of an area as a piece."""
    ring = shapely.get_coordinates(shapely.convex_hull(area))[:-1]
    cut = counter_clockwise(Path.polyline([(x, y) for x, y in ring], closed=True))
    return replace(piece, cut=cut, holes=(), sew=None, marks=())


def joined(entry: Entry) -> tuple[Together, ...]:
    """Return the pieces of a marker that are put together from several."""
    stock = entry.marker.lay.stock
    laid = (entry.marker.lay.parts[p.part] for p in entry.marker.placements)
    return put_together(laid, width=stock.width if stock.open_ended else 0.0)


def unjoined(entry: Entry) -> tuple[Unjoined, ...]:
    """Return straps laid whole without which a marker of cloth could be a step shorter.

    That is so where it is as long as one alone asks for, and the area of all and every other
    part ask for less. What is centred, matched or on the fold can't be joined and doesn't count.
    """
    stock, cloth = entry.marker.lay.stock, entry.material
    if not stock.open_ended:
        return ()
    parts = [entry.marker.lay.parts[p.part] for p in entry.marker.placements]
    kinds = {id(part.piece): part for part in parts}
    reach = {k: least_length(p.piece, p.turns, width=stock.width) for k, p in kinds.items()}
    straps = {k for k, part in kinds.items() if _is_strap(part)}
    rest = max((reach[k] for k in kinds if k not in straps), default=0.0)
    rest = max(rest, length_by_area((part.piece for part in parts), width=stock.width))
    laid = entry.buying.to_buy.value
    found = []
    for k in straps:
        half = least_length(_half(kinds[k]), kinds[k].turns, width=stock.width)
        need = max(rest, half)
        if round_up(need + 2.0 * cloth.ends, step=cloth.step) < laid and need < reach[k]:
            found.append(Unjoined(piece=kinds[k].piece.name, length=reach[k], rest=need))
    return tuple(sorted(found, key=lambda one: (-one.length, one.piece)))


def _half(part: Part) -> Piece:
    """Return half of the rectangle about a part, parted across its longer side."""
    length, width = _size(part)
    half = (length / 2.0, width) if length >= width else (length, width / 2.0)
    return replace(part.piece, cut=rectangle(*half), holes=(), sew=None, marks=())


def _is_strap(part: Part) -> bool:
    """Whether a part may be joined and is long enough to be: five times its width (our choice)."""
    short, long = sorted(_size(part))
    free = part.binding is None and part.edge is None and part.pieced == 1
    return free and long >= 5.0 * short
