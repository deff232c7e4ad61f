"""The same parts on each width of cloth, single or folded: what is cheapest, what wastes least."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Unpack

from nesting.amounts import Amounts
from nesting.errors import JobError
from nesting.job.job import Job, refuse_unnamed
from nesting.marker.figures import figures
from nesting.material.material import Cloth, Fold, Width
from nesting.planning.begin import begun
from nesting.planning.buying.settle import best_width, tried_at
from nesting.planning.on_width import OnWidth, cases_of, entry_on, remnants_first, to_lay
from nesting.planning.plan import Entry
from nesting.planning.records import WidthTried
from nesting.planning.running.laying import lay_all
from nesting.planning.running.run import Options, Run, running
from nesting.shown import Brief

__all__ = ["Compared", "Trial", "compare_widths", "compared"]


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Trial(Brief):
    """One cloth on one width. `why` says why it can't be used, if it can't.

    `offcut`: what is cut from remnants at hand; `entry`: what is laid besides, None if there
    is nothing left, or if a part doesn't fit. `tried`: what it comes to, with the lengths at
    hand; `taken`: it is the width that a plan takes.

    `fold`: how it lies. Folded or single, the length bought is of the whole width.

    `cheapest`: costs least of this cloth's widths (None where a price is missing).
    `least`: takes the least area of cloth as bought. `needed`: the length needed in each
    seed's marker (mm), the entry's is the best; `cheapest_in`, `least_in`: in how many of
    those seeds this width was the cheapest and took the least.

    Examples
    --------
    >>> (trial,) = compare_widths(job, seconds=None, rounds=1, workers=1)
    >>> trial.material, trial.tried.to_buy.value, trial.taken
    ('canvas', 400, True)

    """

    material: str
    width: Width
    entry: Entry | None
    fold: Fold = Fold.SINGLE
    offcut: Entry | None = None
    tried: WidthTried | None = None
    taken: bool = False
    why: str = ""
    cheapest: bool | None = None
    least: bool = False
    needed: tuple[float, ...] = ()
    cheapest_in: int = 0
    least_in: int = 0

    @property
    def area(self) -> float | None:
        """Area of cloth bought (mm²)."""
        return None if self.tried is None else self.tried.to_buy.value * self.width.booked

    @property
    def cost(self) -> float | None:
        """What the length to buy costs."""
        return None if self.tried is None else self.tried.cost

    @property
    def waste(self) -> float | None:
        """Share of the cloth that is taken from stock and bought that is in no part."""
        if self.entry is None or self.tried is None or self.area is None:
            return None
        area = self.area + self.tried.from_stock.value * self.width.booked
        layers = 2.0 if self.fold is Fold.FOLDED else 1.0
        return max(0.0, 1.0 - layers * figures(self.entry.marker).area / area) if area else None

    @property
    def good(self) -> bool:
        """Whether all parts are laid, and well."""
        return self.tried is not None and (self.entry is None or self.entry.good)

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
    only: Collection[str] | None = None,
    widths: Sequence[float] | None = None,
    folds: bool = False,
    seconds: float | None = 30.0,
    seeds: int = 1,
    **options: Unpack[Options],
) -> tuple[Trial, ...]:
    """Lay each cloth of a job on each width and mark the best.

    Parameters
    ----------
    job
        What is to be made.
    only
        Names of the cloths to lay; None is all.
    widths
        Booked widths (mm); without them the job's own are compared. A width that the job does
        not know has the selvedges of the cloth's first width and no price.
    folds
        Lay each cloth both single and folded.
    seconds, rounds
        Wall time for all of it, or rounds for each lay; None does not limit.
        With `rounds` alone the answer is the same on any machine and day.
    seed
        Seed of every search.
    workers
        Worker processes (default: one a core).
    seeds
        How many searches of each, with seeds from `seed` on and the time shared out, tell how
        sure the marks are.
    observer
        Told how far each lay is (`Progress`).
    stop
        Asked now and then; True ends every search with the best it has.
    executor
        Where to run instead of processes of this machine: `processes` or `cluster`.

    Returns
    -------
    tuple of Trial
        One for each cloth, width and fold, those that can't be used among them.

    Raises
    ------
    JobError
        The job contradicts itself, or has no such cloth.

    Examples
    --------
    >>> trials = compare_widths(job, widths=[480, 600], seconds=None, rounds=1, workers=1)
    >>> [(trial.width.booked, trial.good, trial.least) for trial in trials]
    [(480, True, True), (600, True, False)]

    """
    refuse_unnamed(job)
    with running(seconds, **options) as run:
        job = begun(job, _cloths(job, only), run)
        return _compared(job, _cloths(job, only), run, widths=widths, folds=folds, seeds=seeds)


def _compared(
    job: Job,
    cloths: Sequence[Cloth],
    run: Run,
    *,
    widths: Sequence[float] | None,
    folds: bool,
    seeds: int,
) -> tuple[Trial, ...]:
    """Lay each cloth in each way with each seed, mark the best of each, and of all."""
    cases: dict[str, OnWidth] = {}
    refused: list[Trial] = []
    for cloth in cloths:
        for laid in _folded(cloth) if folds else (cloth,):
            for width in _widths(cloth, widths, job.amounts):
                try:
                    cases |= _case(job, laid, width)
                except JobError as error:
                    refused.append(
                        Trial(
                            material=laid.name,
                            width=width,
                            fold=laid.fold,
                            entry=None,
                            why=error.what,
                        )
                    )
    by_seed = [
        _trials(cases, replace(run.part(share=1.0 / seeds), seed=run.seed + number))
        for number in range(seeds)
    ]
    best = [min(of, key=_rank) for of in zip(*by_seed, strict=True)]
    marked = [_marked([*of, *refused]) for of in (best, *by_seed)]
    order = {m.name: i for i, m in enumerate(job.materials)}
    return tuple(
        sorted(
            (
                replace(
                    trial,
                    needed=tuple(
                        one.entry.buying.needed.value for one in of if one.entry is not None
                    ),
                    cheapest_in=sum(bool(one.cheapest) for one in of),
                    least_in=sum(one.least for one in of),
                )
                for trial, *of in zip(*marked, strict=True)
            ),
            key=lambda trial: order[trial.material],
        )
    )


def _case(job: Job, cloth: Cloth, width: Width) -> dict[str, OnWidth]:
    """Return a cloth on a width as it is to be laid; nothing if nothing is cut from it."""
    if cloth.fold is Fold.FOLDED and cloth.print is not None and not cloth.fold_print:
        raise JobError("folded, the print would fall differently on the two plies")
    found, _ = cases_of(_with(job, cloth), (cloth,), widths=(width,))
    return {_key(cloth, width, job.amounts): case for case in found.values()}


def _trials(cases: Mapping[str, OnWidth], run: Run) -> list[Trial]:
    """Lay every case with one seed, as a plan would."""
    ready = remnants_first(cases, run)
    results = lay_all(to_lay(ready), run)
    found = []
    for key, case in ready.items():
        entry = entry_on(case, results[key]) if key in results else None
        tried = tried_at(case.width, () if entry is None else (entry,), case.cloth)
        found.append(
            Trial(
                material=case.cloth.name,
                width=case.width,
                fold=case.cloth.fold,
                entry=entry,
                offcut=case.offcut,
                tried=tried,
                why=tried.why,
            )
        )
    return found


def _rank(trial: Trial) -> tuple[int, float]:
    """Return what makes one seed's trial better than another's: all laid, then length."""
    if trial.entry is None:
        return (0, 0.0)
    return (len(trial.entry.unplaced), figures(trial.entry.marker).length)


def _folded(cloth: Cloth) -> tuple[Cloth, Cloth]:
    """Return the cloth as it is laid single and folded."""
    # Remnants are for single plies.
    return replace(cloth, fold=Fold.SINGLE), replace(cloth, fold=Fold.FOLDED, remnants=())


def _with(job: Job, cloth: Cloth) -> Job:
    """Return the job with a cloth laid another way."""
    materials = tuple(cloth if m.name == cloth.name else m for m in job.materials)
    return replace(job, materials=materials)


def _key(cloth: Cloth, width: Width, amounts: Amounts) -> str:
    folded = ", folded" if cloth.fold is Fold.FOLDED else ""
    return f"{cloth.name}, {amounts.setting(width.booked)}{folded}"


def _cloths(job: Job, only: Collection[str] | None) -> list[Cloth]:
    cloths = list(job.cloths)
    known = [cloth.name for cloth in cloths]
    for name in (only or ()) if known else ():
        if name not in known:
            raise JobError(
                f"no cloth is named {name!r}",
                file=job.file,
                hint=f"cloths of this job: {', '.join(known)}",
            )
    if not cloths:
        raise JobError("the job has no cloth", file=job.file, hint="compare is for cloth")
    return cloths if only is None else [cloth for cloth in cloths if cloth.name in only]


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
    """Mark, for each cloth, the cheapest width, the least cloth, and what a plan takes."""
    marked: list[Trial] = []
    for trial in trials:
        rivals = [t for t in trials if t.material == trial.material and t.good and not t.why]
        areas = [t.area for t in rivals if t.area is not None]
        costs = [t.cost for t in rivals if t.cost is not None]
        priced = bool(rivals) and len(costs) == len(rivals)
        eligible = trial in rivals
        taken = best_width([t.tried for t in rivals if t.tried is not None])
        marked.append(
            replace(
                trial,
                cheapest=(eligible and trial.cost == min(costs)) if priced else None,
                least=eligible and trial.area == min(areas),
                taken=taken is not None and trial is rivals[taken],
            )
        )
    return marked
