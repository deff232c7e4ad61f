"""The tables that `lay`, `order` and `compare` share: what is taken and bought, and widths."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .table import table

if TYPE_CHECKING:
    from nesting import Job, Plan, ShoppingList

__all__ = ["buying_table", "money", "widths_table"]


def money(cost: float | None, job: Job) -> str:
    """Return an amount with the job's currency; nothing where no price is known."""
    return "" if cost is None else f"{cost:.2f} {job.currency}".rstrip()


def buying_table(plan: Plan, bought: ShoppingList) -> str:
    """Return the buying list with its sum: as in the report."""
    from nesting.writing.pages.wording import stock_said

    job, amounts = plan.job, plan.job.amounts
    rows = []
    for line in bought.lines:
        name = line.name
        if line.width is not None:
            name += f", {amounts.setting(line.width)} wide"
        rows.append(
            [
                name,
                amounts.said(line.gross),
                stock_said(line, amounts),
                amounts.said(line.to_buy),
                money(line.cost, job),
            ]
        )
    said = table(["to buy", "needed", "from stock", "buy", "cost"], rows)
    if bought.cost is None:
        return f"{said}\nno price was given for {', '.join(bought.unpriced)}"
    each = ""
    if bought.cost_per_bag is not None and bought.bags > 1:
        each = f", {money(bought.cost_per_bag, job)} a bag"
    return f"{said}\nin all {money(bought.cost, job)}{each}"


def widths_table(plan: Plan) -> str:
    """Return what each width of a cloth would have come to, and which was taken."""
    head = ["material", "width", "needed", "from stock", "buy", "cost", ""]
    rows, amounts = [], plan.job.amounts
    for tried in plan.widths_tried:
        width = amounts.setting(tried.width.booked)
        if tried.needed is None:
            rows.append([tried.material, width, *[""] * 4, tried.why])
            continue
        rows.append(
            [
                tried.material,
                width,
                amounts.taken(tried.needed),
                amounts.taken(tried.from_stock) if tried.from_stock else "",
                amounts.said(tried.to_buy),
                money(tried.cost, plan.job),
                "taken" if tried.chosen else "",
            ]
        )
    return table(head, rows)
