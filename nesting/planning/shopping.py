"""The buying list: everything a plan asks for, material by material, and what a bag costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from nesting.material.material import Cloth, Hides, Material, SheetGoods
from nesting.planning.plan import Entry, Plan
from nesting.units import round_up

__all__ = ["Purchase", "ShoppingList", "shopping_list"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """One line of the buying list.

    `unit` is "mm" for cloth, "sheets", "mm²" for leather, or a notion's own unit.
    `net`: what the markers take; `gross`: with ends, shrinkage and the spare asked for;
    `stock`: at hand; `to_buy`: the rest, rounded up to the step; `cost` of that.
    """

    name: str
    unit: str
    net: float
    gross: float
    stock: float
    to_buy: float
    cost: float | None
    width: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShoppingList:
    """All lines, their sum, and the share of one bag. Sums are None where a price is missing."""

    lines: tuple[Purchase, ...]
    bags: int
    cost: float | None
    cost_per_bag: float | None
    unpriced: tuple[str, ...] = ()


def shopping_list(
    plan: Plan, *, stock: Mapping[str, float] | None = None, spare: float = 0.0
) -> ShoppingList:
    """Add up what a plan asks to be bought.

    Parameters
    ----------
    plan
        Any plan; a material with several markers is bought once, rounded up once.
    stock
        What is at hand, by material name, in the line's unit.
    spare
        Share added to what is needed of each material (0.05 is 5 %), before rounding.

    """
    at_hand = stock or {}
    lines: list[Purchase] = []
    for name in dict.fromkeys(entry.material.name for entry in plan.entries):
        entries = [entry for entry in plan.entries if entry.material.name == name]
        lines.append(_material(entries, at_hand.get(name, 0.0), spare))
    bags = sum(bag.count for bag in plan.job.bags)
    lines += _notions(plan, at_hand)
    unpriced = tuple(line.name for line in lines if line.cost is None and line.to_buy > 0)
    cost = None if unpriced else round(sum(line.cost or 0.0 for line in lines), 2)
    each = None if cost is None or not bags else round(cost / bags, 2)
    return ShoppingList(
        lines=tuple(lines), bags=bags, cost=cost, cost_per_bag=each, unpriced=unpriced
    )


def _material(entries: list[Entry], at_hand: float, spare: float) -> Purchase:
    material: Material = entries[0].material
    net = sum(entry.buying.needed for entry in entries)
    gross = sum(entry.buying.gross for entry in entries) * (1.0 + spare)
    width = entries[0].width
    if isinstance(material, Cloth):
        short = max(0.0, gross - at_hand)
        to_buy = round_up(short, step=material.step) if material.step else short
        price = width.price / 1000.0 if width and width.price is not None else None
        return _line(material.name, "mm", net, gross, at_hand, to_buy, price, width)
    if isinstance(material, SheetGoods):
        needed = float(sum(entry.buying.sheets for entry in entries))
        to_buy = round_up(max(0.0, needed * (1.0 + spare) - at_hand), step=1.0)
        return _line(
            material.name, "sheets", needed, needed * (1 + spare), at_hand, to_buy, material.price
        )
    return _hides(material, net, gross, at_hand)


def _hides(material: Hides, net: float, gross: float, at_hand: float) -> Purchase:
    price = None if material.price is None else material.price / 1e6
    return _line(material.name, "mm²", net, gross, at_hand, max(0.0, gross - at_hand), price)


def _line(
    name: str,
    unit: str,
    net: float,
    gross: float,
    at_hand: float,
    to_buy: float,
    price: float | None,
    width: object = None,
) -> Purchase:
    booked = getattr(width, "booked", None)
    return Purchase(
        name=name,
        unit=unit,
        net=net,
        gross=gross,
        stock=at_hand,
        to_buy=to_buy,
        cost=None if price is None else round(to_buy * price, 2),
        width=booked,
    )


def _notions(plan: Plan, at_hand: Mapping[str, float]) -> list[Purchase]:
    """Return a line a notion: quantities of all bags added up."""
    needed: dict[tuple[str, str, float | None], float] = {}
    for bag in plan.job.bags:
        for notion in bag.notions:
            key = (notion.name, notion.unit, notion.price)
            needed[key] = needed.get(key, 0.0) + notion.quantity * bag.count
    return [
        _line(
            name,
            unit,
            amount,
            amount,
            at_hand.get(name, 0.0),
            max(0.0, amount - at_hand.get(name, 0.0)),
            price,
        )
        for (name, unit, price), amount in needed.items()
    ]
