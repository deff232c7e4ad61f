"""A marker's section of the report: its drawings, what is cut, and its figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from nesting.errors import Severity
from nesting.planning.buying.remnants import Leftover
from nesting.planning.plan import Entry, Plan
from nesting.writing.neutral.alike import alike, alike_words
from nesting.writing.neutral.draw import draw_entry, draw_grounds
from nesting.writing.neutral.drawing import Drawing, Operation
from nesting.writing.neutral.keys import Keys, job_keys
from nesting.writing.pages.markup import Passage
from nesting.writing.pages.report_goods import goods
from nesting.writing.pages.report_rules import rules
from nesting.writing.pages.report_tables import cutting_list
from nesting.writing.pages.view import in_rows, rows_for, screen_lettering, screen_svg
from nesting.writing.pages.wording import (
    bound_and_gap,
    entry_title,
    key_words,
    money,
    percent,
    search_story,
    stock_words,
    to_buy,
)

__all__ = ["marker_section"]

_PAGE, _HIGH = 180.0, 95.0  # mm: the most a marker takes of a page, its figures below it


def marker_section(plan: Plan, entry: Entry, leftovers: Sequence[Leftover]) -> dict[str, object]:
    """Return what the report tells of a marker, by what its template calls it."""
    keys, amounts = job_keys(plan.job), plan.job.amounts
    faults = [f.text for f in entry.findings if f.severity is Severity.FAULT]
    faults += [f"{name} could not be laid: {why}" for name, why in entry.unplaced]
    notes = [f.text for f in entry.findings if f.severity is not Severity.FAULT]
    return {
        "title": entry_title(entry),
        "faults": Passage("Faults of this marker", lines=faults) if faults else None,
        "notes": " ".join(f"{note[:1].upper()}{note[1:]}." for note in notes),
        "drawings": _drawings(entry, keys),
        "cut": Passage("Cutting list", table=cutting_list(entry, keys=keys)),
        "figures": [*_lengths(plan, entry), *_bought(plan, entry), *_shares(plan, entry)],
        "goods": list(goods(entry, amounts, currency=plan.job.currency, leftovers=leftovers)),
        "further": [
            *rules(entry, amounts),
            Passage("How the marker was found", search_story(entry, amounts)),
        ],
    }


def _drawings(entry: Entry, keys: Keys) -> list[dict[str, object]]:
    """Return each ground drawn, of those that are alike the first, in rows if it is long."""
    every, groups = draw_grounds(entry), alike(entry.marker)
    firsts = [group[0] for group in groups]
    grounds = [every[first] for first in firsts]
    rows = [rows_for(ground, across=_PAGE, high=_HIGH) for ground in grounds]
    lettering = [
        screen_lettering(ground, across=_PAGE, high=_HIGH, rows=n)
        for ground, n in zip(grounds, rows, strict=True)
    ]
    drawings = draw_entry(entry, keys=keys, lettering=lettering, sheets=firsts)
    return [
        {
            "rows": [screen_svg(row) for row in in_rows(drawing, n)],
            "caption": _caption(entry, drawing, group),
        }
        for drawing, n, group in zip(drawings, rows, groups, strict=True)
    ]


def _caption(entry: Entry, drawing: Drawing, sheets: tuple[int, ...]) -> str:
    """Say which sheet or hide it is, where that is not the heading above, and how to read it."""
    how = "Arrows: lengthwise grain; one head, to the top, where the piece may not be turned round."
    drawn = {stroke.operation for stroke in drawing.strokes}
    if Operation.SEW in drawn:
        how += " Dashed: the seam line."
    if Operation.MATCH in drawn:
        how += " Ring: the middle of a motif; x: points that match."
    if keys := key_words([drawing.legend]):
        how += f" Keys: {', '.join(keys)}."
    stock, used = entry.marker.lay.stock, entry.marker.sheets
    words = []
    if not stock.open_ended:
        kind = stock.sheets[used[sheets[0]]].name
        words += [kind] if kind not in (entry.marker.lay.name, entry.material.name) else []
        if len(used) > 1:
            what = entry.material.kind
            words.append(alike_words(sheets) or f"{what} {sheets[0] + 1} of {len(used)}")
    name = ", ".join(words)
    name = f"{name[:1].upper()}{name[1:]}." if name else ""
    return " ".join(filter(None, [name, how, *drawing.notes]))


_Figure = tuple[str, str, str]
"""What it is, how much, and what more there is to say of it."""


def _lengths(plan: Plan, entry: Entry) -> Iterator[_Figure]:
    """Yield how long and wide a marker on cloth is."""
    amounts = plan.job.amounts
    if entry.width is None:
        return
    needed, gross = amounts.needed(entry.figures.length), amounts.taken(entry.buying.gross)
    yield "Marker length", needed, "from the first part to the last"
    yield "Length needed", gross, "with ends and shrinkage, all plies"
    width = entry.width
    yield "Width", amounts.setting(width.booked), f"usable {amounts.setting(width.usable)}"


def _shares(plan: Plan, entry: Entry) -> Iterator[_Figure]:
    """Yield how well a marker fills its ground, and what there is to cut."""
    found, amounts = entry.figures, plan.job.amounts
    per = "parts ÷ (length × usable width)"
    if entry.width is None:
        per = f"parts ÷ usable area of the {entry.material.kinds}"
    yield "Marker efficiency", percent(found.efficiency), per
    taken = "parts ÷ all that is taken, edges and ends too"
    yield "Utilisation", percent(found.utilisation), taken
    bound, gap = bound_and_gap(entry, amounts)
    yield "Lower bound", bound, f"gap {gap}"
    yield "Parts", str(found.parts), amounts.area(found.area)
    yield "Cutting", amounts.path(found.cut_length), "outlines and cut-outs, one ply"


def _bought(plan: Plan, entry: Entry) -> Iterator[_Figure]:
    """Yield what a marker takes from stock and what is bought for it: as in the list on top."""
    bought, amounts = entry.buying, plan.job.amounts
    if bought.from_stock:
        yield "From stock", amounts.taken(bought.from_stock), ", ".join(stock_words(entry, amounts))
    if entry.width is not None and not bought.step:
        yield (
            "New cloth",
            amounts.taken(bought.to_buy),
            "bought with its other markers: see the top",
        )
        return
    step = f"in steps of {amounts.step(bought.step.value)}" if entry.width is not None else ""
    yield "To buy", to_buy(entry, amounts), step
    yield "Cost", money(bought.cost, plan.job.currency), ""
