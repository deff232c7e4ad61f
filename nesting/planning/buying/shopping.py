"""The buying list: everything a plan asks for, material by material, and what a bag costs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.job.job import Notion
from nesting.marker.measure import piece_area
from nesting.material.material import Cloth, Material, SheetGoods
from nesting.planning.buying.bought import cloth_to_buy, cost_of
from nesting.planning.buying.used_up import used_up
from nesting.planning.lay.slots import slots_of
from nesting.planning.plan import Entry, Plan
from nesting.quantity import NO_LENGTH, Quantity, Unit, of_sheets, total
from nesting.shown import Brief
from nesting.units import round_up

__all__ = ["BagCost", "Purchase", "ShoppingList", "shopping_list"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """One line of the buying list, in what is sold of it: a notion has a unit of its own.

    `net`: what the markers take; `gross`: with ends, shrinkage and the spare asked for;
    `stock`: what of it is taken from what is at hand; `to_buy`: the rest, rounded up to
    the step; `cost` of that. `remnants`: those from stock that give parts; what lies on them
    is not counted in the amounts. Of leather `remnants` are left-overs and hides in stock.
    """

    name: str
    net: Quantity
    gross: Quantity
    stock: Quantity
    to_buy: Quantity
    cost: float | None
    width: float | None = None
    remnants: tuple[str, ...] = ()


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


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class ShoppingList(Brief):
    """All lines, their sum, and what each bag costs. Sums are None where a price is missing.

    `cost_per_bag`: the mean over all bags; `bag_costs`: design by design.

    Examples
    --------
    >>> shopping_list(plan).cost
    7.4

    """

    lines: tuple[Purchase, ...]
    bags: int
    cost: float | None
    cost_per_bag: float | None
    unpriced: tuple[str, ...] = ()
    bag_costs: tuple[BagCost, ...] = ()


def shopping_list(plan: Plan) -> ShoppingList:
    """Add up what a plan asks to be bought: needed less what is taken from stock.

    A material with several markers is bought once, rounded up once; so much more of each
    as the plan's `spare` says.

    Parameters
    ----------
    plan
        Of a job or an order.

    Returns
    -------
    ShoppingList
        A line for each thing, notions among them; lengths in mm, areas in mm².

    Notes
    -----
    A bag's share of what a material costs is its share of the area cut from it.

    Examples
    --------
    >>> [(line.name, line.to_buy.value, line.cost) for line in shopping_list(plan).lines]
    [('canvas', 400, 7.4)]

    """
    lines: list[Purchase] = []
    for name in dict.fromkeys(entry.material.name for entry in plan.entries):
        entries, goods = plan.entries_of(name), plan.job.material(name)
        bought = entries
        if goods is not None and goods.taken_in is Unit.LENGTH:
            bought = tuple(entry for entry in entries if entry.marker.lay.stock.open_ended)
        if bought:
            line = _material(bought, plan.spare)
        else:
            none = NO_LENGTH  # remnants give everything
            line = Purchase(name=name, net=none, gross=none, stock=none, to_buy=none, cost=0.0)
        lines.append(replace(line, remnants=tuple(one.name for _, one in used_up(entries))))
    bags = sum(bag.count for bag in plan.job.bags)
    notions = _notions(plan)
    lines += notions.values()
    unpriced = tuple(line.name for line in lines if line.cost is None and line.to_buy)
    cost = None if unpriced else round(sum(line.cost or 0.0 for line in lines), 2)
    each = None if cost is None or not bags else round(cost / bags, 2)
    return ShoppingList(
        lines=tuple(lines),
        bags=bags,
        cost=cost,
        cost_per_bag=each,
        unpriced=unpriced,
        bag_costs=() if unpriced else _bag_costs(plan, lines, notions),
    )


def _material(entries: Sequence[Entry], spare: float) -> Purchase:
    material: Material = entries[0].material
    if material.taken_in is Unit.LENGTH:
        return _cloth(entries, material, spare)
    if material.taken_in is Unit.SHEETS:
        return _sheets(entries, material, spare)
    used = total((entry.buying.gross for entry in entries), material.sold_in)
    price = None if material.price is None else material.price / 1e6
    none = Quantity(0.0, material.sold_in)
    return Purchase(
        name=material.name, net=used, gross=used, stock=none, to_buy=used, cost=used.cost(price)
    )


def _cloth(entries: Sequence[Entry], cloth: Cloth, spare: float) -> Purchase:
    gross = total((entry.buying.gross for entry in entries), cloth.sold_in)
    held = total((entry.buying.from_stock for entry in entries), cloth.sold_in)
    to_buy, width = cloth_to_buy(gross, held, cloth, spare=spare), entries[0].width
    return Purchase(
        name=cloth.name,
        net=total((entry.buying.needed for entry in entries), cloth.sold_in),
        gross=gross * (1.0 + spare),
        stock=held,
        to_buy=to_buy,
        cost=cost_of(to_buy, width),
        width=None if width is None else width.booked,
    )


def _sheets(entries: Sequence[Entry], goods: SheetGoods, spare: float) -> Purchase:
    net = of_sheets(sum(entry.buying.sheets for entry in entries))
    gross = net * (1.0 + spare)
    held = of_sheets(min(goods.at_hand, math.ceil(gross.value - 1e-9)))
    to_buy = of_sheets(round_up(max(0.0, (gross - held).value), step=1.0))
    return Purchase(
        name=goods.name, net=net, gross=gross, stock=held, to_buy=to_buy,
        cost=to_buy.cost(goods.price),
    )  # fmt: skip


def _notions(plan: Plan) -> dict[_NotionKey, Purchase]:
    """Return a line a notion: quantities of all bags added up, what is at hand used once."""
    at_hand = dict(plan.job.at_hand)
    needed: dict[_NotionKey, float] = {}
    for bag in plan.job.bags:
        for notion in bag.notions:
            key = _key(notion)
            needed[key] = needed.get(key, 0.0) + notion.quantity * bag.count
    lines = {}
    for (name, unit, price), amount in needed.items():
        held = min(at_hand.get(name, 0.0), amount)
        at_hand[name] = at_hand.get(name, 0.0) - held
        net, stock = Quantity(amount, unit), Quantity(held, unit)
        short = net - stock
        lines[name, unit, price] = Purchase(
            name=name, net=net, gross=net, stock=stock, to_buy=short, cost=short.cost(price)
        )
    return lines


def _key(notion: Notion) -> _NotionKey:
    return (notion.name, notion.unit, notion.price)


_NotionKey = tuple[str, str, float | None]
"""Notions that share a line of the buying list: name, unit, price."""


def _bag_costs(
    plan: Plan, lines: Sequence[Purchase], notions: Mapping[_NotionKey, Purchase]
) -> tuple[BagCost, ...]:
    """Return what one bag of each design costs, material by material and notion by notion."""
    paid = {line.name: line.cost or 0.0 for line in lines}
    parts: dict[str, list[tuple[str, float]]] = {bag.name: [] for bag in plan.job.bags}
    for name in dict.fromkeys(entry.material.name for entry in plan.entries):
        material = plan.job.material(name)
        assert material is not None
        areas = {}
        for bag in plan.job.bags:
            one = replace(plan.job, bags=(replace(bag, count=1),))
            areas[bag.name] = math.fsum(piece_area(s.piece) for s in slots_of(one, material))
        total = math.fsum(areas[bag.name] * bag.count for bag in plan.job.bags)
        for bag in plan.job.bags:
            if areas[bag.name]:
                parts[bag.name].append((name, paid[name] * areas[bag.name] / total))
    for bag in plan.job.bags:
        for notion in bag.notions:
            line = notions[_key(notion)]
            cost = (line.cost or 0.0) * notion.quantity / line.net.value
            parts[bag.name].append((notion.name, cost))
    return tuple(
        BagCost(bag=bag.name, count=bag.count, parts=tuple(parts[bag.name]))
        for bag in plan.job.bags
    )
