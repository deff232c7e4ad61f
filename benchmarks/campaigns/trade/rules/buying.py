"""What has to be bought: as long as the lay with its ends, before shrinking, in whole steps."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence

from ..asked.goods import Goods
from ..asked.shelf import SAME_WIDTH
from .answer import Entry

__all__ = ["bought_wrong", "gross_of", "length_of", "needed_of", "overdrawn", "taken_of"]


def length_of(entry: Entry) -> float:
    """Return how far a marker reaches along the cloth (mm)."""
    return max((one.lies.bounds[2] for one in entry.lying), default=0.0)


def needed_of(entry: Entry, goods: Goods) -> float:
    """Return what all plies of a marker take with their ends (mm)."""
    each = length_of(entry) + 2.0 * goods.ends if entry.lying else 0.0
    return each * sum(entry.spreads)


def gross_of(entry: Entry, goods: Goods) -> float:
    """Return what has to be there before it is washed (mm)."""
    return needed_of(entry, goods) / (1.0 - goods.shrinks[0])


def taken_of(entry: Entry, goods: Goods) -> dict[int, float]:
    """Return how much (mm, before washing) a marker takes of which length at hand (from 0)."""
    each = gross_of(entry, goods) / max(1, sum(entry.spreads))
    taken: defaultdict[int, float] = defaultdict(float)
    for laid in entry.laid_from:
        for roll in laid["rolls"]:  # one, as no job here lets plies be spliced
            if roll:
                taken[roll - 1] += laid["plies"] * each
    return dict(taken)


def overdrawn(entries: Sequence[Entry], goods: Goods) -> Iterator[str]:
    """Yield what is taken of lengths at hand that are too short, or as wide as no marker is."""
    taken: defaultdict[int, float] = defaultdict(float)
    for entry in entries:
        for roll, amount in taken_of(entry, goods).items():
            taken[roll] += amount
            if roll >= len(goods.rolls):
                yield f"{goods.name} has no length number {roll + 1} at hand"
                return
            wide = goods.rolls[roll][1]
            booked = entry.width["booked"] if entry.width else math.nan
            if wide is not None and not abs(wide - booked) <= SAME_WIDTH:
                yield f"{goods.name}, {booked:g} wide, is taken from a length {wide:g} wide"
    for roll, amount in taken.items():
        there = goods.rolls[roll][0]
        if amount > there + 0.05:
            yield f"{amount:.2f} of {goods.name} are taken from a length of {there:g}"


def bought_wrong(entry: Entry, goods: Goods) -> Iterator[str]:
    """Yield what is wrong with what a marker asks to be bought."""
    said = entry.buying
    if goods.kind == "cloth" and entry.from_roll:
        yield from _cloth(entry, goods)
    elif goods.kind == "sheet":
        new = sum(1 for name in entry.sheets if name == goods.name)
        if said.get("sheets", 0) != new:
            yield f"{new} sheets of {goods.name} are used, {said.get('sheets', 0)} told"
        held = min(new, goods.at_hand)
        if said.get("from_stock", 0.0) != held:
            yield f"{held} sheets of {goods.name} are at hand, {said.get('from_stock', 0.0)} told"
        yield from _price(said.get("cost"), goods.price, float(new - held), goods.name)


def _cloth(entry: Entry, goods: Goods) -> Iterator[str]:
    said, needed, gross = entry.buying, needed_of(entry, goods), gross_of(entry, goods)
    if abs(said["needed"] - needed) > 0.05 or abs(said["gross"] - gross) > 0.05:
        yield f"{goods.name} needs {needed:.2f}, {gross:.2f} before washing, told: {said}"
    if goods.longest is not None and needed > goods.longest + 0.02:
        yield f"the lay of {goods.name} is {needed:.2f} long, at most {goods.longest:g} can be"
    held = sum(taken_of(entry, goods).values())
    if abs(said.get("from_stock", 0.0) - held) > 0.05:
        yield f"{held:.2f} of {goods.name} come from lengths at hand, told: {said}"
    short, bought = max(0.0, gross - held), said["to_buy"]
    steps = bought / goods.step
    if abs(steps - round(steps)) > 1e-6 or not -0.01 <= bought - short < goods.step:
        yield f"{bought:g} of {goods.name} are bought in steps of {goods.step:g} for {short:.2f}"
    wide = [w for w in goods.widths if entry.width and abs(w[0] - entry.width["booked"]) < 1e-6]
    if not wide:
        yield f"{goods.name} is not sold so wide: {entry.width}"
        return
    each = 0.0 if not bought else wide[0][2]
    yield from _price(said.get("cost"), each, bought / 1000.0, goods.name)


def _price(told: float | None, each: float | None, amount: float, name: str) -> Iterator[str]:
    if (told is None) != (each is None):
        yield f"{name} costs {each} each, told: {told}"
    elif (
        told is not None
        and each is not None
        and not math.isclose(told, each * amount, abs_tol=0.011)
    ):
        yield f"{amount:g} of {name} cost {each * amount:.2f}, told: {told:.2f}"
