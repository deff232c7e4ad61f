"""The report's sections for orders: the spreads, how good they are, and what a bag costs."""

from __future__ import annotations

from nesting.names import listed
from nesting.planning.buying.shopping import ShoppingList
from nesting.planning.orders.bundles import faces_each_other
from nesting.planning.plan import Plan
from nesting.planning.summary import order_lines, taken_and_least
from nesting.writing.pages.html import element, table
from nesting.writing.pages.wording import (
    entry_title,
    money,
    percent,
)

__all__ = ["costs_section", "order_section", "widths_section"]


def order_section(plan: Plan) -> str:
    """Return the cutting plan and its bounds; nothing for a plan that is no order."""
    if not plan.bounds:
        return ""
    amounts = plan.job.amounts
    spreads = [
        [
            entry_title(entry),
            listed(f"{count} × {bag}" for bag, count in entry.bags)
            + (" (two plies)" if faces_each_other(entry, plan.job) else ""),
            " + ".join(map(str, entry.spreads)),
            amounts.needed(entry.figures.length),
            amounts.needed(entry.buying.needed),
        ]
        for entry in plan.entries
        if entry.width is not None
    ]
    bounds = [
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
    return "".join(
        [
            f"<section>{element('h2', 'The cutting plan')}",
            table(
                ["Marker", "Each ply gives", "Plies of its spreads", "Long", "Cloth, all plies"],
                spreads,
                caption="The cutting plan",
                numbers=(2, 3, 4),
            )
            if spreads
            else "",
            element("h3", "How good it is"),
            table(
                ["Material", "Spreads", "Taken, with ends", "No plan goes below", "Above that"],
                bounds,
                caption="How good the cutting plan is",
                numbers=(1, 2, 3, 4),
            ),
            element(
                "p",
                "No plan goes below: under the same table, plies, bags a marker and ends. "
                "The best plan lies between the two.",
                css="soft",
            ),
            "</section>",
        ]
    )


def widths_section(plan: Plan) -> str:
    """Return what each width on sale would have come to; nothing if there is no choice."""
    if not plan.widths_tried:
        return ""
    amounts, currency = plan.job.amounts, plan.job.currency
    rows = [
        [tried.material, amounts.setting(tried.width.booked), "", "", "", "", tried.why]
        if tried.needed is None
        else [
            tried.material,
            amounts.setting(tried.width.booked),
            amounts.needed(tried.needed),
            amounts.needed(tried.from_stock) if tried.from_stock else "",
            amounts.bought(tried.to_buy),
            "" if tried.cost is None else money(tried.cost, currency),
            "taken" if tried.chosen else "",
        ]
        for tried in plan.widths_tried
    ]
    lines = table(
        ["Material", "Width", "Needed", "From stock", "To buy", "Cost", ""],
        rows,
        caption="Which width",
        numbers=(1, 2, 3, 4, 5),
    )
    said = element(
        "p",
        "The cheapest is taken, what is at hand costing nothing; where a price is missing it is "
        "the one of which the least area is bought. The widths not taken were laid in part of "
        "the time: with more they may come out a little shorter.",
        css="soft",
    )
    return f"<section>{element('h2', 'Which width')}{lines}{said}</section>"


def costs_section(plan: Plan, bought: ShoppingList) -> str:
    """Return what one bag of each design costs, part by part, if there are several designs."""
    if not bought.bag_costs or bought.bags < 2:
        return ""
    currency = plan.job.currency
    names = list(dict.fromkeys(name for cost in bought.bag_costs for name, _ in cost.parts))
    shares = [dict(cost.parts) for cost in bought.bag_costs]
    rows = [
        [name, *(money(share[name], currency) if name in share else "" for share in shares)]
        for name in names
    ]
    return "".join(
        [
            f"<section>{element('h2', 'What one bag costs')}",
            table(
                ["", *(cost.bag for cost in bought.bag_costs)],
                rows,
                caption="What one bag costs",
                numbers=range(1, 1 + len(shares)),
                foot=[["One bag", *(money(cost.each, currency) for cost in bought.bag_costs)]],
            ),
            element(
                "p",
                "What is bought of a material is shared out by the area that each bag has of it.",
                css="soft",
            ),
            "</section>",
        ]
    )
