"""How much shorter a marker on cloth had to be for the shop to cut one step less."""

from __future__ import annotations

from nesting.planning.plan import Entry

__all__ = ["one_step_less"]


def one_step_less(entry: Entry) -> tuple[float, float] | None:
    """Return the length to buy with one step less, and by how much the marker is too long (mm).

    None where it isn't bought by itself in steps, or one step less is nothing at all.
    """
    bought, length = entry.buying, entry.figures.length
    needed, gross, step = bought.needed.value, bought.gross.value, bought.step.value
    to_buy = bought.to_buy.value - step
    if entry.width is None or step <= 0.0 or to_buy <= 0.0 or needed <= 0.0:
        return None
    share = needed / gross  # of what is bought, what is left after washing
    longest = (to_buy + bought.from_stock.value) * share / sum(entry.spreads)
    longest -= 2.0 * entry.material.ends
    return (to_buy, length - longest) if longest > 0.0 else None
