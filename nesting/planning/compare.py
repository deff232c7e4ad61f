"""The same parts on each width of cloth, single or folded: what is cheapest, what wastes least."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from nesting.errors import JobError
from nesting.job.job import Job
from nesting.marker.lay import Lay
from nesting.material.material import Cloth, Fold, Width
from nesting.planning.laying import LayObserver, lay_all
from nesting.planning.lays import lays
from nesting.planning.make import entry_for
from nesting.planning.plan import Entry
from nesting.planning.pool import Executor, processes

__all__ = ["Trial", "compare_widths"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One cloth on one width. `entry` is None if a part doesn't fit it, `why` says which.

    `fold`: how it lies. Folded or single, the length bought is of the whole width.

    `cheapest`: costs least of this cloth's widths (None where a price is missing).
    `least`: takes the least area of cloth as bought.
    """

    material: str
    width: Width
    entry: Entry | None
    fold: Fold = Fold.SINGLE
    why: str = ""
    cheapest: bool | None = None
    least: bool = False

    @property
    def area(self) -> float | None:
        """Area of cloth bought (mm²)."""
        return None if self.entry is None else self.entry.buying.to_buy * self.width.booked

    @property
    def cost(self) -> float | None:
        """What the length to buy costs."""
        return None if self.entry is None else self.entry.buying.cost


def compare_widths(
    job: Job,
    *,
    material: str | None = None,
    widths: Sequence[float] | None = None,
    folds: bool = False,
    seconds: float | None = 30.0,
    rounds: int | None = None,
    seed: int = 1,
    workers: int | None = None,
    observer: LayObserver | None = None,
    stop: Callable[[], bool] | None = None,
    executor: Executor | None = None,
) -> tuple[Trial, ...]:
    """Lay each cloth of a job (or one) on each width and mark the best.

    `widths` are booked widths in mm; without them the job's own are compared. A
    width the job does not know has the selvedges of the cloth's first width and no
    price. `folds`: lay each cloth both single and folded.
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
                observer=observer,
                stop=stop,
                executor=local,
            )
    cases = [
        (laid, width)
        for cloth in _cloths(job, material)
        for width in _widths(cloth, widths)
        for laid in (_folded(cloth) if folds else (cloth,))
    ]
    trials: dict[str, Trial] = {}
    todo: dict[str, Lay] = {}
    for cloth, width in cases:
        key = _key(cloth, width)
        try:
            if cloth.fold is Fold.FOLDED and cloth.print is not None and not cloth.fold_print:
                raise JobError("folded, the print would fall differently on the two plies")
            todo[key] = lays(_with(job, cloth), only=(cloth.name,), widths={cloth.name: width})[0]
        except JobError as error:
            trials[key] = Trial(
                material=cloth.name, width=width, fold=cloth.fold, entry=None, why=error.what
            )
    results = lay_all(
        todo,
        executor=executor,
        seconds=seconds,
        rounds=rounds,
        seed=seed,
        observer=observer,
        stop=stop,
    )
    for cloth, width in cases:
        key = _key(cloth, width)
        if key in results:
            entry = entry_for(cloth, results[key], width=width)
            trials[key] = Trial(material=cloth.name, width=width, fold=cloth.fold, entry=entry)
    return _marked([trials[_key(cloth, width)] for cloth, width in cases])


def _folded(cloth: Cloth) -> tuple[Cloth, Cloth]:
    """Return the cloth as it is laid single and folded."""
    return replace(cloth, fold=Fold.SINGLE), replace(cloth, fold=Fold.FOLDED)


def _with(job: Job, cloth: Cloth) -> Job:
    """Return the job with a cloth laid another way."""
    materials = tuple(cloth if m.name == cloth.name else m for m in job.materials)
    return replace(job, materials=materials)


def _key(cloth: Cloth, width: Width) -> str:
    folded = ", folded" if cloth.fold is Fold.FOLDED else ""
    return f"{cloth.name}, {width.booked / 10:g} cm{folded}"


def _cloths(job: Job, name: str | None) -> list[Cloth]:
    cloths = [m for m in job.materials if isinstance(m, Cloth)]
    if name is not None:
        cloths = [cloth for cloth in cloths if cloth.name == name]
    if not cloths:
        known = ", ".join(m.name for m in job.materials if isinstance(m, Cloth)) or "none"
        what = "the job has no cloth" if name is None else f"no cloth is named {name!r}"
        raise JobError(what, file=job.file, hint=f"cloths of this job: {known}")
    return cloths


def _widths(cloth: Cloth, asked: Sequence[float] | None) -> list[Width]:
    if asked is None:
        return list(cloth.widths)
    known = {width.booked: width for width in cloth.widths}
    edges = cloth.widths[0].booked - cloth.widths[0].usable
    for booked in asked:
        if booked <= edges:
            raise JobError(f"a width of {booked / 10:g} cm leaves nothing inside the selvedges")
    return [known.get(b) or Width(booked=b, usable=b - edges) for b in dict.fromkeys(asked)]


def _marked(trials: Sequence[Trial]) -> tuple[Trial, ...]:
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
    return tuple(marked)
