"""Two plans of one job: of each material the better markers."""

from __future__ import annotations

import math
from dataclasses import replace

from nesting.marker.rest import taken
from nesting.planning.plan import Entry, Plan
from nesting.planning.records import WidthTried

__all__ = ["better_of"]


def better_of(plan: Plan, other: Plan) -> Plan:
    """Return a plan with the better markers of each material, the first's where they are equal.

    Better is what lays more parts, has fewer faults, costs less, takes fewer sheets and of
    them, or of the length, less, in that order. Materials of which only one plan has markers
    are taken from that.

    Parameters
    ----------
    plan, other
        Of the same job.

    """
    laid = {e.material.name for e in (*plan.entries, *other.entries)}
    entries: list[Entry] = []
    tried: list[WidthTried] = []
    for name in (material.name for material in plan.job.materials if material.name in laid):
        best = other if _rank(other, name) < _rank(plan, name) else plan
        entries += best.entries_of(name)
        tried += (width for width in best.widths_tried if width.material == name)
    return replace(
        plan,
        entries=tuple(entries),
        widths_tried=tuple(tried),
        seconds=plan.seconds + other.seconds,
    )


def _rank(plan: Plan, material: str) -> tuple[float, ...]:
    entries = plan.entries_of(material)
    if not entries:
        return (math.inf,)
    faults = sum(f.severity == "fault" for entry in entries for f in entry.findings)
    return (
        sum(len(entry.unplaced) for entry in entries),
        faults,
        math.fsum(_cost(entry) for entry in entries),
        sum(len(entry.marker.sheets) for entry in entries),
        round(math.fsum(taken(entry.marker) for entry in entries), 6),
    )


def _cost(entry: Entry) -> float:
    """Return what it costs, or where no price is known the area that is bought."""
    if entry.buying.cost is not None:
        return entry.buying.cost
    return entry.buying.to_buy.value * (1.0 if entry.width is None else entry.width.booked)
