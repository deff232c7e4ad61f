"""What an order cuts from remnants of a cloth, so that it need not be spread.

As much as finds room is laid on them, from as few bags as may be: what is left of an order
is then many whole bags and a few that lack something, each of which is a kind of its own.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace

from nesting.marker.lay import Lay, Part
from nesting.marker.measure import piece_area
from nesting.pattern.polygon import polygon
from nesting.planning.entry import entry_for
from nesting.planning.lay.slots import PartKey
from nesting.planning.offcuts import offcuts_of, on_offcuts, parted
from nesting.planning.orders.cloth_order import ClothOrder, Lacking
from nesting.planning.plan import Entry
from nesting.search.result import Result

__all__ = ["Given", "Offered", "given", "offered"]

_MOST_BAGS = 12
"""Of so many bags of a kind something is offered to remnants at most (own choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offered:
    """What may be cut from remnants: the lay, and which kind, bag and part each part is."""

    lay: Lay
    of: Mapping[str, tuple[int, int, PartKey]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What is cut from remnants, and what the bags of each kind then lack, by its name."""

    entry: Entry
    lacking: Lacking


def offered(order: ClothOrder) -> Offered | None:
    """Return what an order may cut from remnants of its cloth; None if there is nothing.

    Straps that are joined from several parts are left out, and so are parts of which a bag
    has two that its cutting list can't tell apart.
    """
    cloth = order.cloth
    if not cloth.remnants or order.twice:
        return None
    room = math.fsum(polygon(one.outline).area for one in cloth.remnants)
    parts: list[Part] = []
    of: dict[str, tuple[int, int, PartKey]] = {}
    lay = None
    for number, kind in enumerate(order.kinds):
        unit = order.lay(tuple(int(i == number) for i in range(len(order.kinds))))
        each = math.fsum(piece_area(part.piece) for part in unit.parts)
        often = Counter(_key(part) for part in unit.parts)
        bags = min(kind.demand, _MOST_BAGS, 1 + 2 * math.ceil(room / max(each, 1.0)))
        lay = order.lay(tuple(bags * (i == number) for i in range(len(order.kinds))))
        for part in lay.parts:
            if part.pieced == 1 and often[_key(part)] == 1:
                name = part.name if len(order.kinds) == 1 else f"{part.name} of {kind.name}"
                of[name] = (number, part.bag, _key(part))
                parts.append(replace(part, name=name))
    if lay is None or not parts:
        return None
    named = replace(lay, name=cloth.name, parts=tuple(parts))
    found = on_offcuts(named, cloth, order.job)
    return None if found is None else Offered(lay=found, of=of)


def given(order: ClothOrder, what: Offered, result: Result) -> Given | None:
    """Return what remnants give of what was offered to them; None if it is nothing."""
    laid, _ = parted(what.lay, result)
    if laid is None:
        return None
    placed = {laid.marker.lay.parts[p.part].name for p in laid.marker.placements}
    lacking: dict[str, dict[int, set[PartKey]]] = {}
    takes: dict[str, Part] = {}
    for group in _alike(what):
        found = [part for part in group if part.name in placed]
        for part, instead in zip(found, group, strict=False):
            takes[part.name] = instead
            number, bag, key = what.of[instead.name]
            lacking.setdefault(order.kinds[number].name, {}).setdefault(bag, set()).add(key)
    parts = tuple(takes[part.name] for part in laid.marker.lay.parts)
    marker = replace(laid.marker, lay=replace(laid.marker.lay, parts=parts))
    entry = entry_for(
        offcuts_of(order.cloth),
        replace(laid, marker=marker),
        width=None,
        amounts=order.job.amounts,
    )
    said = {
        kind: tuple(frozenset(bags[number]) for number in sorted(bags))
        for kind, bags in lacking.items()
    }
    return Given(entry=entry, lacking=said)


def _alike(what: Offered) -> list[list[Part]]:
    """Return the parts of one kind of bag that may take each other's place, bag by bag."""
    groups: list[list[Part]] = []
    for part in what.lay.parts:
        for group in groups:
            if _same(part, group[0], what):
                group.append(part)
                break
        else:
            groups.append([part])
    return [sorted(group, key=lambda p: (what.of[p.name][1], p.copy)) for group in groups]


def _same(one: Part, other: Part, what: Offered) -> bool:
    same = what.of[one.name][0] == what.of[other.name][0]
    return same and _bare(one) == _bare(other)


def _bare(part: Part) -> Part:
    mates = None if part.mates is None else part.name
    return replace(part, name="", copy=1, bag=1, mates=mates, match=None)


def _key(part: Part) -> PartKey:
    return (part.piece.name, part.variant, part.copy, part.hand)
