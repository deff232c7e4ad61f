"""What the report says of special goods: the price of a print, hides, bed loads, left-overs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from nesting.amounts import Amounts
from nesting.names import listed
from nesting.planning.buying.hide_yield import CLOSE, SMALL_ARTICLES_WASTE, hide_yield
from nesting.planning.buying.remnants import MOST_KEPT, Leftover, most_kept
from nesting.planning.lay.matching import PrintPrice, price_of, print_price
from nesting.planning.plan import Entry
from nesting.writing.pages.markup import Passage, Table
from nesting.writing.pages.wording import money, percent

__all__ = ["goods", "hide_lines", "print_sentence"]


def goods(
    entry: Entry, amounts: Amounts, *, currency: str, leftovers: Sequence[Leftover]
) -> Iterator[Passage]:
    """Yield what is to be said of a marker beyond the usual figures."""
    if said := print_sentence(entry, amounts, currency=currency):
        yield Passage("What the print costs", said)
    for rule, plain in entry.freed:
        if (price := price_of(entry, plain)) is not None:
            said = _rule_sentence(rule, price, amounts, currency=currency)
            yield Passage(f"What the {rule} costs", said)
    if lines := hide_lines(entry, amounts, left_over=leftovers):
        head = ["", "Area", "Share of the hides"]
        table = Table(caption="What the hides yield", head=head, rows=lines, numbers=(1, 2))
        yield Passage(table.caption, table=table, note=_meaning(amounts))
    if entry.loads:
        head, rows = ["Load", "From", "Size", "Parts"], _loads(entry, amounts)
        table = Table(caption="Loads of the bed", head=head, rows=rows, numbers=(1, 2))
        yield Passage(table.caption, _LOADS, table=table)
    if leftovers:
        head, rows = ["Name", "Area", "Largest rectangle in it"], _left(leftovers, amounts)
        table = Table(caption="Left over", head=head, rows=rows, numbers=(1, 2))
        yield Passage(table.caption, table=table, note=_KEPT if most_kept(leftovers) else "")


_KEPT = (
    f"Only the {MOST_KEPT} largest are kept in the list, and in the file of left-overs; there may"
    " be smaller ones."
)


def print_sentence(entry: Entry, amounts: Amounts, *, currency: str) -> str:
    """Say what matching and centring a print costs; nothing if no part asks for it."""
    price = print_price(entry)
    if price is None:
        return ""
    folded = ""
    if entry.material.folded:
        folded = " Folded, that is so in the upper ply only."
    if price.extra < 1.0:
        return (
            "No shorter marker was found without centring the motifs and matching the seams."
            + folded
        )
    share = price.extra / price.plain if price.plain > 0.0 else 0.0
    said = (
        f"With the motifs centred and the seams matched the marker is"
        f" {amounts.needed(price.matched)} long, without {amounts.needed(price.plain)}:"
        f" {amounts.size(price.extra)} more ({percent(share)}).{folded}"
    )
    return said + _more_to_buy(price, amounts, currency=currency)


def _more_to_buy(price: PrintPrice, amounts: Amounts, *, currency: str) -> str:
    if price.to_buy is None:
        return ""
    if not price.to_buy:
        return " At the shop's steps that takes no more cloth."
    cost = "" if price.cost is None else f", {money(price.cost, currency)}"
    return f" To buy: {amounts.said(price.to_buy)} more{cost}."


_FREE = {
    "nap": "with parts turned either way",
    "bias": "with all of them along the grain or across it",
}


def _rule_sentence(rule: str, price: PrintPrice, amounts: Amounts, *, currency: str) -> str:
    """Say about what a rule costs: the marker without it had a part of the time only."""
    if price.extra < 1.0:
        return f"In part of the time no shorter marker was found {_FREE[rule]}."
    share = price.extra / price.plain if price.plain > 0.0 else 0.0
    said = (
        f"About {amounts.size(price.extra)} ({percent(share)}): {_FREE[rule]} a marker of"
        f" {amounts.needed(price.plain)} was found in part of the time."
    )
    return said + _more_to_buy(price, amounts, currency=currency)


def _meaning(amounts: Amounts) -> str:
    return (
        f"First waste lies between parts within {amounts.setting(CLOSE)} of one another, second"
        " waste at the edges and around flaws; what is kept is neither. The rule of thumb is the"
        " trade's for small articles."
    )


_LOADS = (
    "The lay is larger than the bed. No part lies across a border: cut it up at the borders, "
    "or move it on by one load at a time."
)


def hide_lines(
    entry: Entry, amounts: Amounts, *, left_over: Sequence[Leftover] | None = None
) -> list[list[str]]:
    """Return name, area and share of what a marker makes of its hides; none on other goods."""
    found = hide_yield(entry, left_over=left_over)
    if found is None or not found.gross:
        return []
    rows = [
        ("Hides used", found.gross),
        ("Net: the parts", found.net),
        ("First waste", found.first),
        ("Second waste", found.second),
        ("Kept as left-overs", found.kept),
    ]
    lines = [[name, amounts.leather(area), percent(area / found.gross)] for name, area in rows]
    lines.append(["Both wastes, of what is used up", "", percent(found.waste)])
    lines.append(["Rule of thumb", "", percent(SMALL_ARTICLES_WASTE)])
    return lines


def _loads(entry: Entry, amounts: Amounts) -> list[list[str]]:
    several = len(entry.marker.sheets) > 1
    return [
        [
            str(number),
            (f"no. {load.sheet + 1}: " if several else "")
            + f"{amounts.size(load.x)}, {amounts.size(load.y)}",
            amounts.sizes(load.length, load.width),
            listed(load.parts),
        ]
        for number, load in enumerate(entry.loads, start=1)
    ]


def _left(leftovers: Sequence[Leftover], amounts: Amounts) -> list[list[str]]:
    return [
        [left.name, amounts.area(left.area), amounts.rooms(*left.rectangle[2:])]
        for left in leftovers
    ]
