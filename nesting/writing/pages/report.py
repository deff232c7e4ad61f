"""The report: one HTML page that stands alone, for the screen and for paper."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path as FilePath

from nesting.advice.kept import KeptAdvice
from nesting.errors import Severity
from nesting.job.job import Job
from nesting.names import listed
from nesting.planning.buying.remnant_file import Left, named_leftovers
from nesting.planning.buying.shopping import Purchase, ShoppingList, shopping_list
from nesting.planning.plan import Plan
from nesting.writing.advice.passage import kept_passage
from nesting.writing.cautions import cautions
from nesting.writing.files import whole_file
from nesting.writing.pages.markup import Passage, Table, filled
from nesting.writing.pages.report_marker import marker_section
from nesting.writing.pages.report_order import bag_costs, cutting_plan, widths_compared
from nesting.writing.pages.wording import counted, entry_title, money, stock_said

__all__ = ["report", "write_report"]


def write_report(
    plan: Plan,
    path: FilePath,
    *,
    notes: Sequence[str] = (),
    bought: ShoppingList | None = None,
    left_over: Sequence[Left] | None = None,
    advice: KeptAdvice | None = None,
    overwrite: bool = False,
) -> None:
    """Write the report of a plan as one HTML file, whole or not at all."""
    text = report(plan, notes=notes, bought=bought, left_over=left_over, advice=advice)
    with whole_file(path, overwrite=overwrite) as temporary:
        temporary.write_text(text, encoding="utf-8")


def report(
    plan: Plan,
    *,
    notes: Sequence[str] = (),
    bought: ShoppingList | None = None,
    left_over: Sequence[Left] | None = None,
    advice: KeptAdvice | None = None,
) -> str:
    """Return the report of a plan.

    `notes` are said on top; `bought` is its buying list; `left_over` what its markers
    leave (`named_leftovers`), where that is known; `advice`: what would save, if that was asked.
    """
    bought = bought or shopping_list(plan)
    left_over = named_leftovers(plan) if left_over is None else left_over
    troubles = [*notes, *_troubles(plan)]
    bags = listed(f"{bag.count} × {bag.name}" for bag in plan.job.bags)
    saving = [] if advice is None else [kept_passage(advice)]
    parts = sum(len(entry.marker.placements) for entry in plan.entries)
    return filled(
        "report.html",
        title=f"{plan.job.called}: markers",
        name=plan.job.called,
        ordered=f"{bags}. {counted(parts, 'part')} in {counted(len(plan.entries), 'marker')}.",
        made=f"Made with {plan.program} in {plan.seconds:.1f} s.",
        troubles=Passage("Do not cut before this is put right", lines=troubles)
        if troubles
        else None,
        long=len(left_over) > _FEW,
        order=cutting_plan(plan),
        buy=_shopping(plan, bought),
        choices=list(filter(None, [*saving, widths_compared(plan), bag_costs(plan, bought)])),
        markers=[marker_section(plan, entry, left) for entry, left in left_over],
        assumptions=Passage("Assumptions", lines=plan.job.assumptions or (_NONE,)),
        cautions=_cautions(plan),
        meanings=Passage("What the words mean", lines=_MEANINGS),
    )


_FEW = 3
"""Markers up to which a report needs no contents."""

_NONE = "None: the job file said everything."


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


def _shopping(plan: Plan, bought: ShoppingList) -> Passage:
    """Return what to buy, all materials and notions, with the sum."""
    currency = plan.job.currency
    with_ = "ends, shrinkage and spare" if plan.spare else "ends and shrinkage"
    foot = [["Sum", "", "", "", money(bought.cost, currency)]]
    if bought.cost_per_bag is not None and bought.bags > 1:
        foot.append(["Per bag, on average", "", "", "", money(bought.cost_per_bag, currency)])
    table = Table(
        caption="What to buy",
        head=["Material", f"Needed, with {with_}", "From stock", "To buy", "Cost"],
        rows=[_purchase(line, plan.job) for line in bought.lines],
        foot=foot if bought.cost is not None else (),
        numbers=(1, 2, 3, 4),
    )
    missing = f"No price was given for {listed(bought.unpriced)}." if bought.unpriced else ""
    return Passage(table.caption, table=table, note=missing)


def _purchase(line: Purchase, job: Job) -> list[str]:
    name, amounts = line.name, job.amounts
    if line.width is not None:
        name += f", {amounts.setting(line.width)} wide"
    return [
        name,
        amounts.said(line.gross),
        stock_said(line, amounts),
        amounts.said(line.to_buy),
        money(line.cost, job.currency),
    ]


def _cautions(plan: Plan) -> Passage:
    materials = {entry.material.name: entry.material for entry in plan.entries}
    return Passage("Before you cut", lines=list(cautions(materials.values())))


_MEANINGS = (
    "Marker efficiency: area of the parts ÷ (marker length × usable width); on sheets and "
    "hides ÷ the usable area of those used.",
    "Utilisation: area of the parts ÷ all that is taken from the stock: with selvedges and "
    "ends, or the whole sheets and hides used.",
    "Lower bound: no marker of these parts can be shorter, or use fewer sheets. The gap is "
    "how much longer this marker is, as a share of the bound; the best marker lies between.",
    "R and L: right and left of a mirrored pair; the piece as drawn is the right one.",
)
