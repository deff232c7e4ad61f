"""Pieces put together from several: nothing is missing, and each goes far enough beyond a join."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

import shapely

from ..asked.cutting_list import Asked
from ..asked.goods import Goods
from .answer import Lying

__all__ = ["joined_wrong"]


def joined_wrong(laid: Sequence[tuple[Lying, Asked]], goods: Goods) -> Iterator[str]:
    """Yield what is wrong with pieces that are put together from bits."""
    whole: defaultdict[tuple[int, int, int, str], list[tuple[Lying, Asked]]] = defaultdict(list)
    for lying, asked in laid:
        if lying.bit is not None:
            whole[id(asked), lying.number, lying.copy, lying.hand].append((lying, asked))
    for bits in whole.values():
        yield from _together([lying for lying, _ in bits], bits[0][1], goods)


def _together(bits: Sequence[Lying], asked: Asked, goods: Goods) -> Iterator[str]:
    first = bits[0]
    assert first.bit is not None
    count = first.bit[1]
    if "pieced" not in asked.cut:
        yield f"{first.name} is put together from {count}, which was not allowed"
        return
    if sorted(one.bit[0] for one in bits if one.bit) != list(range(1, count + 1)):
        yield f"{asked.piece.name}: {[one.name for one in bits]} are not {count} bits"
        return
    beyond = asked.units.mm(asked.cut["pieced"])
    shape = asked.shape(first.hand).cut
    union = shapely.union_all([one.outline for one in bits])
    lost = shape.symmetric_difference(union).area
    if lost > 0.02 * (shape.length + 1.0):
        yield f"the bits of {first.name} are not the piece: {lost:.2f} mm² differ"
    # Less what goes beyond a join, and half of what is left at most, the bits still touch.
    for one in bits:
        rest = shapely.union_all([other.outline for other in bits if other is not one])
        alone = one.outline.difference(rest)
        if alone.area <= 0.0:
            yield f"{one.name} is needless"
            continue
        shared = one.outline.intersection(rest)
        x0, y0, x1, y1 = shared.bounds
        goes = min(x1 - x0, y1 - y0) / 2.0
        if goes < beyond - 0.01:
            yield f"{one.name} goes {goes:.2f} mm beyond a join, not {beyond:g}"
    x0, _, x1, _ = shape.bounds
    rooms = [goods.longest] if goods.longest is not None else []
    wide = max((width[1] for width in goods.widths), default=0.0)
    fits = goods.kind == "cloth" and shape.bounds[3] - shape.bounds[1] <= wide / (1 + goods.folded)
    fits = fits and all(x1 - x0 <= room for room in rooms) and asked.nap != "any"
    if fits and count - 1 > max(int(asked.cut.get("joins", 1)), 0) and not goods.shrinks[1]:
        yield f"{first.name} has {count - 1} joins"
