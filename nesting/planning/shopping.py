"""The buying list: everything a plan asks for, material by material, and what a bag costs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.marker.measure import piece_area
from nesting.material.material import Cloth, Hides, Material, SheetGoods, Width
from nesting.planning.cut_lengths import taken_from
from nesting.planning.plan import Entry, Plan
from nesting.planning.slots import slots_of
from nesting.units import round_up

__all__ = ["BagCost", "Purchase", "ShoppingList", "shopping_list"]


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
class BagCost:
    """What one bag of a design costs: (line of the buying list, its share), and their sum."""

    bag: str
    count: int
    parts: tuple[tuple[str, float], ...]

    @property
    def each(self) -> float:
        """The sum of its parts."""
        return math.fsum(cost for _, cost in self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShoppingList:
    """All lines, their sum, and what each bag costs. Sums are None where a price is missing.

    `cost_per_bag`: the mean over all bags; `bag_costs`: design by design.
    """

    lines: tuple[Purchase, ...]
    bags: int
    cost: float | None
    cost_per_bag: float | None
    unpriced: tuple[str, ...] = ()
    bag_costs: tuple[BagCost, ...] = ()


def shopping_list(
    plan: Plan, *, stock: Mapping[str, float] | None = None, spare: float = 0.0
) -> ShoppingList:
    """Add up what a plan asks to be bought.

    Parameters
    ----------
    plan
        Any plan; a material with several markers is bought once, rounded up once.
    stock
        What is at hand, by material name, in the line's unit. Cloth that the plan lays
        from rolls at hand is counted by those instead.
    spare
        Share added to what is needed of each material (0.05 is 5 %), before rounding.

    Notes
    -----
    A bag's share of what a material costs is its share of the area cut from it.

    """
    at_hand = stock or {}
    lines: list[Purchase] = []
    for name in dict.fromkeys(entry.material.name for entry in plan.entries):
        entries = [entry for entry in plan.entries if entry.material.name == name]
        cloth = [entry for entry in entries if isinstance(entry.material, Cloth)]
        entries = cloth or entries  # its remnants are at hand
        lines.append(_material(entries, at_hand.get(name, 0.0), spare))
    bags = sum(bag.count for bag in plan.job.bags)
    lines += _notions(plan, at_hand)
    unpriced = tuple(line.name for line in lines if line.cost is None and line.to_buy > 0)
    cost = None if unpriced else round(sum(line.cost or 0.0 for line in lines), 2)
    each = None if cost is None or not bags else round(cost / bags, 2)
    return ShoppingList(
        lines=tuple(lines),
        bags=bags,
        cost=cost,
        cost_per_bag=each,
        unpriced=unpriced,
        bag_costs=() if unpriced else _bag_costs(plan, lines),
    )


def _material(entries: Sequence[Entry], at_hand: float, spare: float) -> Purchase:
    material: Material = entries[0].material
    net = sum(entry.buying.needed for entry in entries)
    gross = sum(entry.buying.gross for entry in entries)
    width = entries[0].width
    if isinstance(material, Cloth):
        fresh, taken = gross, at_hand
        laid = any(entry.laid_from for entry in entries)
        if laid:
            fresh, *of = taken_from(entries, material)
            taken = sum(of)
        gross = (fresh + taken if laid else gross) * (1.0 + spare)
        short = max(0.0, gross - taken)
        to_buy = round_up(short, step=material.step) if material.step else short
        return _line(material.name, "mm", net, gross, taken, to_buy, _per_mm(width), width=width)
    if isinstance(material, SheetGoods):
        needed = float(sum(entry.buying.sheets for entry in entries))
        gross = needed * (1.0 + spare)
        to_buy = round_up(max(0.0, gross - at_hand), step=1.0)
        return _line(material.name, "sheets", needed, gross, at_hand, to_buy, material.price)
    return _hides(material, net, gross, at_hand)


def _per_mm(width: Width | None) -> float | None:
    return None if width is None or width.price is None else width.price / 1000.0


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
    *,
    width: Width | None = None,
) -> Purchase:
    return Purchase(
        name=name,
        unit=unit,
        net=net,
        gross=gross,
        stock=at_hand,
        to_buy=to_buy,
        cost=None if price is None else round(to_buy * price, 2),
        width=None if width is None else width.booked,
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


def _bag_costs(plan: Plan, lines: Sequence[Purchase]) -> tuple[BagCost, ...]:
    """Return what one bag of each design costs, material by material and notion by notion."""
    paid = {line.name: line.cost or 0.0 for line in lines}
    parts: dict[str, list[tuple[str, float]]] = {bag.name: [] for bag in plan.job.bags}
    for name in dict.fromkeys(entry.material.name for entry in plan.entries):
        material = next(m for m in plan.job.materials if m.name == name)
        areas = {}
        for bag in plan.job.bags:
            one = replace(plan.job, bags=(replace(bag, count=1),))
            areas[bag.name] = math.fsum(piece_area(s.piece) for s in slots_of(one, material))
        total = math.fsum(areas[bag.name] * bag.count for bag in plan.job.bags)
        for bag in plan.job.bags:
            if areas[bag.name]:
                parts[bag.name].append((name, paid[name] * areas[bag.name] / total))
    bought = {line.name: line.to_buy / line.net if line.net else 0.0 for line in lines}
    for bag in plan.job.bags:
        for notion in bag.notions:
            cost = notion.quantity * (notion.price or 0.0) * bought.get(notion.name, 1.0)
            parts[bag.name].append((notion.name, cost))
    return tuple(
        BagCost(bag=bag.name, count=bag.count, parts=tuple(parts[bag.name]))
        for bag in plan.job.bags
    )
