"""The report's sentences on joins, and on what the trade's rules of thumb would have asked for."""

from __future__ import annotations

import math
from collections.abc import Iterator

from nesting.amounts import Amounts
from nesting.planning.buying.rules_of_thumb import cloth_rules, leather_rules
from nesting.planning.joins import Together, joined, unjoined
from nesting.planning.plan import Entry
from nesting.writing.pages.markup import Passage
from nesting.writing.pages.wording import counted, percent

__all__ = ["join_sentences", "rule_sentences", "rules"]


def rules(entry: Entry, amounts: Amounts) -> Iterator[Passage]:
    """Yield what is joined, and what the rules say."""
    if joins := join_sentences(entry, amounts):
        yield Passage("Joined from several pieces", lines=joins)
    if said := rule_sentences(entry, amounts):
        yield Passage("What the rules of thumb say", lines=said, note=_RULES)


_RULES = "Rules of thumb, for comparison only. Buy by the marker."


def join_sentences(entry: Entry, amounts: Amounts) -> list[str]:
    """Say of each piece that is put together: lengths, number of joins, loss."""
    said = [_joined(one, amounts) for one in joined(entry)]
    return said + [
        f"{one.piece} alone needs {amounts.needed(one.length)} of cloth; everything else, and its"
        f" halves, about {amounts.needed(one.rest)}. If it may be joined, say so: pieced in"
        " its [[cut]]."
        for one in unjoined(entry)
    ]


def _joined(one: Together, amounts: Amounts) -> str:
    sizes = "; ".join(dict.fromkeys(amounts.sizes(*size) for size in one.sizes))
    times = "" if one.times == 1 else f" ({one.times} times)"
    took = "takes" if one.joins == 1 else "take"
    loss = "" if one.shorter is None else f"{amounts.size(one.shorter)} of the length and "
    return (
        f"{one.piece}{times}: from {counted(len(one.sizes), 'piece')} of {sizes}, with "
        f"{counted(one.joins, 'join')}, which {took} {loss}{amounts.area(one.lost)}."
        + (
            f" In one it would need {amounts.needed(one.whole)} of cloth."
            if one.whole < math.inf
            else ""
        )
    )


def rule_sentences(entry: Entry, amounts: Amounts) -> list[str]:
    """Say what rules of thumb ask for, where there are any."""
    leather = leather_rules(entry)
    if leather is not None:
        share = percent(leather.waste)
        return [
            f"Leather for the net area at {share} of waste: {amounts.leather(leather.gross)}.",
            f"The net area and {share} of it, in whole ft², as some suppliers reckon:"
            f" {amounts.leather(leather.added)}.",
        ]
    cloth = cloth_rules(entry)
    if cloth is None:
        return []
    said = [f"The parts' area alone fills {amounts.needed(cloth.by_area)} of the usable width."]
    if cloth.allowance is not None:
        said.append(
            "Half a repeat lost along and across at each part that is centred or matched, the"
            f" average, asks for {amounts.needed(cloth.allowance)}."
        )
    if cloth.in_rows is not None and cloth.simple is not None:
        said.append(
            "What is centred, laid in rows of its own that take whole repeats:"
            f" {amounts.needed(cloth.in_rows)}; with one repeat more for each row instead:"
            f" {amounts.needed(cloth.simple)}."
        )
    return said
