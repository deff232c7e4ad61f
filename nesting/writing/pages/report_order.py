"""The report's sections for orders: the spreads, how good they are, and what a bag costs."""

from __future__ import annotations

from nesting.names import listed
from nesting.planning.buying.shopping import ShoppingList
from nesting.planning.orders.bundles import faces_each_other
from nesting.planning.plan import Plan
from nesting.planning.summary import order_lines, taken_and_least
from nesting.writing.pages.markup import Passage, Table
from nesting.writing.pages.wording import entry_title, money, percent

__all__ = ["bag_costs", "cutting_plan", "widths_compared"]


def cutting_plan(plan: Plan) -> list[Passage]:
    """Return the spreads and their bounds; nothing for a plan that is no order."""
    if not plan.bounds:
        return []
    spreads, bounds = _spreads(plan), _bounds(plan)
    return [
        Passage("The cutting plan", table=spreads if spreads.rows else None),
        Passage(
            "How good it is",
            table=bounds,
            note="No plan goes below: under the same table, plies, bags a marker and ends. "
            "The best plan lies between the two.",
        ),
    ]


def _spreads(plan: Plan) -> Table:
    amounts = plan.job.amounts
    rows = [
        [
            entry_title(entry),
            listed(f"{count} × {bag}" for bag, count in entry.bags)
            + (" (two plies)" if faces_each_other(entry, plan.job) else ""),
            " + ".join(map(str, entry.spreads)),
            amounts.needed(entry.figures.length),
            amounts.taken(entry.buying.needed),
        ]
        for entry in plan.entries
        if entry.width is not None
    ]
    return Table(
        caption="The cutting plan",
        head=["Marker", "Each ply gives", "Plies of its spreads", "Long", "Cloth, all plies"],
        rows=rows,
        numbers=(2, 3, 4),
    )


def _bounds(plan: Plan) -> Table:
    amounts = plan.job.amounts
    rows = [
        [
            line.material,
            str(line.spreads) if line.spreads else "",
            amounts.taken(taken),
            amounts.least(least),
            percent(line.gap),
        ]
        for line, bound in zip(order_lines(plan), plan.bounds, strict=True)
        for taken, least in [taken_and_least(plan, bound)]
    ]
    return Table(
        caption="How good the cutting plan is",
        head=["Material", "Spreads", "Taken, with ends", "No plan goes below", "Above that"],
        rows=rows,
        numbers=(1, 2, 3, 4),
    )


def widths_compared(plan: Plan) -> Passage | None:
    """Return what each width on sale would have come to; None if there is no choice."""
    if not plan.widths_tried:
        return None
    amounts, currency = plan.job.amounts, plan.job.currency
    rows = [
        [tried.material, amounts.setting(tried.width.booked), "", "", "", "", tried.why]
        if tried.needed is None
        else [
            tried.material,
            amounts.setting(tried.width.booked),
            amounts.taken(tried.needed),
            amounts.taken(tried.from_stock) if tried.from_stock else "",
            amounts.said(tried.to_buy),
            "" if tried.cost is None else money(tried.cost, currency),
            "taken" if tried.chosen else "",
        ]
        for tried in plan.widths_tried
    ]
    table = Table(
        caption="Which width",
        head=["Material", "Width", "Needed", "From stock", "To buy", "Cost", ""],
        rows=rows,
        numbers=(1, 2, 3, 4, 5),
    )
    return Passage(
        table.caption,
        table=table,
        note="The cheapest is taken, what is at hand costing nothing; where a price is missing it "
        "is the one of which the least area is bought. The widths not taken were laid in part of "
        "the time: with more they may come out a little shorter.",
    )


def bag_costs(plan: Plan, bought: ShoppingList) -> Passage | None:
    """Return what one bag of each design costs, part by part; None for a single bag."""
    if not bought.bag_costs or bought.bags < 2:
        return None
    currency = plan.job.currency
    names = list(dict.fromkeys(name for cost in bought.bag_costs for name, _ in cost.parts))
    shares = [dict(cost.parts) for cost in bought.bag_costs]
    rows = [
        [name, *(money(share[name], currency) if name in share else "" for share in shares)]
        for name in names
    ]
    table = Table(
        caption="What one bag costs",
        head=["", *(cost.bag for cost in bought.bag_costs)],
        rows=rows,
        foot=[["One bag", *(money(cost.each, currency) for cost in bought.bag_costs)]],
        numbers=range(1, 1 + len(shares)),
    )
    return Passage(
        table.caption,
        table=table,
        note="What is bought of a material is shared out by the area that each bag has of it.",
    )
