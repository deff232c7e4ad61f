"""What the markers of a cloth come to together: from the lengths at hand, and bought."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nesting.job.job import CuttingTable
from nesting.material.material import Cloth, Width
from nesting.planning.buying.bought import cloth_to_buy, cost_of
from nesting.planning.orders.cut_lengths import taken_from
from nesting.planning.orders.rolls import from_rolls
from nesting.planning.plan import Entry
from nesting.planning.records import Buying, WidthTried
from nesting.quantity import NO_LENGTH, Unit, of_length, total

__all__ = [
    "best_width",
    "chosen_width",
    "reckoned",
    "settled",
    "tried_at",
]


def settled(
    entries: Sequence[Entry], cloth: Cloth, *, table: CuttingTable, seed: int, spare: float = 0.0
) -> tuple[Entry, ...]:
    """Return a cloth's entries with the lengths their plies come from, and what is bought.

    All of them are on one width. `spare`: the share that is bought more.
    """
    return reckoned(from_rolls(entries, cloth, table=table, seed=seed), cloth, spare=spare)


def reckoned(entries: Sequence[Entry], cloth: Cloth, *, spare: float = 0.0) -> tuple[Entry, ...]:
    """Return entries that know where their plies come from with what is bought for them."""
    return tuple(
        replace(entry, buying=_buying(entry, cloth, alone=len(entries) == 1, spare=spare))
        for entry in entries
    )


def _buying(entry: Entry, cloth: Cloth, *, alone: bool, spare: float) -> Buying:
    bought = entry.buying
    fresh, held = bought.gross, NO_LENGTH
    if entry.laid_from:
        new, *taken = taken_from([entry], cloth)
        fresh, held = of_length(new), total(map(of_length, taken), Unit.LENGTH)
    found = replace(bought, gross=fresh + held, from_stock=held)
    if not alone:
        return replace(found, to_buy=fresh, step=NO_LENGTH, cost=None)
    to_buy = cloth_to_buy(found.gross, held, cloth, spare=spare)
    return replace(found, to_buy=to_buy, cost=cost_of(to_buy, entry.width))


def tried_at(
    width: Width, entries: Sequence[Entry], cloth: Cloth, *, spare: float = 0.0
) -> WidthTried:
    """Return what settled entries of one width come to, or why they are of no use."""
    unplaced = sum(len(entry.unplaced) for entry in entries)
    gross = total((entry.buying.gross for entry in entries), Unit.LENGTH)
    held = total((entry.buying.from_stock for entry in entries), Unit.LENGTH)
    to_buy = cloth_to_buy(gross, held, cloth, spare=spare)
    why = ""
    if unplaced:
        why = f"{unplaced} {'part finds' if unplaced == 1 else 'parts find'} no room"
    elif to_buy and not width.on_sale:
        why = "too short at hand, and none is on sale"
    return WidthTried(
        material=cloth.name,
        width=width,
        needed=None if why else gross,
        from_stock=held,
        to_buy=to_buy,
        cost=cost_of(to_buy, width),
        why=why,
    )


def best_width(tried: Sequence[WidthTried]) -> int | None:
    """Return which is taken: the cheapest with what is at hand, None if none can be used.

    Where a price is missing it is the one of which the least area is bought; of those that
    cost the same the one that takes the least area.
    """
    usable = [i for i, one in enumerate(tried) if one.needed is not None]
    by_cost = all(tried[i].cost is not None for i in usable)

    def rank(i: int) -> tuple[float, float]:
        one = tried[i]
        wide = one.width.booked
        paid = one.cost if by_cost and one.cost is not None else one.to_buy.value * wide
        return (paid, (one.needed.value if one.needed else 0.0) * wide)

    return min(usable, key=rank, default=None)


def chosen_width(
    tried: Sequence[WidthTried], entries: Sequence[Entry], cloth: Cloth, *, spare: float = 0.0
) -> tuple[WidthTried, ...]:
    """Return what was tried of a cloth, the chosen width with what the plan takes of it.

    `entries`: the plan's, settled; none if all of it comes from remnants.
    """
    return tuple(
        replace(tried_at(one.width, entries, cloth, spare=spare), chosen=True)
        if one.chosen
        else one
        for one in tried
        if one.material == cloth.name
    )
