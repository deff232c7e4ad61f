"""One cloth on one width: its remnants first, then the lengths at hand, the rest bought.

The same for a plan, for the choice of a width and for comparing widths, so that they agree.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.errors import JobError
from nesting.job.job import Job
from nesting.marker.lay import Lay
from nesting.material.material import Cloth, Width
from nesting.planning.buying.settle import settled, tried_at
from nesting.planning.entry import entry_for
from nesting.planning.lay.lays import lays
from nesting.planning.lay.loads import bed_loads, grid_of, in_loads, joined
from nesting.planning.offcuts import offcuts_of, on_offcuts, parted
from nesting.planning.plan import Entry
from nesting.planning.records import WidthTried
from nesting.planning.running.laying import lay_all
from nesting.planning.running.run import Run
from nesting.search.result import Result

__all__ = ["OnWidth", "cases_of", "entry_on", "remnants_first", "to_lay", "tried_case"]
# Share of the time that goes into laying what remnants take.
_REMNANTS = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class OnWidth:
    """A cloth to be laid on a width. `offcut`: what is cut from its remnants.

    `lay`: what is left to lay; None if its remnants give everything.
    """

    job: Job
    cloth: Cloth
    width: Width
    lay: Lay | None
    offcut: Entry | None = None


def cases_of(
    job: Job,
    cloths: Sequence[Cloth],
    *,
    widths: Sequence[Width] | None = None,
    settled: Mapping[str, Width] | None = None,
) -> tuple[dict[str, OnWidth], list[WidthTried]]:
    """Return the cloths on each of their widths, and the widths that can't be laid on.

    `widths`: those instead; `settled`: by a cloth's name the only one. A cloth
    that nothing is cut from has no case.

    Raises
    ------
    JobError
        A cloth can be laid on none of its widths; says why not on the widest.

    """
    cases: dict[str, OnWidth] = {}
    refused: list[WidthTried] = []
    for cloth in cloths:
        errors: dict[Width, JobError] = {}
        offered = cloth.widths if widths is None else widths
        if settled and cloth.name in settled:
            offered = (settled[cloth.name],)
        for width in offered:
            try:
                found = lays(job, only=(cloth.name,), widths={cloth.name: width})
            except JobError as error:
                errors[width] = error
                refused.append(WidthTried(material=cloth.name, width=width, why=error.what))
                continue
            for lay in found:
                key = cloth.name if len(offered) < 2 else f"{cloth.name}, {width.booked:g} mm"
                cases[key] = OnWidth(job=job, cloth=cloth, width=width, lay=lay)
        if errors and len(errors) == len(offered):
            raise errors[max(errors, key=lambda one: one.booked)]
    return cases, refused


def tried_case(case: OnWidth, result: Result | None) -> WidthTried:
    """Return what a case comes to on its width; without a result remnants give everything."""
    entries = () if result is None else (entry_on(case, result),)
    return tried_at(case.width, entries, case.cloth)


def remnants_first(cases: Mapping[str, OnWidth], run: Run) -> dict[str, OnWidth]:
    """Return the cases, what finds room on remnants of cloth taken out of what is to be laid.

    A share of the run's time goes into it.
    """
    todo = {
        key: lay
        for key, case in cases.items()
        if case.lay is not None and (lay := on_offcuts(case.lay, case.cloth, case.job)) is not None
    }
    results = lay_all(todo, run.part("remnants", share=_REMNANTS))
    found = dict(cases)
    for key, result in results.items():
        case = cases[key]
        assert case.lay is not None
        laid, rest = parted(case.lay, result)
        if laid is not None:
            offcut = entry_for(offcuts_of(case.cloth), laid, width=None, amounts=case.job.amounts)
            found[key] = replace(case, lay=rest, offcut=offcut)
    return found


def to_lay(cases: Mapping[str, OnWidth]) -> dict[str, Lay]:
    """Return what is left to lay of the cases, in loads where the bed is smaller."""
    return {
        key: in_loads(case.lay, grid_of(case.lay, case.job))
        for key, case in cases.items()
        if case.lay is not None
    }


def entry_on(case: OnWidth, result: Result) -> Entry:
    """Return the entry of what was laid for a case, the lengths at hand counted."""
    assert case.lay is not None
    grid = grid_of(case.lay, case.job)
    whole, amounts = joined(case.lay, grid, result), case.job.amounts
    entry = entry_for(case.cloth, whole, width=case.width, amounts=amounts)
    if grid is not None:
        entry = replace(entry, loads=bed_loads(result.marker, grid))
    (entry,) = settled((entry,), case.cloth, table=case.job.table, seed=result.seed)
    return entry
