"""Pieces that are put together from several: how often joined, and what the joins take."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import shapely

from nesting.marker.lay import Part
from nesting.pattern.measure import bounds
from nesting.pattern.piece import MarkKind
from nesting.pattern.polygon import piece_polygon

__all__ = ["JOIN", "Together", "put_together"]

JOIN = "join"
"""The name of the marks along which two bits are joined."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """A piece put together from several, `times` in all.

    `sizes`: length and width of its bits (mm). `joins` in one. `lost`: what the joins of
    one take (mm²); `shorter`: the same as a length (mm), None where it is joined both ways.
    """

    piece: str
    times: int
    sizes: tuple[tuple[float, float], ...]
    joins: int
    lost: float
    shorter: float | None


def put_together(parts: Iterable[Part]) -> tuple[Together, ...]:
    """Return the pieces that are put together from the parts of a lay."""
    wholes: defaultdict[tuple[object, ...], list[Part]] = defaultdict(list)
    for part in parts:
        if part.pieced > 1:
            wholes[part.piece.name, part.hand, part.bag, part.copy, part.pieced].append(part)
    alike: defaultdict[tuple[object, ...], list[list[Part]]] = defaultdict(list)
    for (name, *_), bits in wholes.items():
        for start in range(0, len(bits), bits[0].pieced):  # several lines may cut the same
            one = bits[start : start + bits[0].pieced]
            alike[name, *(round(size, 3) for bit in one for size in _size(bit))].append(one)
    return tuple(_together(found[0], times=len(found)) for found in alike.values())


def _size(part: Part) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(part.piece.cut)
    return x1 - x0, y1 - y0


def _together(bits: list[Part], *, times: int) -> Together:
    areas = [piece_polygon(bit.piece) for bit in bits]
    whole = shapely.union_all(areas)
    sizes = tuple(_size(bit) for bit in bits)
    marks = [m for bit in bits for m in bit.piece.marks if m.kind is MarkKind.LINE]
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
        joins=sum(mark.name == JOIN for mark in marks) // 2,
        lost=sum(area.area for area in areas) - whole.area,
        shorter=shorter,
    )
