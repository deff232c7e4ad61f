"""What the page is told, as plain data: amounts are in words and in the job's units already."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import nesting
from nesting.planning.buying.one_step_less import one_step_less
from nesting.planning.in_hand import fresh_sheets
from nesting.writing.cautions import cautions
from nesting.writing.pages.wording import (
    bought_said,
    entry_title,
    figures_said,
    money,
    stock_said,
    to_buy,
)

from .taking import time_said

if TYPE_CHECKING:
    from nesting import Entry, Finding, Progress
    from nesting.amounts import Amounts

    from .job_file import JobFile
    from .work import Work

__all__ = ["beginning", "buying", "findings", "marker", "overview", "progress"]

Json = dict[str, Any]

_STEPS = 6
"""How many of the lengths that a search came to are told."""


def overview(work: Work) -> Json:
    """Return the state of the work: its markers, the search, what is saved and what is wrong."""
    plan, amounts, folder = work.plan, work.job.amounts, work.keeper.folder
    entries = () if plan is None else plan.entries
    return {
        "job": work.job.name,
        "file": "" if work.file is None else work.file.name,
        "folder": str(folder) if folder.name else folder.resolve().name,
        "ruler": _ruler(amounts),
        "materials": [material.name for material in work.job.materials],
        "markers": [marker(work, number) for number in range(len(entries))],
        "searching": work.searching,
        "time": time_said(work.seconds),
        "progress": [progress(p, amounts) for p in work.progress.values()],
        "history": {name: steps[-_STEPS:] for name, steps in work.history.items()},
        "trouble": work.trouble,
        "outdated": work.outdated,
        "saved": plan is not None and not work.pending and not work.unsaved,
        "unsaved": work.unsaved,
        "theirs": work.keeper.changed(),
        "assumptions": list(work.job.assumptions),
    }


def beginning(file: JobFile) -> Json:
    """Return the state of a job that can't be laid yet."""
    return {
        "job": str(file.document.get("job", {}).get("name", "")),
        "file": file.path.name,
        "folder": str(file.path),
        "views": ["pattern", "goods"],
        "markers": [],
        "searching": False,
        "saved": True,
        "unsaved": "",
        "trouble": "",
        "theirs": False,
    }


def marker(work: Work, number: int) -> Json:
    """Return what there is to say of one marker."""
    plan = work.laid()
    entry, amounts = plan.entries[number], plan.job.amounts
    offered = work.offered(number)
    hand = work.hands.get(number)
    parts = {part.name: i for i, part in enumerate(entry.marker.lay.parts)}
    return {
        "number": number,
        "version": work.versions[number],
        "title": entry_title(entry),
        "material": entry.material.name,
        "buy": ", ".join(bought_said(entry, amounts, plan.job.currency)),
        "figures": figures_said(entry, amounts),
        "grounds": entry.marker.grounds,
        "good": entry.good,
        "findings": findings(entry.findings, entry),
        "unplaced": [
            {"name": name, "why": why, "part": parts.get(name)} for name, why in entry.unplaced
        ],
        "fresh": [
            {"kind": kind, "name": entry.marker.lay.stock.sheets[kind].name}
            for kind in fresh_sheets(work.now(number).marker)
        ],
        "less": _less(entry, amounts),
        "steps": [0, 0] if hand is None else list(hand.steps),
        "found": "" if offered is None else _taken(offered, amounts),
        "mine": _taken(entry, amounts),
        "story": entry.search.stopped,
    }


def findings(found: Iterable[Finding], entry: Entry) -> list[Json]:
    """Return what the judge says: in words, of which parts, and where (mm, y downwards)."""
    parts = {part.name: i for i, part in enumerate(entry.marker.lay.parts)}
    return [
        {
            "text": one.text[:1].upper() + one.text[1:] + ".",
            "fault": one.severity == "fault",
            "parts": [parts[name] for name in one.parts if name in parts],
            "at": None if one.at is None else [one.at[0], -one.at[1]],
        }
        for one in found
    ]


def progress(told: Progress, amounts: Amounts) -> Json:
    """Return how far a search is."""
    return {
        "lay": told.lay,
        "length": amounts.needed(told.length) if told.length else "",
        "mm": told.length,
        "sheets": told.sheets,
        "share": f"{100 * told.density:.1f} %",
        "seconds": told.seconds,
    }


def buying(work: Work) -> Json:
    """Return the buying list, what widths were tried, and the cautions before cutting."""
    plan = work.laid()
    job, amounts = plan.job, plan.job.amounts
    bought = nesting.shopping_list(plan)
    lines = []
    for line in bought.lines:
        wide = "" if line.width is None else amounts.setting(line.width)
        lines.append(
            {
                "name": line.name,
                "wide": wide,
                "needed": amounts.said(line.gross),
                "held": stock_said(line, amounts),
                "bought": amounts.said(line.to_buy),
                "cost": "" if line.cost is None else money(line.cost, job.currency),
            }
        )
    each = bought.cost_per_bag if bought.bags > 1 else None
    return {
        "lines": lines,
        "sum": "" if bought.cost is None else money(bought.cost, job.currency),
        "each": "" if each is None else money(each, job.currency),
        "unpriced": list(bought.unpriced),
        "widths": [
            {
                "name": tried.material,
                "wide": amounts.setting(tried.width.booked),
                "needed": "" if tried.needed is None else amounts.taken(tried.needed),
                "bought": "" if tried.needed is None else amounts.said(tried.to_buy),
                "cost": "" if tried.cost is None else money(tried.cost, job.currency),
                "chosen": tried.chosen,
                "why": tried.why,
            }
            for tried in plan.widths_tried
        ],
        "cautions": list(cautions({e.material.name: e.material for e in plan.entries}.values())),
        "faulty": [entry_title(entry) for entry in plan.entries if not entry.good],
    }


def _taken(entry: Entry, amounts: Amounts) -> str:
    if entry.width is None:
        return to_buy(entry, amounts)
    return amounts.needed(entry.figures.length)


def _less(entry: Entry, amounts: Amounts) -> Json | None:
    less = one_step_less(entry)
    if less is None:
        return None
    return {"buy": amounts.bought(less[0]), "shorter": amounts.needed(less[1])}


def _ruler(amounts: Amounts) -> Json:
    """Return the unit of the rulers, how long it is (mm), and distances between numbers (units)."""
    if amounts.inches:
        return {"unit": "in", "mm": 25.4, "steps": [1, 2, 4, 6, 12, 36, 72]}
    return {"unit": "cm", "mm": 10, "steps": [1, 2, 5, 10, 20, 50, 100]}
