"""What is on the shelf once a plan is cut: all that was there but what it took, and what it left.

Lengths (mm): the end of a length that is cut from, and of what is bought, is a length again from
100 mm on, or stays on a left-over of the marker where it is shorter than 500 mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from ..asked.cutting_list import Job
from ..asked.goods import Goods, spot_of, whole_of
from ..asked.shelf import SAME_WIDTH, Shelf
from ..rules.answer import Entry
from ..rules.buying import gross_of, length_of, taken_of
from .shopping import Line

__all__ = ["left_wrong"]

_KEPT, _BIT = 100.0, 500.0
_NEAR = 0.6
"""A length is written to a tenth of a mm, and found again within half a mm."""
_EDGE = 0.15
"""Outlines of left-overs are rounded, and eased by a tenth of a mm."""


@dataclass(frozen=True)
class _End:
    """What one length comes to: `rest` (mm) of it is left, `used` or not."""

    rest: float
    width: float | None
    used: bool


def left_wrong(
    before: Shelf, after: Shelf, entries: Sequence[Entry], job: Job, lines: Sequence[Line]
) -> Iterator[str]:
    """Yield what is wrong with what a plan has left; `lines`: what was bought for it."""
    for goods in job.goods.values():
        mine = [entry for entry in entries if entry.material == goods.name]
        line = next((one for one in lines if one.name == goods.name), None)
        if not mine or line is None:
            continue
        bits = _new_bits(before, after, goods)
        if goods.kind == "cloth":
            yield from _lengths(before, after, goods, mine, line, bits)
        yield from _bits_gone(before, after, goods, line)
        yield from _bits_free(bits, mine, goods)
    counted = [line for line in lines if line.unit not in ("mm", "mm²")]
    for name in {line.name for line in counted}:
        had, has = before.number(name), after.number(name)
        used = sum(line.stock for line in counted if line.name == name)
        if used > had + 1e-9 or abs(has - (had - used)) > 1e-6:
            yield f"of {had:g} {name} {used:g} were used, and {has:g} are left"
    yield from _rest_untouched(before, after, job)
    if after.book[:-1] != before.book or len(after.book) != len(before.book) + 1:
        yield f"the book says {after.book}, it said {before.book}"


def _lengths(
    before: Shelf,
    after: Shelf,
    goods: Goods,
    entries: Sequence[Entry],
    line: Line,
    bits: Sequence[Polygon],
) -> Iterator[str]:
    """Yield which length is not what is left of one."""
    rolls = [entry for entry in entries if entry.from_roll and entry.lying]
    taken = {k: a for entry in rolls for k, a in taken_of(entry, goods).items()}
    own = len(goods.rolls) - len(before.lengths(goods))  # those of the job file come first
    ends = [
        _End(length - taken.get(own + k, 0.0), wide, own + k in taken)
        for k, (length, wide) in enumerate(before.lengths(goods))
    ]
    if line.to_buy:
        ends.append(_End(line.to_buy - (line.gross - line.stock), line.width, used=True))
    there = after.lengths(goods)
    for end in ends:
        found = next((one for one in there if _fits(one, end)), None)
        if found is not None:
            there.remove(found)
            if end.used and end.rest < _KEPT - _NEAR:
                yield f"{end.rest:.1f} mm of {goods.name} are kept as a length"
        elif not end.used or (end.rest >= _KEPT + _NEAR and not _on_bit(end, goods, rolls, bits)):
            yield f"{end.rest:.1f} mm of {goods.name} are lost"
    for length, wide in there:
        yield f"a length of {length:.1f} mm of {goods.name}, {wide:g} wide, comes from nowhere"


def _fits(one: tuple[float, float], end: _End) -> bool:
    return abs(one[0] - end.rest) <= _NEAR and abs(one[1] - (end.width or one[1])) <= SAME_WIDTH


def _on_bit(end: _End, goods: Goods, rolls: Sequence[Entry], bits: Sequence[Polygon]) -> bool:
    """Whether an end stays on a left-over of a marker: then that reaches to it."""
    if end.rest >= _BIT or goods.folded or goods.print is not None:
        return False
    reach = goods.ends + end.rest * (1.0 - goods.shrinks[0])
    return any(
        abs(bit.bounds[2] - length_of(entry) - reach) <= 1.0 for entry in rolls for bit in bits
    )


def _new_bits(before: Shelf, after: Shelf, goods: Goods) -> list[Polygon]:
    """Return the left-overs that are new, as they lie in their marker."""
    had, has = (shelf.named("remnant", goods.name) for shelf in (before, after))
    return [whole_of(one, after.units) for name, one in has.items() if name not in had]


def _bits_gone(before: Shelf, after: Shelf, goods: Goods, line: Line) -> Iterator[str]:
    """Yield which left-over or hide was used and is still there, or is gone and was not used."""
    for key in ("remnant", "hide"):
        had, has = (shelf.named(key, goods.name) for shelf in (before, after))
        for name, table in had.items():
            used = name in line.owned
            if used and name in has:
                yield f"{name} of {goods.name} was used and is still there"
            elif not used and has.get(name) != table:
                yield f"{name} of {goods.name} was not used and is gone, or another"


def _bits_free(bits: Sequence[Polygon], entries: Sequence[Entry], goods: Goods) -> Iterator[str]:
    """Yield which left-over was cut into, or lies off what it is left of."""
    free = [area for entry in entries for area in _free(entry, goods)]
    for number, bit in enumerate(bits):
        if not any(area.buffer(_EDGE).covers(bit) for area in free):
            yield f"a left-over of {goods.name} at {bit.bounds} is not left"
        if any(bit.equals(other) for other in bits[:number]) and len(free) < 2:
            yield f"a left-over of {goods.name} at {bit.bounds} is there twice"


def _free(entry: Entry, goods: Goods) -> Iterator[BaseGeometry]:
    """Yield what a marker leaves of each of its sheets, or of the cloth up to its end."""
    if entry.from_roll:
        wide = next((w[1] for w in goods.widths if entry.width and abs(w[0] - entry.width["booked"])
                     < 1e-6), 0.0)  # fmt: skip
        wide = wide * (1.0 - goods.shrinks[1]) / (2.0 if goods.folded else 1.0)
        rest = max(0.0, _longest(entry, goods) - gross_of(entry, goods))
        end = length_of(entry) + goods.ends + rest * (1.0 - goods.shrinks[0])
        whole: list[BaseGeometry] = [shapely.box(0.0, 0.0, end, wide)]
    else:
        spots = [spot_of(goods, name) for name in entry.sheets]
        whole = [Polygon() if spot is None else spot.area for spot in spots]
    for sheet, area in enumerate(whole):
        yield area.difference(
            shapely.union_all([one.lies for one in entry.lying if one.sheet == sheet])
        )


def _longest(entry: Entry, goods: Goods) -> float:
    """Return the longest length that a marker may have been cut from (mm)."""
    held = [goods.rolls[k][0] for k in taken_of(entry, goods)]
    return max([*held, float(entry.buying["to_buy"])], default=math.inf)


def _rest_untouched(before: Shelf, after: Shelf, job: Job) -> Iterator[str]:
    """Yield what the job knows nothing of, and has changed."""
    known = {*job.goods, *(name for name, _, _ in job.notions)}
    had, has = (_others(shelf.table, known) for shelf in (before, after))
    for key in had.keys() | has.keys():
        if had.get(key) != has.get(key):
            yield f"{key} in the stock file was {had.get(key)} and is {has.get(key)}"


def _others(table: dict[str, Any], known: set[str]) -> dict[str, Any]:
    kept = {k: v for k, v in table.items() if k not in ("at_hand", "remnant", "hide", "book")}
    at_hand = {k: v for k, v in table.get("at_hand", {}).items() if k not in known}
    bits = {
        f"{key} {one['name']}": one
        for key in ("remnant", "hide")
        for one in table.get(key, [])
        if one["material"] not in known
    }
    return {**kept, **at_hand, **bits}
