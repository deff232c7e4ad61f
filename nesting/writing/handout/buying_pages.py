"""The pages of a booklet that say what to buy: each number with the lay that it comes from."""

from __future__ import annotations

import math
from collections.abc import Sequence

from nesting.amounts import METRIC
from nesting.marker.figures import figures
from nesting.material.material import Material
from nesting.material.sums import gross_area
from nesting.names import listed
from nesting.planning.buying.hide_yield import SMALL_ARTICLES_WASTE
from nesting.planning.handout.everybody import USUAL_WIDTHS
from nesting.planning.handout.needed import Needed, Needs
from nesting.quantity import Unit
from nesting.units import LENGTH_UNITS
from nesting.writing.handout.goods_words import goods_words
from nesting.writing.handout.numbered import StoredLay, lay_of
from nesting.writing.handout.setting import SMALL, Column, Setter
from nesting.writing.handout.words import (
    INCHES,
    SAME_WIDTH,
    area_words,
    both_sizes,
    metres,
    notion_words,
    share,
    yards,
)

__all__ = ["buying_pages", "width_words"]

_NOT_FOUND = "not certain"
_UP, _FREE = "one way up", "either way up"


def buying_pages(page: Setter, needs: Needs, lays: tuple[StoredLay, ...]) -> None:
    """Set what to buy."""
    page.section("What to buy")
    _begin(page, needs)
    if needs.standing:
        page.heading("There is no table")
        for said in needs.standing:
            page.paragraph(f"{said[0].upper()}{said[1:]}.")
    else:
        for material in needs.job.materials:
            for size in needs.job.sizes or ("",):
                if rows := [row for row in needs.of(material.name) if row.size == size]:
                    _goods(page, needs, material, rows, lays)
    if needs.notions:
        page.heading("Besides", room=25.0)
        columns = (Column(head="What", share=5.0), Column(head="How much", share=2.0, right=True))
        bought = [(n.name, notion_words(n.quantity, n.unit)) for n in needs.notions]
        page.table(columns, bought)


def _begin(page: Setter, needs: Needs) -> None:
    bags = listed([bag.name for bag in needs.job.bags])
    each = "one" if len(needs.job.bags) < 2 else "one each of"
    margin = f" {share(needs.margin)} is added for crooked cuts, and" if needs.margin else ""
    rounded = f";{margin} lengths are rounded up to what shops cut" if needs.job.cloths else ""
    page.paragraph(
        f"For {each} {bags}. Each number was found by laying all pieces, and checked{rounded}."
        " The lay behind it is drawn in the next section, and stored in a file beside this booklet."
    )
    naps = {row.one_way for row in needs.rows}
    if {True, False} <= naps:
        page.paragraph(
            f"“{_UP.capitalize()}”: for cloth with a nap, or a print that has a top; all pieces lie"
            f" the same way up. “{_FREE.capitalize()}”: for plain cloth; pieces are turned end for"
            " end where that saves some."
        )


def width_words(row: Needed) -> tuple[str, str]:
    """Return a row's width as it is sold in cm and in inches, the job's own first."""
    assert row.width is not None
    metric, inches = METRIC.size(row.width.booked), f"{_inches(row.width.booked)} in"
    return (inches, metric) if row.job.amounts.inches else (metric, inches)


def _inches(booked: float) -> str:
    """Return in how many inches it is sold: whole ones, or as it was set, no wider than it is."""
    if booked in USUAL_WIDTHS:
        return str(USUAL_WIDTHS[booked])
    exact = INCHES.setting(booked).removesuffix(" in")
    return str(math.ceil((booked - SAME_WIDTH) / LENGTH_UNITS["in"])) if "." in exact else exact


def _goods(
    page: Setter,
    needs: Needs,
    material: Material,
    rows: Sequence[Needed],
    lays: tuple[StoredLay, ...],
) -> None:
    size = rows[0].size
    page.heading(f"{material.name}, size {size}" if size else material.name, room=35.0)
    first = size == needs.job.sizes[0] if size else True
    if first and (said := goods_words(material, needs.job.amounts)):
        page.paragraph(said, height=SMALL, grey=0.25)
    if material.taken_in is Unit.LENGTH:
        _cloth(page, needs, rows, lays)
    elif material.is_leather:
        _leather(page, rows[0], lays)
    else:
        _sheets(page, material, rows[0], lays)
    for row in rows:
        if said := _doubt(row):
            page.paragraph(said, height=SMALL)


def _cloth(page: Setter, needs: Needs, rows: Sequence[Needed], lays: tuple[StoredLay, ...]) -> None:
    widths = list(dict.fromkeys(row.width for row in rows))
    two = any(row.one_way is not None for row in rows)
    units = ("yd", "m") if needs.job.amounts.inches else ("m", "yd")
    columns = [Column(head="Width", share=1.1), Column(head="or", share=0.8)]
    for words in (_UP, _FREE) if two else ("",):
        columns += [
            Column(head=f"{words}: {units[0]}".lstrip(": "), share=1.3, right=True, bold=True),
            Column(head=f"or {units[1]}", share=1.2, right=True, bold=True),
            Column(head="lay", share=0.6, right=True),
        ]
    said: list[list[str]] = []
    for width in widths:
        mine = {row.one_way: row for row in rows if row.width == width}
        cells = [*width_words(next(iter(mine.values())))]
        whys = {row.why for row in mine.values()}
        if all(whys):
            said.append([*cells, f"can't be used: {next(iter(whys))}"])
            continue
        for way in (True, False) if two else (None,):
            cells += _cells(needs, mine.get(way) or mine[None], lays)
        said.append(cells)
    page.table(columns, said)


def _cells(needs: Needs, row: Needed, lays: tuple[StoredLay, ...]) -> list[str]:
    if not row.certain:
        return ["—" if row.why else _NOT_FOUND, "", ""]
    number = next(str(lay.number) for lay in lay_of(lays, row))
    said = [metres(needs.metres(row)), yards(needs.yards(row))]
    return [*(reversed(said) if needs.job.amounts.inches else said), number]


def _sheets(page: Setter, material: Material, row: Needed, lays: tuple[StoredLay, ...]) -> None:
    assert material.taken_in is Unit.SHEETS
    columns = (
        Column(head="Sheets of", share=4.0),
        Column(head="how many", share=1.5, right=True, bold=True),
        Column(head="lay", share=0.8, right=True),
    )
    size = both_sizes(material.length, material.width, row.job.amounts)
    if row.why:
        page.table(columns, [[size, f"can't be used: {row.why}"]])
        return
    cells = [_NOT_FOUND, ""]
    if row.certain and row.entry is not None:
        number = next(lay.number for lay in lay_of(lays, row))
        cells = [str(row.entry.buying.sheets), str(number)]
    page.table(columns, [[size, *cells]])


def _leather(page: Setter, row: Needed, lays: tuple[StoredLay, ...]) -> None:
    columns = (
        Column(head="Leather", share=4.0),
        Column(head="dm²", share=1.3, right=True, bold=True),
        Column(head="ft²", share=1.3, right=True, bold=True),
        Column(head="lay", share=0.8, right=True),
    )
    if row.entry is None:
        page.table(columns, [["hides", f"can't be used: {row.why}"]])
        return
    parts = row.entry.marker.lay.parts
    laid = figures(row.entry.marker).area if row.certain else None
    said = []
    if laid is not None:
        rule = gross_area(laid, waste=SMALL_ARTICLES_WASTE)
        said.append([f"the {len(parts)} pieces alone", *area_words(laid), ""])
        waste = share(SMALL_ARTICLES_WASTE)
        said.append(
            [f"with {waste} lost, a rule of thumb for small articles", *area_words(rule), ""]
        )
        hides = row.entry.buying.sheets
        number = next(str(lay.number) for lay in lay_of(lays, row))
        what = f"{hides} whole {'hide' if hides == 1 else 'hides'}, as laid"
        said.append([what, *area_words(row.entry.buying.gross.value), number])
    else:
        said.append([f"{len(parts)} pieces", _NOT_FOUND])
    page.table(columns, said)


def _doubt(row: Needed) -> str:
    """Say why a row has no number, if it was laid."""
    if row.why and row.width is not None and row.one_way is True:
        return f"{width_words(row)[0]}, {_UP}: {row.why}."
    if row.entry is None or row.certain:
        return ""
    where = "" if row.width is None else f"{width_words(row)[0]}: "
    if row.entry.unplaced:
        names = listed([name for name, _ in row.entry.unplaced])
        return f"{where}not certain: no room was found in the time for {names}."
    return f"{where}not certain: the lay that was found has faults."
