"""The report: one HTML page that stands alone, for the screen and for paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path as FilePath

from nesting.errors import Severity
from nesting.job.job import Job
from nesting.names import listed
from nesting.planning.buying.remnant_file import Left, named_leftovers
from nesting.planning.buying.remnants import Leftover
from nesting.planning.buying.shopping import Purchase, ShoppingList, shopping_list
from nesting.planning.plan import Entry, Plan
from nesting.writing.cautions import cautions
from nesting.writing.files import whole_file
from nesting.writing.neutral.alike import alike, alike_words
from nesting.writing.neutral.draw import draw_entry, draw_grounds
from nesting.writing.neutral.drawing import Drawing, Operation
from nesting.writing.neutral.naming import job_keys
from nesting.writing.pages.html import Markup, element, escaped, items, page, table
from nesting.writing.pages.report_goods import goods_sections
from nesting.writing.pages.report_order import costs_section, order_section, widths_section
from nesting.writing.pages.report_rules import rules_sections
from nesting.writing.pages.report_style import STYLE
from nesting.writing.pages.report_tables import cutting_list
from nesting.writing.pages.view import in_rows, rows_for, screen_lettering, screen_svg
from nesting.writing.pages.wording import (
    bound_and_gap,
    counted,
    entry_title,
    key_words,
    money,
    percent,
    search_story,
    stock_said,
    stock_words,
    to_buy,
)

__all__ = ["report", "write_report"]

_PAGE, _HIGH = 180.0, 95.0  # mm: the most a marker takes of a page, its figures below it


def write_report(
    plan: Plan,
    path: FilePath,
    *,
    notes: Sequence[str] = (),
    bought: ShoppingList | None = None,
    left_over: Sequence[Left] | None = None,
    overwrite: bool = False,
) -> None:
    """Write the report of a plan as one HTML file, whole or not at all."""
    text = report(plan, notes=notes, bought=bought, left_over=left_over)
    with whole_file(path, overwrite=overwrite) as temporary:
        temporary.write_text(text, encoding="utf-8")


def report(
    plan: Plan,
    *,
    notes: Sequence[str] = (),
    bought: ShoppingList | None = None,
    left_over: Sequence[Left] | None = None,
) -> str:
    """Return the report of a plan.

    `notes` are said on top; `bought` is its buying list; `left_over` what its markers
    leave (`named_leftovers`), where that is known.
    """
    bought = bought or shopping_list(plan)
    left_over = named_leftovers(plan) if left_over is None else left_over
    sections = [
        order_section(plan),
        _shopping(plan, bought),
        widths_section(plan),
        costs_section(plan, bought),
        *(
            _material(plan, entry, left, number=n)
            for n, (entry, left) in enumerate(left_over, start=1)
        ),
        _assumptions(plan),
        _cautions(plan),
        _meanings(),
    ]
    return page(
        f"{plan.job.name}: markers",
        style=STYLE,
        header=_head(plan, notes),
        main=[_contents([entry for entry, _ in left_over]), *filter(None, sections)],
    )


_FEW = 3
"""Markers up to which a report needs no contents."""


def _contents(entries: Sequence[Entry]) -> str:
    """Return links to the sections of a report with many markers; else nothing."""
    if len(entries) <= _FEW:
        return ""
    links = [
        ("buy", "What to buy"),
        *((f"marker-{n}", entry_title(entry)) for n, entry in enumerate(entries, start=1)),
        ("assumptions", "Assumptions"),
        ("cautions", "Before you cut"),
        ("words", "What the words mean"),
    ]
    said = items(Markup(f'<a href="#{to}">{escaped(name)}</a>') for to, name in links)
    return f'<nav aria-label="Contents">{element("h2", "Contents")}{said}</nav>'


def _head(plan: Plan, notes: Sequence[str]) -> str:
    bags = listed(f"{bag.count} × {bag.name}" for bag in plan.job.bags)
    parts = sum(len(entry.marker.placements) for entry in plan.entries)
    said = [*notes, *_troubles(plan)]
    lines = [
        element("h1", plan.job.name),
        element(
            "p", f"{bags}. {counted(parts, 'part')} in {counted(len(plan.entries), 'marker')}."
        ),
        element("p", f"Made with {plan.program} in {plan.seconds:.1f} s.", css="soft"),
    ]
    if said:
        lines.append(_warning("Do not cut before this is put right", said))
    return "".join(lines)


def _troubles(plan: Plan) -> list[str]:
    """Return one sentence for each marker that is not good."""
    said = []
    for entry in plan.entries:
        faults = sum(f.severity is Severity.FAULT for f in entry.findings)
        if faults:
            said.append(f"{entry_title(entry)}: the judge found {faults} fault(s), listed below.")
        if entry.unplaced:
            said.append(f"{entry_title(entry)}: {len(entry.unplaced)} part(s) could not be laid.")
    return said


def _warning(title: str, lines: Iterable[str]) -> str:
    return f'<div class="bad">{element("strong", title)}{items(lines)}</div>'


def _shopping(plan: Plan, bought: ShoppingList) -> str:
    """Return what to buy, all materials and notions, with the sum."""
    currency = plan.job.currency
    with_ = "ends, shrinkage and spare" if plan.spare else "ends and shrinkage"
    rows = [_purchase(line, plan.job) for line in bought.lines]
    foot = [["Sum", "", "", "", money(bought.cost, currency)]]
    if bought.cost_per_bag is not None and bought.bags > 1:
        foot.append(["Per bag, on average", "", "", "", money(bought.cost_per_bag, currency)])
    missing = ""
    if bought.unpriced:
        missing = element("p", f"No price was given for {listed(bought.unpriced)}.", css="soft")
    lines = table(
        ["Material", f"Needed, with {with_}", "From stock", "To buy", "Cost"],
        rows,
        caption="What to buy",
        numbers=(1, 2, 3, 4),
        foot=foot if bought.cost is not None else (),
    )
    return f"<section id='buy'>{element('h2', 'What to buy')}{lines}{missing}</section>"


def _purchase(line: Purchase, job: Job) -> list[str]:
    name, amounts = line.name, job.amounts
    if line.width is not None:
        name += f", {amounts.setting(line.width)} wide"
    return [
        name,
        amounts.said(line.needed),
        stock_said(line, amounts),
        amounts.said(line.bought),
        money(line.cost, job.currency),
    ]


def _material(plan: Plan, entry: Entry, leftovers: Sequence[Leftover], *, number: int) -> str:
    """Return a material's section: its marker drawn, its figures, its cutting list."""
    keys, amounts = job_keys(plan.job), plan.job.amounts
    grounds = draw_grounds(entry)
    rows = [rows_for(ground, across=_PAGE, high=_HIGH) for ground in grounds]
    lettering = [
        screen_lettering(ground, across=_PAGE, high=_HIGH, rows=n)
        for ground, n in zip(grounds, rows, strict=True)
    ]
    drawings = draw_entry(entry, keys=keys, lettering=lettering)
    figures = [
        f"<figure>{''.join(screen_svg(row) for row in in_rows(drawings[one[0]], rows[one[0]]))}"
        f"{element('figcaption', _caption(entry, drawings[one[0]], one))}</figure>"
        for one in alike(entry.marker)
    ]
    return "".join(
        [
            f'<section class="material" id="marker-{number}">',
            element("h2", entry_title(entry)),
            _findings(entry),
            *figures,
            element("h3", "Cutting list"),
            cutting_list(entry, keys=keys),
            _figures(plan, entry),
            *goods_sections(entry, amounts, currency=plan.job.currency, leftovers=leftovers),
            '<div class="screen">',
            *rules_sections(entry, amounts),
            element("h3", "How the marker was found"),
            element("p", search_story(entry, amounts)),
            "</div></section>",
        ]
    )


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


def _findings(entry: Entry) -> str:
    faults = [f.text for f in entry.findings if f.severity is Severity.FAULT]
    faults += [f"{name} could not be laid: {why}" for name, why in entry.unplaced]
    notes = [f.text for f in entry.findings if f.severity is not Severity.FAULT]
    said = _warning("Faults of this marker", faults) if faults else ""
    sentences = " ".join(f"{note[:1].upper()}{note[1:]}." for note in notes)
    return said + (element("p", sentences, css="soft") if notes else "")


def _figures(plan: Plan, entry: Entry) -> str:
    found, bought = entry.figures, entry.buying
    amounts = plan.job.amounts
    bound, gap = bound_and_gap(entry, amounts)
    shown: list[tuple[str, str, str]] = []
    if entry.width is not None:
        shown += [
            ("Marker length", amounts.needed(found.length), "from the first part to the last"),
            ("Length needed", amounts.needed(bought.gross), "with ends and shrinkage, all plies"),
            (
                "Width",
                amounts.setting(entry.width.booked),
                f"usable {amounts.setting(entry.width.usable)}",
            ),
        ]
    per = "parts ÷ (length × usable width)"
    if entry.width is None:
        per = f"parts ÷ usable area of the {entry.material.kinds}"
    shown += _bought(plan, entry)
    shown += [
        ("Marker efficiency", percent(found.efficiency), per),
        (
            "Utilisation",
            percent(found.utilisation),
            "parts ÷ all that is taken, edges and ends too",
        ),
        ("Lower bound", bound, f"gap {gap}"),
        ("Parts", str(found.parts), amounts.area(found.area)),
        ("Cutting", amounts.path(found.cut_length), "outlines and cut-outs, one ply"),
    ]
    boxes = [
        f"<div>{element('dt', name)}<dd>{escaped(value)}"
        f"{element('small', more) if more else ''}</dd></div>"
        for name, value, more in shown
    ]
    return f"<dl>{''.join(boxes)}</dl>"


def _bought(plan: Plan, entry: Entry) -> Iterator[tuple[str, str, str]]:
    """Yield what a marker takes from stock and what is bought for it: as in the list on top."""
    bought, amounts = entry.buying, plan.job.amounts
    if bought.from_stock:
        held = counted(round(bought.from_stock), "sheet")
        if entry.width is not None:
            held = amounts.needed(bought.from_stock)
        yield "From stock", held, ", ".join(stock_words(entry, amounts))
    if entry.width is not None and not bought.step:
        yield (
            "New cloth",
            amounts.needed(bought.to_buy),
            "bought with its other markers: see the top",
        )
        return
    step = f"in steps of {amounts.step(bought.step)}" if entry.width is not None else ""
    yield "To buy", to_buy(entry, amounts), step
    yield "Cost", money(bought.cost, plan.job.currency), ""


def _assumptions(plan: Plan) -> str:
    said = plan.job.assumptions or ("None: the job file said everything.",)
    return f"<section id='assumptions'>{element('h2', 'Assumptions')}{items(said)}</section>"


def _cautions(plan: Plan) -> str:
    materials = {entry.material.name: entry.material for entry in plan.entries}
    said = items(cautions(materials.values()))
    title = element("h2", "Before you cut")
    return f"<section id='cautions'>{title}<div class='care'>{said}</div></section>"


def _meanings() -> str:
    said = (
        "Marker efficiency: area of the parts ÷ (marker length × usable width); on sheets and "
        "hides ÷ the usable area of those used.",
        "Utilisation: area of the parts ÷ all that is taken from the stock: with selvedges and "
        "ends, or the whole sheets and hides used.",
        "Lower bound: no marker of these parts can be shorter, or use fewer sheets. The gap is "
        "how much longer this marker is, as a share of the bound; the best marker lies between.",
        "R and L: right and left of a mirrored pair; the piece as drawn is the right one.",
    )
    return f"<section id='words'>{element('h2', 'What the words mean')}{items(said)}</section>"
