"""Advice as one HTML page: what holds each marker, drawn, and what would save."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from nesting.advice.advise import Advice, AsItIs, Proposal
from nesting.advice.change import Change
from nesting.advice.words import advised, base_words, chain_rows, chain_words, criterion
from nesting.writing.advice.passage import HEAD
from nesting.writing.neutral.chain import chain_strokes
from nesting.writing.neutral.draw import draw_entry, draw_grounds
from nesting.writing.neutral.drawing import Drawing
from nesting.writing.neutral.keys import Keys, job_keys
from nesting.writing.pages.markup import Passage, Table, filled
from nesting.writing.pages.view import in_rows, rows_for, screen_lettering, screen_svg

__all__ = ["advice_page", "chain_drawing"]

_PAGE, _HIGH = 180.0, 95.0  # mm: as in the report


def advice_page(advice: Advice) -> str:
    """Return the page."""
    keys, certain = job_keys(advice.job), criterion(advice)
    return filled(
        "advice.html",
        title=f"{advice.job.name}: what would save",
        name=f"{advice.job.name}: what would save",
        certain=_table(advice, "What would save, the best first", advice.proposals),
        criterion=f"{certain[0].upper()}{certain[1:]}.",
        open=_table(advice, "Not certain: time was up first", advice.open),
        materials=[_material(one, advice, keys) for one in advice.as_it_is],
        others=list(_others(advice)),
    )


def _table(advice: Advice, title: str, proposals: tuple[Proposal, ...]) -> Passage | None:
    if not proposals:
        return None
    words = [advised(one, advice) for one in proposals]
    rows = [[f"{w.material}: {w.what}", w.saves, w.money, w.write, w.beware] for w in words]
    return Passage(title, table=Table(caption=title, head=HEAD, rows=rows))


def _material(one: AsItIs, advice: Advice, keys: Keys) -> dict[str, object]:
    """Return what is told of a material: what holds it, drawn where it has a length."""
    needs = base_words(one, advice.job.amounts, currency=advice.job.currency)
    drawing = chain_drawing(one, keys, across=_PAGE, high=_HIGH)
    rows = [] if drawing is None else list(_rows(drawing))
    held = ""
    table = None
    if one.chain is not None:
        held = chain_words(one.chain)
        held = f"{held[0].upper()}{held[1:]}. The line in the picture runs through what holds it."
        told = chain_rows(one.chain)
        if told:
            caption = "Of 1 less, as it lies, the marker gets so much shorter"
            table = Table(caption=caption, head=("", "Along", "Across"), rows=told, numbers=(1, 2))
    return {
        "title": one.material,
        "needs": f"{needs}.",
        "rows": rows,
        "held": Passage("What holds its length", held, table=table) if held else None,
    }


def _rows(drawing: Drawing) -> Iterator[object]:
    for row in in_rows(drawing, rows_for(drawing, across=_PAGE, high=_HIGH)):
        yield screen_svg(row)


def chain_drawing(
    one: AsItIs, keys: Keys, *, across: float | None = None, high: float = _HIGH
) -> Drawing | None:
    """Draw a marker with what holds its length; None if that isn't known.

    `across`, `high`: of the paper (mm) on which its names are to be read, if it isn't true size.
    """
    if one.chain is None or one.entry is None:
        return None
    entry = replace(one.entry, marker=one.chain.marker)
    lettering = []
    if across is not None:
        (ground,) = draw_grounds(entry)
        rows = rows_for(ground, across=across, high=high)
        lettering = [screen_lettering(ground, across=across, high=high, rows=rows)]
    (drawing,) = draw_entry(entry, keys=keys, lettering=lettering)
    return replace(drawing, strokes=(*drawing.strokes, *chain_strokes(one.chain)))


def _others(advice: Advice) -> Iterator[Passage]:
    for title, changes in (
        ("Laid, and no saving beyond chance", [(c, "") for c in advice.vain]),
        ("Not tried", list(advice.left_out)),
        ("No time for, the most promising first", [(c, "") for c in advice.untried]),
    ):
        if changes:
            yield Passage(title, lines=[_said(change, why) for change, why in changes])


def _said(change: Change, why: str) -> str:
    return f"{change.material}: {change.what}" + (f" ({why})" if why else "")
