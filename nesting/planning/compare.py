"""The same parts on each width of cloth, single or folded: what is cheapest, what wastes least."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import reduce

from nesting.amounts import Amounts
from nesting.errors import JobError
from nesting.job.job import Job
from nesting.marker.figures import figures
from nesting.marker.lay import Lay
from nesting.material.material import Cloth, Fold, Width
from nesting.planning.laying import LayObserver, better, lay_all
from nesting.planning.lays import lays
from nesting.planning.make import entry_for
from nesting.planning.plan import Entry
from nesting.planning.pool import Executor, processes
from nesting.search.result import Result

__all__ = ["Compared", "Trial", "compare_widths", "compared"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One cloth on one width. `entry` is None if a part doesn't fit it, `why` says which.

    `fold`: how it lies. Folded or single, the length bought is of the whole width.

    `cheapest`: costs least of this cloth's widths (None where a price is missing).
    `least`: takes the least area of cloth as bought. `needed`: the length needed in each
    seed's marker (mm), the entry's is the best; `cheapest_in`, `least_in`: in how many of
    those seeds this width was the cheapest and took the least.
    """

    material: str
    width: Width
    entry: Entry | None
    fold: Fold = Fold.SINGLE
    why: str = ""
    cheapest: bool | None = None
    least: bool = False
    needed: tuple[float, ...] = ()
    cheapest_in: int = 0
    least_in: int = 0

    @property
    def area(self) -> float | None:
        """Area of cloth bought (mm²)."""
        return None if self.entry is None else self.entry.buying.to_buy * self.width.booked

    @property
    def cost(self) -> float | None:
        """What the length to buy costs."""
        return None if self.entry is None else self.entry.buying.cost

    @property
    def waste(self) -> float | None:
        """Share of the cloth bought that is in no part."""
        if self.entry is None or not self.area:
            return None
        layers = 2.0 if self.fold is Fold.FOLDED else 1.0
        return max(0.0, 1.0 - layers * figures(self.entry.marker).area / self.area)

    @property
    def spread(self) -> float:
        """Difference of the longest and the shortest need of the seeds (mm)."""
        return max(self.needed) - min(self.needed) if self.needed else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """All cloths together, each on its best width: least area (mm²), least cost if known."""

    area: float
    cost: float | None


def compared(trials: Sequence[Trial]) -> Compared:
    """Add up the best width of each cloth."""
    areas, costs = [], []
    for name in dict.fromkeys(trial.material for trial in trials):
        of = [trial for trial in trials if trial.material == name]
        areas += [t.area for t in of if t.least and t.area is not None][:1]
        costs.append(next((t.cost for t in of if t.cheapest), None))
    known = [cost for cost in costs if cost is not None]
    return Compared(
        area=sum(areas), cost=round(sum(known), 2) if len(known) == len(costs) else None
    )


def compare_widths(
    job: Job,
    *,
    material: str | None = None,
    widths: Sequence[float] | None = None,
    folds: bool = False,
    seconds: float | None = 30.0,
    rounds: int | None = None,
    seed: int = 1,
    seeds: int = 1,
    workers: int | None = None,
    observer: LayObserver | None = None,
    stop: Callable[[], bool] | None = None,
    executor: Executor | None = None,
) -> tuple[Trial, ...]:
    """Lay each cloth of a job (or one) on each width and mark the best.

    `widths` are booked widths in mm; without them the job's own are compared. A
    width the job does not know has the selvedges of the cloth's first width and no
    price. `folds`: lay each cloth both single and folded. `seeds`: how many searches of
    each, with seeds from `seed` on and the time shared out, tell how sure the marks are.
    """
    if executor is None:
        with processes(workers) as local:
            return compare_widths(
                job,
                material=material,
                widths=widths,
                folds=folds,
                seconds=seconds,
                rounds=rounds,
                seed=seed,
                seeds=seeds,
                observer=observer,
                stop=stop,
                executor=local,
            )
    cases = [
        (laid, width)
        for cloth in _cloths(job, material)
        for width in _widths(cloth, widths, job.amounts)
        for laid in (_folded(cloth) if folds else (cloth,))
    ]
    trials: dict[str, Trial] = {}
    todo: dict[str, Lay] = {}
    for cloth, width in cases:
        key = _key(cloth, width, job.amounts)
        try:
            if cloth.fold is Fold.FOLDED and cloth.print is not None and not cloth.fold_print:
                raise JobError("folded, the print would fall differently on the two plies")
            todo[key] = lays(_with(job, cloth), only=(cloth.name,), widths={cloth.name: width})[0]
        except JobError as error:
            trials[key] = Trial(
                material=cloth.name, width=width, fold=cloth.fold, entry=None, why=error.what
            )
    rounds_of = [
        lay_all(
            todo,
            executor=executor,
            seconds=None if seconds is None else seconds / seeds,
            rounds=rounds,
            seed=seed + number,
            observer=observer,
            stop=stop,
        )
        for number in range(seeds)
    ]
    by_seed: list[list[Trial]] = []
    for results in rounds_of:
        of_seed = dict(trials)
        for cloth, width in cases:
            if (key := _key(cloth, width, job.amounts)) in results:
                of_seed[key] = _trial(cloth, width, results[key])
        keys = [_key(cloth, width, job.amounts) for cloth, width in cases]
        by_seed.append(_marked([of_seed[key] for key in keys]))
    best = [
        _trial(cloth, width, reduce(better, (results[key] for results in rounds_of)))
        if (key := _key(cloth, width, job.amounts)) in todo
        else trials[key]
        for cloth, width in cases
    ]
    return tuple(
        replace(
            trial,
            needed=tuple(one.entry.buying.needed for one in of if one.entry is not None),
            cheapest_in=sum(bool(one.cheapest) for one in of),
            least_in=sum(one.least for one in of),
        )
        for trial, *of in zip(_marked(best), *by_seed, strict=True)
    )


def _trial(cloth: Cloth, width: Width, result: Result) -> Trial:
    entry = entry_for(cloth, result, width=width)
    return Trial(material=cloth.name, width=width, fold=cloth.fold, entry=entry)


def _folded(cloth: Cloth) -> tuple[Cloth, Cloth]:
    """Return the cloth as it is laid single and folded."""
    return replace(cloth, fold=Fold.SINGLE), replace(cloth, fold=Fold.FOLDED)


def _with(job: Job, cloth: Cloth) -> Job:
    """Return the job with a cloth laid another way."""
    materials = tuple(cloth if m.name == cloth.name else m for m in job.materials)
    return replace(job, materials=materials)


def _key(cloth: Cloth, width: Width, amounts: Amounts) -> str:
    folded = ", folded" if cloth.fold is Fold.FOLDED else ""
    return f"{cloth.name}, {amounts.setting(width.booked)}{folded}"


def _cloths(job: Job, name: str | None) -> list[Cloth]:
    cloths = [m for m in job.materials if isinstance(m, Cloth)]
    if name is not None:
        cloths = [cloth for cloth in cloths if cloth.name == name]
    if not cloths:
        known = ", ".join(m.name for m in job.materials if isinstance(m, Cloth)) or "none"
        what = "the job has no cloth" if name is None else f"no cloth is named {name!r}"
        raise JobError(what, file=job.file, hint=f"cloths of this job: {known}")
    return cloths


def _widths(cloth: Cloth, asked: Sequence[float] | None, amounts: Amounts) -> list[Width]:
    if asked is None:
        return list(cloth.widths)
    known = {width.booked: width for width in cloth.widths}
    edges = cloth.widths[0].booked - cloth.widths[0].usable
    for booked in asked:
        if booked <= edges:
            raise JobError(
                f"a width of {amounts.setting(booked)} leaves nothing inside the selvedges"
            )
    return [known.get(b) or Width(booked=b, usable=b - edges) for b in dict.fromkeys(asked)]


def _marked(trials: Sequence[Trial]) -> list[Trial]:
    """Mark, for each cloth, the cheapest width and the one that takes the least cloth."""
    marked: list[Trial] = []
    for trial in trials:
        rivals = [t for t in trials if t.material == trial.material and t.entry and t.entry.good]
        areas = [t.area for t in rivals if t.area is not None]
        costs = [t.cost for t in rivals if t.cost is not None]
        priced = bool(rivals) and len(costs) == len(rivals)
        eligible = trial in rivals
        marked.append(
            replace(
                trial,
                cheapest=(eligible and trial.cost == min(costs)) if priced else None,
                least=eligible and trial.area == min(areas),
            )
        )
    return marked
