"""From a job to a plan: every material laid, judged and reckoned up."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from importlib.metadata import version

from nesting.job.job import Job
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Lay
from nesting.material.material import Cloth, Material, Width
from nesting.planning.buying import buying
from nesting.planning.laying import LayObserver, lay_all
from nesting.planning.lays import lays
from nesting.planning.loads import bed_loads, grid_of, in_loads, joined
from nesting.planning.matching import is_bound, unprinted
from nesting.planning.offcuts import offcuts_of, on_offcuts, parted
from nesting.planning.plan import Entry, Plan, SearchRecord
from nesting.planning.pool import Executor, processes
from nesting.planning.sheet_loads import sheet_loads
from nesting.planning.store import Store
from nesting.search.result import Result

__all__ = ["entry_for", "make_plan", "program"]

# Share of the time that goes into choosing among several widths on sale.
_CHOOSING = 0.25
# Share of the time that goes into laying what remnants of cloth take.
_REMNANTS = 0.15
# Share of the time that goes into laying without a print, to tell what it costs.
_WITHOUT = 0.2


def program() -> str:
    """Return the program's name and version, for files and reports."""
    return f"thriftlay {version('thriftlay')}"


def make_plan(
    job: Job,
    *,
    seconds: float | None = 30.0,
    rounds: int | None = None,
    seed: int = 1,
    workers: int | None = None,
    only: Collection[str] | None = None,
    observer: LayObserver | None = None,
    stop: Callable[[], bool] | None = None,
    executor: Executor | None = None,
    store: Store | None = None,
) -> Plan:
    """Lay every material of a job and return the plan.

    Parameters
    ----------
    job
        What is to be made.
    seconds, rounds
        Wall time for the whole job, or rounds for each lay; None does not limit.
        With `rounds` alone the plan is the same on any machine and day.
    seed
        Seed of every search.
    workers
        Worker processes (default: one a core).
    only
        Names of the materials to lay; None is all.
    observer
        Told (material, progress) as the searches go on.
    stop
        Asked now and then; True ends every search with the best it has.
    executor
        Where to run instead of processes of this machine.
    store
        Keeps finished searches, so that an interrupted plan can go on.

    Raises
    ------
    JobError
        A piece fits no width or sheet, or the job contradicts itself.
    """
    if executor is None:
        with processes(workers) as local:
            return make_plan(
                job,
                seconds=seconds,
                rounds=rounds,
                seed=seed,
                only=only,
                observer=observer,
                stop=stop,
                executor=local,
                store=store,
            )
    started = time.monotonic()
    widths = _choose_widths(
        job, executor, seconds=seconds, rounds=rounds, seed=seed, only=only, stop=stop, store=store
    )
    materials = {material.name: material for material in job.materials}
    wanted = {lay.name: lay for lay in lays(job, only=only, widths=widths)}
    left = None if seconds is None else max(0.0, seconds - (time.monotonic() - started))
    offcuts = _from_remnants(
        job,
        wanted,
        executor,
        seconds=None if left is None else _REMNANTS * left,
        rounds=rounds,
        seed=seed,
        stop=stop,
        store=store,
    )
    grids = {name: grid_of(lay, job) for name, lay in wanted.items()}
    todo = {name: in_loads(lay, grids[name]) for name, lay in wanted.items()}
    plain = _without_prints(job, wanted, offcuts, widths=widths)
    left = None if seconds is None else max(0.0, seconds - (time.monotonic() - started))
    results = lay_all(
        todo,
        executor=executor,
        seconds=left if left is None or not plain else (1.0 - _WITHOUT) * left,
        rounds=rounds,
        seed=seed,
        observer=observer,
        stop=stop,
        store=store,
    )
    free = {name: grid_of(lay, job) for name, lay in plain.items()}
    without = lay_all(
        {name: in_loads(lay, free[name]) for name, lay in plain.items()},
        executor=executor,
        seconds=None if left is None else _WITHOUT * left,
        rounds=rounds,
        seed=seed,
        stop=stop,
        store=store.part("without the print") if store else None,
    )
    whole = {name: joined(lay, grids[name], results[name]) for name, lay in wanted.items()}
    other = {name: joined(lay, free[name], without[name]) for name, lay in plain.items()}
    entries = list(offcuts)
    for name, result in whole.items():
        entry = entry_for(materials[name], result, width=widths.get(name))
        if grids[name] is not None:
            entry = replace(entry, loads=bed_loads(results[name].marker, grids[name]))
        entries.append(replace(entry, unmatched=_unmatched(result, other.get(name))))
    order = list(materials)
    entries.sort(key=lambda entry: order.index(entry.material.name))
    return Plan(
        job=job, entries=tuple(entries), seconds=time.monotonic() - started, program=program()
    )


def _without_prints(
    job: Job,
    wanted: Mapping[str, Lay],
    offcuts: Sequence[Entry],
    *,
    widths: Mapping[str, Width],
) -> dict[str, Lay]:
    """Return the lays of printed cloth as they would be without the print."""
    # Of what is partly cut from remnants nobody could say what the print costs of the roll.
    left = {entry.material.name for entry in offcuts}
    bound = [name for name, lay in wanted.items() if is_bound(lay) and name not in left]
    if not bound:
        return {}
    return {lay.name: lay for lay in lays(unprinted(job), only=bound, widths=widths)}


def _from_remnants(
    job: Job,
    wanted: dict[str, Lay],
    executor: Executor,
    *,
    seconds: float | None,
    rounds: int | None,
    seed: int,
    stop: Callable[[], bool] | None,
    store: Store | None,
) -> list[Entry]:
    """Lay what finds room on the remnants of cloth, and take it out of what is wanted."""
    cloths = [m for m in job.materials if isinstance(m, Cloth) and m.name in wanted]
    todo = {
        cloth.name: lay
        for cloth in cloths
        if (lay := on_offcuts(wanted[cloth.name], cloth, job)) is not None
    }
    results = lay_all(
        todo,
        executor=executor,
        seconds=seconds,
        rounds=rounds,
        seed=seed,
        stop=stop,
        store=store.part("remnants") if store else None,
    )
    entries = []
    for cloth in cloths:
        if cloth.name not in results:
            continue
        found, rest = parted(wanted[cloth.name], results[cloth.name])
        if found is not None:
            entries.append(entry_for(offcuts_of(cloth), found, width=None))
        if rest is None:
            del wanted[cloth.name]
        else:
            wanted[cloth.name] = rest
    return entries


def _unmatched(matched: Result, plain: Result | None) -> float | None:
    """Return the length without the print: at most the one with it, whatever was found."""
    if plain is None or plain.unplaced or matched.unplaced:
        return None
    return min(figures(plain.marker).length, figures(matched.marker).length)


def entry_for(material: Material, result: Result, *, width: Width | None) -> Entry:
    """Judge a result and reckon what it asks to be bought."""
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
            bound=result.bound,
        ),
        buying=buying(marker, material, width=width, length=length),
        findings=check(marker),
        unplaced=tuple((marker.lay.parts[u.part].name, u.why) for u in result.unplaced),
        loads=sheet_loads(marker),
    )


def _choose_widths(
    job: Job,
    executor: Executor,
    *,
    seconds: float | None,
    rounds: int | None,
    seed: int,
    only: Collection[str] | None,
    stop: Callable[[], bool] | None,
    store: Store | None,
) -> Mapping[str, Width]:
    """Return the width to lay each cloth on: the cheapest of those on sale, tried briefly."""
    cloths = [
        material
        for material in job.materials
        if isinstance(material, Cloth) and (only is None or material.name in only)
    ]
    chosen = {cloth.name: cloth.widths[0] for cloth in cloths}
    several = [cloth for cloth in cloths if len(cloth.widths) > 1]
    trials: dict[str, tuple[Cloth, Width]] = {}
    todo: dict[str, Lay] = {}
    for cloth in several:
        for number, width in enumerate(cloth.widths):
            for lay in lays(job, only=(cloth.name,), widths={cloth.name: width}):
                key = f"{cloth.name} #{number}"
                trials[key], todo[key] = (cloth, width), lay
    if not todo:
        return chosen
    budget = None if seconds is None else seconds * _CHOOSING
    results = lay_all(
        todo,
        executor=executor,
        seconds=budget,
        rounds=rounds,
        seed=seed,
        stop=stop,
        store=store.part("widths") if store else None,
    )
    for cloth in several:
        chosen[cloth.name] = min(
            (width for owner, width in trials.values() if owner is cloth),
            key=lambda width, cloth=cloth: _price_of(  # type: ignore[misc]
                cloth,
                width,
                next(results[key] for key, trial in trials.items() if trial == (cloth, width)),
            ),
        )
    return chosen


def _price_of(cloth: Cloth, width: Width, result: Result) -> tuple[int, float, float]:
    """Rank a width: complete markers first, then cost (area where no price is known)."""
    length = figures(result.marker).length
    bought = buying(result.marker, cloth, width=width, length=length)
    area = bought.to_buy * width.booked
    cost = bought.cost if all(w.price is not None for w in cloth.widths) else area
    return (len(result.unplaced), cost if cost is not None else math.inf, area)
