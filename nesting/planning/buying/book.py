"""The marks by which the book of a stock file knows the plans that were taken off it.

They stand in users' files for years: what a plan's mark is made of never changes.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from nesting.planning.buying.used_up import used_up
from nesting.planning.plan import Entry, Plan
from nesting.planning.plan_file import plan_text

__all__ = ["entered", "plan_mark"]


def plan_mark(plan: Plan) -> str:
    """Return the mark of a plan: of its job, its markers, and what they took from stock.

    What else a plan tells (findings, bounds, what was tried) leaves it as it is, and so do
    fields that plans come to have. Laid once more, though alike, it is another plan: the time
    that it took to the last digit is part of it.
    """
    told = {
        "job": plan.job.name,
        "seconds": plan.seconds,
        "at hand": [list(one) for one in plan.job.at_hand],
        "markers": [_marker(entry) for entry in plan.entries],
    }
    return _hashed(json.dumps(told, sort_keys=True, ensure_ascii=False))


def _marker(entry: Entry) -> dict[str, Any]:
    parts = entry.marker.lay.parts
    return {
        "material": entry.material.name,
        "width": None if entry.width is None else entry.width.booked,
        "parts": [
            [parts[p.part].name, p.x, p.y, p.angle, p.flipped, p.sheet]
            for p in entry.marker.placements
        ],
        "sheets": list(entry.marker.sheets),
        "spreads": list(entry.spreads),
        "rolls": [[one.spread, one.plies, list(one.rolls)] for one in entry.laid_from],
        "used up": [one.name for _, one in used_up((entry,))],
        "from stock": entry.buying.from_stock.value,
    }


def entered(plan: Plan, marks: tuple[str, ...]) -> bool:
    """Whether a plan's mark is among those of a book, or the one that it had before 0.2.0."""
    return plan_mark(plan) in marks or _hashed(plan_text(plan)) in marks


def _hashed(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]
