"""From a result of the search to an entry of the plan: judged, and reckoned up."""

from __future__ import annotations

from nesting.amounts import Amounts
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.material.material import Material, Width
from nesting.planning.buying.bought import buying
from nesting.planning.lay.sheet_loads import sheet_loads
from nesting.planning.plan import Entry
from nesting.planning.records import SearchRecord
from nesting.search.result import Result

__all__ = ["entry_for"]


def entry_for(
    material: Material, result: Result, *, width: Width | None, amounts: Amounts
) -> Entry:
    """Judge a result, in the job's units, and reckon what it asks to be bought."""
    marker = result.marker
    length = figures(marker).length
    first = result.history[0][1] if result.history else length
    return Entry(
        material=material,
        width=width,
        marker=marker,
        search=SearchRecord(
            stopped=result.stopped.value,
            seconds=result.seconds,
            first_seconds=result.first_seconds,
            first_length=first,
            rounds=result.rounds,
            seed=result.seed,
            workers=result.workers,
            bound=result.bound.of(material.taken_in),
            bound_by=result.bound_by,
        ),
        buying=buying(marker, material, width=width, length=length),
        findings=check(marker, amounts=amounts),
        unplaced=tuple((marker.lay.parts[u.part].name, u.why) for u in result.unplaced),
        loads=sheet_loads(marker),
    )
