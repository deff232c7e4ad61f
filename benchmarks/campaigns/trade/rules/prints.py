"""Prints: motifs in the middle, patterns that run on across seams, room for drift."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence

from ..asked.cutting_list import Asked
from ..asked.goods import Print
from ..asked.shapes import Pt
from .answer import Lying

__all__ = ["binds", "misprinted"]

_EXACT = 0.02
"""How far off is let pass (mm): the middle of a sampled outline."""

One = tuple[Lying, Asked]


def binds(asked: Asked, every: Sequence[Asked], hand: str | None = None) -> bool:
    """Whether a print binds what a line asks for, or that of one hand."""
    if asked.goods.print is None:
        return False
    return bool(asked.cut.get("centred")) or asked.matched or _led(asked, every, hand)


def _led(asked: Asked, every: Sequence[Asked], hand: str | None) -> bool:
    """Whether another line of its bag runs on from it: of a pair the hand that has a fellow."""
    alone = hand is None or len(asked.hands) == 1
    return any(
        other.matched
        and other.bag == asked.bag
        and other.goods is asked.goods
        and (alone or hand in other.hands)
        and other.cut["matches"]["piece"] == asked.piece.name
        for other in every
    )


def misprinted(laid: Sequence[One], every: Sequence[Asked]) -> Iterator[str]:
    """Yield what is wrong with how a print falls on the parts of one cloth."""
    near: defaultdict[int, set[int]] = defaultdict(set)
    by_piece: defaultdict[tuple[str, int, str], list[int]] = defaultdict(list)
    for i, (lying, _) in enumerate(laid):
        by_piece[lying.bag, lying.number, lying.piece].append(i)
    for i, (lying, asked) in enumerate(laid):
        if not asked.matched:
            continue
        match = asked.cut["matches"]
        there = by_piece[lying.bag, lying.number, match["piece"]]
        to = match.get("left", match["to"]) if lying.hand == "left" else match["to"]
        for j in _partners(i, there, laid):
            near[i].add(j)
            near[j].add(i)
            yield from _seam(laid[i], match["point"], laid[j], to)
    begin = _begin(laid)
    for i, (lying, asked) in enumerate(laid):
        motif = asked.goods.print
        if asked.cut.get("centred") and motif is not None:
            alone = i not in near
            at = lying.place(asked.shape(lying.hand).motif)
            off = _off(motif, (at[0] - begin, at[1] - motif.origin[1]))
            if off > (motif.off_centre if alone else 0.0) + _EXACT:
                yield f"the motif of {lying.name} is {off:.3f} mm off its middle"


def _begin(laid: Sequence[One]) -> float:
    """Return where along a motif lies: as is said, or where most agree of all middles if not."""
    centred = [one for one in laid if one[1].cut.get("centred")]
    motif = centred[0][1].goods.print if centred else None
    if motif is None or motif.placed or motif.along is None:
        return 0.0 if motif is None else motif.origin[0]
    middles = [lying.place(asked.shape(lying.hand).motif) for lying, asked in centred]
    shifts = (0.0, motif.drop * motif.along)
    xs = [x - shift for x, _ in middles for shift in shifts]
    tried = {x + 0.5 * math.remainder(other - x, motif.along) for x in xs for other in xs}

    def worst(begin: float) -> float:
        return max(_off(motif, (x - begin, y - motif.origin[1])) for x, y in middles)

    return min(sorted(tried), key=worst)


def _partners(i: int, there: Sequence[int], laid: Sequence[One]) -> list[int]:
    """Return what a part is sewn to: copy to copy, hand to hand, or on to its next copy."""
    lying, asked = laid[i]
    same = [j for j in there if laid[j][0].hand == lying.hand or not laid[j][1].cut.get("pairs")]
    if there and laid[there[0]][0].piece == lying.piece:
        return [j for j in same if j != i and laid[j][0].copy == lying.copy + 1]
    if all(laid[j][1].copies == asked.copies for j in same):
        return [j for j in same if laid[j][0].copy == lying.copy]
    return same


def _seam(one: One, own: str, other: One, theirs: str) -> Iterator[str]:
    """Yield what is wrong where a print is to run on from a point to another."""
    (lying, asked), (there, its) = one, other
    motif = asked.goods.print
    p, q = asked.shape(lying.hand).points.get(own), its.shape(there.hand).points.get(theirs)
    if p is None or q is None or motif is None:
        yield f"{lying.name} is matched at a point that is not there"
        return
    if (
        abs(math.remainder(lying.angle - there.angle, 360.0)) > 1e-4
        or lying.flipped
        or there.flipped
    ):
        yield f"{lying.name} and {there.name} run on across a seam and are turned differently"
    (px, py), (qx, qy) = lying.place(p), there.place(q)
    off = _off(motif, (px - qx, py - qy))
    if off > _EXACT:
        yield f"{lying.name} at {own} and {there.name} at {theirs} differ by {off:.3f} mm of print"


def _off(motif: Print, way: Pt) -> float:
    """Return how far (mm, the worse axis) a way is from any from one motif to another."""
    rows = [0.0]
    if motif.across is not None:
        middle = round(way[1] / motif.across)
        rows = [float(middle + k) for k in (-1, 0, 1)]
    best = math.inf
    for row in rows:
        dy = 0.0 if motif.across is None else abs(way[1] - row * motif.across)
        dx = 0.0
        if motif.along is not None:
            shift = motif.drop * motif.along if row % 2 else 0.0
            dx = abs(math.remainder(way[0] - shift, motif.along))
        best = min(best, max(dx, dy))
    return best
