"""What would save goods: what holds each marker, and every change laid for real."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Unpack

from nesting.advice.change import Change
from nesting.advice.goods_changes import goods_changes
from nesting.advice.piece_changes import Held, piece_changes
from nesting.advice.promise import Before, Promise, promise
from nesting.advice.trials import Laid, Saved, by_chance, confirmed, laid, less, saved, seeds_for
from nesting.errors import JobError
from nesting.job.job import Job, refuse_unnamed
from nesting.marker.check import check
from nesting.material.material import Material
from nesting.planning.buying.one_step_less import one_step_less
from nesting.planning.lay.lays import lays
from nesting.planning.plan import Entry
from nesting.planning.running.run import Options, Run, running
from nesting.search.squeezing.chain import Chain, chain_of
from nesting.shown import Brief

__all__ = ["Advice", "AsItIs", "Proposal", "advise"]

BASE_SEEDS = 6
"""How many times the job as it is is laid."""

_TURNS = 30
"""For how many lays of changes there is time besides those of the job as it is."""

_SHORTEST = 0.5
"""Seconds that a lay gets at least."""


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class AsItIs(Brief):
    """A material as the job has it: what each seed came to, the best marker, what holds it."""

    material: str
    laid: tuple[Laid, ...]
    entry: Entry | None
    chain: Chain | None = None


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Proposal(Brief):
    """A change that was laid, each seed, and what it saves; the best marker found for it."""

    change: Change
    laid: tuple[Laid, ...]
    saved: Saved
    entry: Entry | None


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Advice(Brief):
    """What would save: `proposals` are certain and the best stands first; `open` are not.

    Those are not of which time ended before as many seeds were laid as it takes among all that
    there are to try, `tried`.

    `vain`: changes of which a seed takes no less. `left_out`: what can't help, and why. `untried`:
    what there was no time for, the most promising first.
    """

    job: Job
    as_it_is: tuple[AsItIs, ...]
    proposals: tuple[Proposal, ...] = ()
    open: tuple[Proposal, ...] = ()
    vain: tuple[Change, ...] = ()
    left_out: tuple[tuple[Change, str], ...] = ()
    untried: tuple[Change, ...] = ()
    tried: int = 0

    @property
    def seeds(self) -> int:
        """How many seeds of a change have to take less."""
        return seeds_for(self.tried, base=BASE_SEEDS)


def advise(
    job: Job,
    *,
    only: Collection[str] | None = None,
    widths: Sequence[float] = (),
    seconds: float | None = 120.0,
    **options: Unpack[Options],
) -> Advice:
    """Say what holds a job's markers, and which changes would save goods, each laid for real.

    Parameters
    ----------
    job
        What is to be made.
    only
        Names of the materials to look into; None is all.
    widths
        Booked widths (mm) of cloth that could be bought besides those of the job.
    seconds, rounds
        Wall time for all of it, or rounds for each lay; None does not limit.
        With `rounds` alone everything is tried, and the answer is the same on any machine.
    seed
        Seed of the first search of each; the others follow.
    workers
        Worker processes (default: one a core).
    observer
        Told how far each lay is (`Progress`).
    stop
        Asked now and then; True ends it with what is known.
    executor
        Where to run instead of processes of this machine: `processes` or `cluster`.

    Returns
    -------
    Advice
        What is certain, what is not, what was not tried.

    Raises
    ------
    JobError
        A piece fits no width or sheet, or the job contradicts itself.

    Examples
    --------
    >>> found = advise(job, seconds=None, rounds=1, workers=1)
    >>> found.as_it_is[0].chain.length
    400.0

    """
    refuse_unnamed(job)
    with running(seconds, **options) as run:
        return _Adviser(job, job.wanted(only), run, widths).advice()


class _Adviser:
    """One search for advice."""

    def __init__(
        self, job: Job, materials: Sequence[Material], run: Run, widths: Sequence[float]
    ) -> None:
        cut = {line.material for bag in job.bags for line in bag.cuts}
        self.job, self.run, self.widths = job, run, widths
        self.materials = [material for material in materials if material.name in cut]
        lays_ = BASE_SEEDS * len(self.materials) + _TURNS
        self.each = None if run.seconds is None else max(run.seconds / lays_, _SHORTEST)

    def advice(self) -> Advice:
        """Lay the job as it is, then change after change."""
        as_it_is = tuple(found for m in self.materials if (found := self._as_it_is(m)).laid)
        todo: list[tuple[Promise, Change]] = []
        left_out: list[tuple[Change, str]] = []
        for one in as_it_is:
            for change, told in self._changes(one):
                if why := change.aside or told.why:
                    left_out.append((change, why))
                else:
                    todo.append((told, change))
        order = [change for _, change in sorted(todo, key=lambda it: it[0].rank)]
        base = {one.material: one for one in as_it_is}
        return self._tried(order, base, Advice(
            job=self.job, as_it_is=as_it_is, left_out=tuple(left_out), tried=len(order),
        ))  # fmt: skip

    def _tried(self, order: Sequence[Change], base: Mapping[str, AsItIs], so_far: Advice) -> Advice:
        better: list[Proposal] = []
        vain: list[Change] = []
        left_out, untried = list(so_far.left_out), list[Change]()
        for change in order:
            as_it_is = base[change.material]
            try:
                found = self._proposal(change, as_it_is, seeds=so_far.seeds)
            except JobError as error:
                left_out.append((change, f"can't be laid: {error.what}"))
                continue
            if found is None:
                untried.append(change)
            elif not less(as_it_is.laid, found.laid, share=change.share):
                vain.append(change)
            else:
                better.append(found)
        odds = [by_chance(len(base[o.change.material].laid), len(o.laid)) for o in better]
        sure = confirmed(odds, tried=so_far.tried)
        return replace(
            so_far,
            proposals=_ranked(one for one, told in zip(better, sure, strict=True) if told),
            open=_ranked(one for one, told in zip(better, sure, strict=True) if not told),
            vain=tuple(vain),
            left_out=tuple(left_out),
            untried=tuple(untried),
        )

    # ------------------------------------------------------------ laying

    def _as_it_is(self, material: Material) -> AsItIs:
        """Lay a material as the job has it, with all seeds."""
        done: list[Laid] = []
        best: Entry | None = None
        for n in range(BASE_SEEDS):
            if done and self._over:
                break
            entry, found = self._lay(self.job, material.name, n)
            if not done or found.taken < min(one.taken for one in done):
                best = entry
            done.append(found)
        chain = None
        if best is not None and best.good and best.marker.lay.stock.open_ended:
            chain = chain_of(best.marker)
            if chain is not None and any(f.severity == "fault" for f in check(chain.marker)):
                chain = None
        return AsItIs(material=material.name, laid=tuple(done), entry=best, chain=chain)

    def _proposal(self, change: Change, base: AsItIs, *, seeds: int) -> Proposal | None:
        """Lay a change, seed after seed, as long as each takes less; None if time is up."""
        done: list[Laid] = []
        best: Entry | None = None
        for n in range(seeds):
            if self._over:
                break
            entry, found = self._lay(change.job, change.material, n)
            if not done or found.taken < min(one.taken for one in done):
                best = entry
            done.append(found)
            if not less(base.laid, done, share=change.share):
                break
        if not done:
            return None
        return Proposal(
            change=change,
            laid=tuple(done),
            saved=saved(base.laid, done, share=change.share),
            entry=best,
        )

    def _lay(self, job: Job, material: str, number: int) -> tuple[Entry | None, Laid]:
        run = replace(self.run.part(), seconds=self.each, seed=self.run.seed + number)
        plan, found = laid(job, material, run)
        entries = plan.entries_of(material)
        return (entries[-1] if entries else None), found

    @property
    def _over(self) -> bool:
        """Whether there is no time for another lay."""
        left = self.run.left
        return self.run.stopped or (
            left is not None and self.each is not None and left < 0.5 * self.each
        )

    # ------------------------------------------------------------ what may be changed

    def _changes(self, base: AsItIs) -> list[tuple[Change, Promise]]:
        """Return the changes of a material, each with what it promises."""
        material = self.job.material(base.material)
        entry = base.entry
        assert material is not None
        if entry is None or not all(one.good for one in base.laid):
            return []
        gains = _gains(base.chain)
        less_by = one_step_less(entry)
        stock = entry.marker.lay.stock
        held = Held(
            gains=gains,
            excess=None if less_by is None else less_by[1],
            width=stock.width if stock.open_ended else None,
        )
        width = entry.width
        best = min(base.laid, key=lambda one: one.taken)
        before = Before(
            lays=lays(
                self.job,
                only=[material.name],
                widths={} if width is None else {material.name: width},
            ),
            width=width,
            taken=best.taken,
            gains=gains,
            worth=(best.cost or 0.0) / best.taken if best.taken and best.cost else 1e-6,
        )
        changes = goods_changes(self.job, material, widths=self.widths)
        changes += piece_changes(self.job, material, held)
        return [(change, promise(change, before)) for change in changes]


def _gains(chain: Chain | None) -> dict[str, tuple[float, float]]:
    """Return what a mm less of each piece of a chain gives, along its grain and across it.

    All copies of a piece get smaller together.
    """
    found: defaultdict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
    if chain is None:
        return {}
    angles = {p.part: p.angle for p in chain.marker.placements}
    for share in chain.shares:
        gains = (share.along, share.across)
        across = not share.aslant and abs(angles[share.part] % 180.0 - 90.0) < 1.0
        total = found[chain.marker.lay.parts[share.part].piece.name]
        for axis in (0, 1):
            total[axis] += gains[1 - axis if across else axis]
    return {name: (along, across) for name, (along, across) in found.items()}


def _ranked(found: Iterable[Proposal]) -> tuple[Proposal, ...]:
    return tuple(sorted(found, key=_best_first))


def _best_first(one: Proposal) -> tuple[bool, float, float]:
    """Put the best first; what asks for something that may not be there comes behind."""
    cost, goods = one.saved.worth
    return (one.change.asks, -cost, -goods)
