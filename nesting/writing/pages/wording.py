"""The figures of a plan in words: for the report, and the heading of a picture."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from nesting.amounts import Amounts
from nesting.names import marker_title
from nesting.planning.buying.shopping import Purchase
from nesting.planning.buying.used_up import used_up
from nesting.planning.plan import Entry
from nesting.quantity import Unit
from nesting.search.result import Stopped

__all__ = [
    "bought_said",
    "bound_and_gap",
    "counted",
    "entry_title",
    "figures_said",
    "headline",
    "key_words",
    "laid_on",
    "money",
    "percent",
    "search_story",
    "stock_said",
    "stock_words",
    "stopped_because",
    "to_buy",
]

_STOPPED = {
    Stopped.OPTIMAL: "it is proved that no better marker exists",
    Stopped.TIME: "the time given was up",
    Stopped.ROUNDS: "the rounds given were done",
    Stopped.TARGET: "the length asked for was reached",
    Stopped.STALLED: "it had found nothing better for a long while",
    Stopped.INTERRUPTED: "it was interrupted",
    Stopped.NOT_FOUND: "it found no room for some parts in the time; more time may",
    Stopped.INFEASIBLE: "it is proved that not all parts can be laid",
}


def percent(share: float) -> str:
    """Return a share as per cent, one decimal; never rounded up to 100."""
    value = round(100.0 * share, 1)
    return f"{99.9 if value >= 100.0 and share < 1.0 - 1e-9 else value:.1f} %"


def money(amount: float | None, currency: str) -> str:
    """Return an amount with its currency, or that no price was given."""
    return "no price given" if amount is None else f"{amount:,.2f} {currency}".strip()


def to_buy(entry: Entry, amounts: Amounts) -> str:
    """Return what is to be bought, at the shop's step."""
    said = amounts.said(entry.buying.to_buy)
    if entry.material.is_leather and not entry.buying.to_buy:
        return f"nothing, {laid_on(entry)}"
    return f"{laid_on(entry)}: {said} as at hand" if entry.material.is_leather else said


def laid_on(entry: Entry) -> str:
    """Return on how many sheets, hides and remnants a marker lies: ``"5 sheets, 1 remnant"``."""
    what = entry.material.kind
    old = "from stock" if what == "hide" else "remnant"
    number = len(entry.marker.sheets)
    used = sum(1 for _ in used_up([entry]))
    words = [counted(number - used, what)] if number > used or not used else []
    if used:
        words.append(f"{counted(used, what)} {old}" if what == "hide" else counted(used, old))
    return ", ".join(words)


def stock_words(entry: Entry, amounts: Amounts) -> list[str]:
    """Return which of the lengths at hand a marker's plies come from."""
    rolls = sorted({roll for laid in entry.laid_from for roll in laid.rolls if roll})
    at_hand = entry.material.rolls
    return [f"from the length of {amounts.room(at_hand[roll - 1])}" for roll in rolls]


def counted(number: int, what: str) -> str:
    """Return a number of things: ``"1 sheet"``, ``"2 sheets"``."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def stopped_because(stopped: str) -> str:
    """Return why the search ended, as half a sentence."""
    try:
        return _STOPPED[Stopped(stopped)]
    except ValueError:
        return stopped


def entry_title(entry: Entry) -> str:
    """Return the heading of a marker: its material, and its name if a material has several."""
    return marker_title(entry.material.name, entry.marker.lay.name)


def stock_said(line: Purchase, amounts: Amounts) -> str:
    """Return what a line of the buying list takes from stock: ``"2 sheets, 1 remnant"``."""
    words = [amounts.said(line.stock)] if line.stock else []
    if line.remnants:
        leather = line.net.unit == Unit.AREA
        what = "left-over or hide" if leather else "remnant"
        many = "left-overs and hides" if leather else "remnants"
        count = len(line.remnants)
        words.append(f"{count} {what if count == 1 else many}")
    return ", ".join(words)


def bound_and_gap(entry: Entry, amounts: Amounts) -> tuple[str, str]:
    """Return the lower bound, and in words the gap to it and what says so."""
    if not entry.bound:
        return "not known", "not known"
    gap = percent(entry.taken.above(entry.bound))
    how = entry.search.bound_by
    return amounts.least(entry.bound), f"{gap}, proved {how}" if how else gap


def _why_it_ended(entry: Entry) -> str:
    """Return why the search ended; on sheets it is their number that is proved."""
    if entry.search.stopped == Stopped.OPTIMAL and entry.width is None:
        return f"it is proved that no fewer {entry.material.kinds} do"
    return stopped_because(entry.search.stopped)


def search_story(entry: Entry, amounts: Amounts) -> str:
    """Return how the marker was found, in sentences."""
    record, found = entry.search, entry.figures
    first = ""
    if entry.width is not None:
        first = (
            f" It was {amounts.needed(record.first_length)} long; the one shown is"
            f" {amounts.needed(found.length)}."
        )
    workers = counted(record.workers, "worker")
    return (
        f"First layout after {record.first_seconds:.2f} s.{first} The search ended "
        f"after {record.seconds:.1f} s and {record.rounds} rounds because "
        f"{_why_it_ended(entry)} (seed {record.seed}, {workers})."
    )


def key_words(legends: Iterable[Sequence[tuple[str, str]]]) -> list[str]:
    """Return what keys on a page mean, one string each: ``"E = handle"``; each once."""
    return list(dict.fromkeys(f"{key} = {name}" for legend in legends for key, name in legend))


def headline(entry: Entry, amounts: Amounts, *, currency: str = "") -> tuple[str, list[str]]:
    """Return a picture's title and the figures below it."""
    return entry_title(entry), [
        *figures_said(entry, amounts),
        *bought_said(entry, amounts, currency),
    ]


def figures_said(entry: Entry, amounts: Amounts) -> list[str]:
    """Return how large a marker is, and how much of it is parts."""
    found = entry.figures
    words = []
    if entry.width is not None:
        words = [
            f"length {amounts.needed(found.length)}",
            f"width {amounts.setting(entry.width.booked)}, usable"
            f" {amounts.setting(entry.width.usable)}",
        ]
    else:
        words = [counted(found.sheets, entry.material.kind)]
    return [
        *words,
        f"{found.parts} parts",
        f"marker efficiency {percent(found.efficiency)}",
        f"utilisation {percent(found.utilisation)}",
    ]


def bought_said(entry: Entry, amounts: Amounts, currency: str) -> list[str]:
    """Return what is bought for a marker, where that isn't its length, and what it costs."""
    words = [f"buy {to_buy(entry, amounts)}"] if entry.width is None or entry.buying.step else []
    return words + ([] if entry.buying.cost is None else [money(entry.buying.cost, currency)])
