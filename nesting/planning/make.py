"""From a job to a plan: every material laid, judged and reckoned up."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Unpack

from nesting.job.job import Job, refuse_unnamed
from nesting.marker.figures import figures
from nesting.marker.marker import Marker
from nesting.material.material import Material
from nesting.planning.begin import as_before, begun, told
from nesting.planning.buying.settle import chosen_width
from nesting.planning.choose import Chosen, on_best_widths
from nesting.planning.entry import entry_for
from nesting.planning.freed import RULES, laid_without, lays_without
from nesting.planning.going_on import GoingOn, going_on
from nesting.planning.lay.lays import lays
from nesting.planning.on_width import entry_on, to_lay
from nesting.planning.plan import Entry, Plan
from nesting.planning.records import WidthTried
from nesting.planning.running.laying import better, lay_all
from nesting.planning.running.run import Run, StoredOptions, running
from nesting.planning.sparing import SPARING, may_spare, spared
from nesting.program import program
from nesting.search.result import Result

__all__ = ["make_plan"]


def make_plan(
    job: Job,
    *,
    seconds: float | None = 30.0,
    only: Collection[str] | None = None,
    start: Plan | None = None,
    **options: Unpack[StoredOptions],
) -> Plan:
    """Lay every material of a job and return the plan.

    Parameters
    ----------
    job
        What is to be made.
    seconds, rounds
        Wall time for all of it, or rounds for each lay; None does not limit.
        With `rounds` alone the answer is the same on any machine and day.
    seed
        Seed of every search.
    workers
        Worker processes (default: one a core).
    only
        Names of the materials to lay; None is all.
    observer
        Told how far each lay is (`Progress`).
    stop
        Asked now and then; True ends every search with the best it has.
    executor
        Where to run instead of processes of this machine: `processes` or `cluster`.
    store
        Keeps finished searches, so that an interrupted plan can go on.
    start
        A plan to go on from, of this job or an earlier state of it: what of it still fits is
        where the searches begin, and what is held on its markers stays. A cloth keeps its
        width. Markers on cloth without remnants or loads of a bed, sheets and hides are never
        worse than those of the plan if nothing has changed.

    Returns
    -------
    Plan
        An entry for each material, its marker judged; what found no room is named.

    Raises
    ------
    JobError
        A piece fits no width or sheet, or the job contradicts itself.

    Examples
    --------
    >>> plan = make_plan(job, seconds=None, rounds=1, workers=1)
    >>> [(entry.material.name, entry.good) for entry in plan.entries]
    [('canvas', True)]

    """
    refuse_unnamed(job)
    with running(seconds, **options) as run:
        if start is None:
            job = begun(job, [c for c in job.cloths if c in job.wanted(only)], run)
            return _plan(told(job), job.wanted(only), run, None)
        job = as_before(job, start.job)
        before = going_on(job, start)
        return _plan(told(before.job), job.wanted(only), run, before)


def _plan(job: Job, materials: Sequence[Material], run: Run, before: GoingOn | None) -> Plan:
    """Choose widths, lay, spare good leather, see what rules cost, reckon up."""
    cloths = [cloth for cloth in job.cloths if cloth in materials]
    chosen = on_best_widths(
        job, cloths, run.untold(), widths=None if before is None else before.widths
    )
    cases = {name: one.case for name, one in chosen.items()}
    others = [material.name for material in materials if material not in cloths]
    todo = to_lay(cases) | {lay.name: lay for lay in lays(job, only=others)}
    plain = {rule: free for rule in RULES if (free := lays_without(rule, job, cases))}
    sparing = any(may_spare(job, m) for m in materials)
    aside = sum(RULES[rule] for rule in plain) + SPARING * sparing
    rest = run.rest()
    starts = {} if before is None else before.starts(todo)
    results = lay_all(todo, rest.part(share=1.0 - aside), starts=starts)
    results = spared(job, results, rest.untold().part(share=SPARING))
    freed = {rule: laid_without(rule, free, job, rest.untold()) for rule, free in plain.items()}
    entries: list[Entry] = []
    tried: list[WidthTried] = []
    for material in materials:
        name = material.name
        if name in chosen:
            case, made = cases[name], _on_cloth(chosen[name], results.get(name), freed)
            entries += [*([] if case.offcut is None else [case.offcut]), *made]
            tried += chosen_width(chosen[name].tried, made, case.cloth)
        elif name in results:
            entries.append(entry_for(material, results[name], width=None, amounts=job.amounts))
    return Plan(
        job=job,
        entries=tuple(entries),
        seconds=run.spent,
        program=program(),
        widths_tried=tuple(tried),
    )


def _on_cloth(
    chosen: Chosen, found: Result | None, freed: Mapping[str, Mapping[str, Result]]
) -> tuple[Entry, ...]:
    """Return the entry of a cloth, and what its rules cost; nothing if remnants give all of it."""
    if found is None:
        return ()
    best = found if chosen.trial is None else better(found, chosen.trial)
    entry = entry_on(chosen.case, best)
    shorter = {
        rule: length
        for rule, of in freed.items()
        if (length := _without(entry.marker, of.get(chosen.case.cloth.name))) is not None
    }
    unmatched = shorter.pop("print", None)
    return (replace(entry, unmatched=unmatched, freed=tuple(shorter.items())),)


def _without(marker: Marker, plain: Result | None) -> float | None:
    """Return the length without a rule: at most the one with it, whatever was found."""
    if plain is None or plain.unplaced or len(marker.placements) < len(marker.lay.parts):
        return None
    return min(figures(plain.marker).length, figures(marker).length)
