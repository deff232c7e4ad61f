"""From a job to a plan: every material laid, judged and reckoned up."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from functools import partial
from importlib.metadata import version

from nesting.job.job import Job
from nesting.marker.figures import figures
from nesting.marker.marker import Marker
from nesting.material.material import Cloth, Hides, Material
from nesting.planning.buying.settle import best_width, chosen_width
from nesting.planning.entry import entry_for
from nesting.planning.freed import RULES, lays_without
from nesting.planning.lay.lays import lays
from nesting.planning.lay.loads import grid_of, in_loads, joined
from nesting.planning.on_width import (
    OnWidth,
    cases_of,
    entry_on,
    remnants_first,
    to_lay,
    tried_case,
)
from nesting.planning.plan import Entry, Plan, WidthTried
from nesting.planning.running.laying import LayObserver, better, lay_all
from nesting.planning.running.pool import Executor, processes
from nesting.planning.running.store import Store
from nesting.planning.sparing import SPARING, may_spare, spared
from nesting.search.result import Result

__all__ = ["make_plan", "program"]

# Share of the time that goes into choosing among several widths on sale.
_CHOOSING = 0.25
# Share of the time that goes into laying what remnants of cloth take.
_REMNANTS = 0.15


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
    laying = partial(lay_all, executor=executor, rounds=rounds, seed=seed, stop=stop)
    materials = job.wanted(only)
    chosen, tried = _on_widths(
        job, materials, laying, seconds=seconds, seed=seed, store=store, started=started
    )
    cases = {name: case for name, (case, _) in chosen.items()}
    lays_left = to_lay(cases) | {
        lay.name: lay
        for lay in lays(job, only=[m.name for m in materials if not isinstance(m, Cloth)])
    }
    plain = {rule: lays_without(rule, job, cases) for rule in RULES}
    left = None if seconds is None else max(0.0, seconds - (time.monotonic() - started))
    sparing = any(isinstance(m, Hides) and may_spare(job, m) for m in materials)
    aside = sum(share for rule, share in RULES.items() if plain[rule])
    aside += SPARING if sparing else 0.0
    results = laying(
        lays_left,
        seconds=None if left is None else (1.0 - aside) * left,
        observer=observer,
        store=store,
    )
    results = spared(
        job,
        results,
        laying,
        seconds=None if left is None else SPARING * left,
        store=store,
    )
    other = {}
    for rule, free in plain.items():
        grids = {name: grid_of(lay, job) for name, lay in free.items()}
        without = laying(
            {name: in_loads(lay, grids[name]) for name, lay in free.items()},
            seconds=None if left is None else RULES[rule] * left,
            store=store.part(f"without the {rule}") if store else None,
        )
        other[rule] = {name: joined(lay, grids[name], without[name]) for name, lay in free.items()}
    entries: list[Entry] = []
    for material in materials:
        name = material.name
        if not isinstance(material, Cloth):
            if name in results:
                entries.append(entry_for(material, results[name], width=None, amounts=job.amounts))
            continue
        if name not in cases:
            continue
        case, trial = chosen[name]
        entries += [] if case.offcut is None else [case.offcut]
        laid: tuple[Entry, ...] = ()
        if name in results:
            found = results[name] if trial is None else better(results[name], trial)
            entry = entry_on(case, found, seed=seed)
            shorter = {
                rule: length
                for rule, found_free in other.items()
                if (length := _without(entry.marker, found_free.get(name))) is not None
            }
            unmatched = shorter.pop("print", None)
            laid = (replace(entry, unmatched=unmatched, freed=tuple(shorter.items())),)
        entries += laid
        tried[name] = chosen_width(tried.get(name, ()), laid, material)
    return Plan(
        job=job,
        entries=tuple(entries),
        seconds=time.monotonic() - started,
        program=program(),
        widths_tried=tuple(one for of in tried.values() for one in of),
    )


def _on_widths(
    job: Job,
    materials: Sequence[Material],
    laying: Callable[..., dict[str, Result]],
    *,
    seconds: float | None,
    seed: int,
    store: Store | None,
    started: float,
) -> tuple[dict[str, tuple[OnWidth, Result | None]], dict[str, tuple[WidthTried, ...]]]:
    """Return each cloth on the width it is laid on, what its remnants take already laid.

    Of several widths each is tried briefly, and the result kept; and what each came to.
    """
    cloths = [m for m in materials if isinstance(m, Cloth)]
    cases, refused = cases_of(job, cloths)
    left = None if seconds is None else max(0.0, seconds - (time.monotonic() - started))
    cases = remnants_first(
        cases,
        partial(
            laying,
            seconds=None if left is None else _REMNANTS * left,
            store=store.part("remnants") if store else None,
        ),
    )
    several = {cloth.name for cloth in cloths if len(cloth.widths) > 1}
    budget = None if seconds is None else _CHOOSING * seconds
    trials = laying(
        to_lay({key: case for key, case in cases.items() if case.cloth.name in several}),
        seconds=budget,
        store=store.part("widths") if store else None,
    )
    chosen: dict[str, tuple[OnWidth, Result | None]] = {}
    tried: dict[str, tuple[WidthTried, ...]] = {}
    for cloth in cloths:
        mine = [key for key, case in cases.items() if case.cloth is cloth]
        best = mine[:1]
        if cloth.name in several and mine:
            of = [tried_case(cases[key], trials.get(key), seed=seed) for key in mine]
            of += [one for one in refused if one.material == cloth.name]
            taken = best_width(of)
            # Where no width is good the one that leaves out the fewest parts shows the most.
            taken = _fewest_left(mine, trials) if taken is None else taken
            best = [mine[taken]]
            tried[cloth.name] = tuple(replace(one, chosen=i == taken) for i, one in enumerate(of))
        for key in best:
            chosen[cloth.name] = (cases[key], trials.get(key))
    return chosen, tried


def _fewest_left(keys: Sequence[str], trials: Mapping[str, Result]) -> int:
    """Return which of the trials left out the fewest parts."""
    return min(range(len(keys)), key=lambda i: len(trials[keys[i]].unplaced))


def _without(marker: Marker, plain: Result | None) -> float | None:
    """Return the length without a rule: at most the one with it, whatever was found."""
    if plain is None or plain.unplaced or len(marker.placements) < len(marker.lay.parts):
        return None
    return min(figures(plain.marker).length, figures(marker).length)
