"""Jobs laid for real, one seed after the other, and when a difference is more than chance.

A change counts if each of its seeds takes less than every seed of the job as it is. Were both
alike, all orders of the results would be equally likely, and this one would come about once in
(b + c choose c) times, b and c being the numbers of seeds: that is the exact rank-sum test at its
smallest value (F. Wilcoxon, "Individual comparisons by ranking methods", 1945; H. B. Mann and
D. R. Whitney 1947). With six seeds against three it is once in 84.

Many changes are tried, and all against the same seeds of the job as it is. So that of the whole
table, and not of one line of it, a saving that is none comes about at most once in `RARELY` times,
the chances are held against S. Holm's bounds ("A simple sequentially rejective multiple test
procedure", Scandinavian Journal of Statistics 6, 1979): they hold however the trials depend on one
another. To keep false savings to a share of those that are told (Y. Benjamini and Y. Hochberg 1995)
would ask for fewer seeds, but here one false saving costs somebody a cut cloth.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from nesting.job.job import Job
from nesting.planning.buying.shopping import Purchase, shopping_list
from nesting.planning.make import make_plan
from nesting.planning.plan import Plan
from nesting.planning.running.run import Run
from nesting.quantity import Quantity, Unit

__all__ = [
    "RARELY",
    "Laid",
    "Saved",
    "by_chance",
    "confirmed",
    "laid",
    "less",
    "saved",
    "seeds_for",
]

RARELY = 20
"""Once in so many tables, at most, anything is called a saving that is none (our choice)."""

_HAIR = 0.5
"""Lengths that differ by no more (mm) are alike: what rounding may make."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """What one seed came to. `taken`: the area of the goods (mm²), edges and all.

    `needed`, `to_buy`, `cost`: as in the buying list. `wide`: the booked width it lies on.
    """

    seed: int
    good: bool
    taken: float
    needed: Quantity
    to_buy: Quantity
    cost: float | None
    wide: float | None = None

    @property
    def size(self) -> float:
        """The area (mm²) of one of what is needed: so two can be told to be of one kind."""
        return self.taken / self.needed.value if self.needed.value else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Saved:
    """What a change saves, once by its seeds' medians, and surely: by its worst seed.

    `about`, `least`: lengths (mm) of cloth whose width stays, else areas (mm²). `bought`: of what
    is bought (nothing where that is of another size), and `cost` of it: surely.
    """

    unit: str
    about: float
    least: float
    bought: Quantity
    cost: float | None

    @property
    def worth(self) -> tuple[float, float]:
        """What puts the best first: money, then goods."""
        return (self.cost or 0.0, self.about)


def laid(job: Job, material: str, run: Run) -> tuple[Plan, Laid]:
    """Lay one material of a job as any plan does, judged, and reckon what is bought."""
    plan = make_plan(
        job, seconds=run.seconds, rounds=run.rounds, seed=run.seed, only=[material],
        stop=run.stop, executor=run.executor,
    )  # fmt: skip
    return plan, _reckoned(plan, material, run.seed)


def _reckoned(plan: Plan, material: str, seed: int) -> Laid:
    line: Purchase = next(one for one in shopping_list(plan).lines if one.name == material)
    goods = plan.job.material(material)
    taken = line.net.value
    if goods is not None and goods.taken_in is Unit.SHEETS:
        taken *= goods.length * goods.width
    return Laid(
        seed=seed,
        good=all(entry.good for entry in plan.entries),
        taken=taken * (line.width or 1.0),
        needed=line.net,
        to_buy=line.to_buy,
        cost=line.cost,
        wide=line.width,
    )


def less(base: Sequence[Laid], changed: Sequence[Laid], *, share: float = 1.0) -> bool:
    """Whether all seeds of a change take less than every seed of the job as it is.

    `share`: how many times as much the change makes. Where as many come out good.
    """
    if not all(one.good for one in (*base, *changed)):
        return False
    hair = _HAIR * max((one.wide or 0.0 for one in changed), default=0.0)
    return max(one.taken for one in changed) < share * min(one.taken for one in base) - hair


def by_chance(base: int, changed: int) -> int:
    """Return once in how many times so many seeds would all take less though nothing differs."""
    return math.comb(base + changed, changed)


def seeds_for(tried: int, *, base: int) -> int:
    """Return how many seeds of a change it takes to be sure of it among so many that are tried."""
    seeds = 1
    while by_chance(base, seeds) < RARELY * max(tried, 1):
        seeds += 1
    return seeds


def confirmed(odds: Sequence[int], *, tried: int) -> tuple[bool, ...]:
    """Return which of some changes are more than chance, if each is so once in its `odds`.

    `tried`: how many changes there are in all, these and those that a seed spoke against.
    """
    sure = [False] * len(odds)
    for rank, i in enumerate(sorted(range(len(odds)), key=lambda i: -odds[i])):
        if odds[i] < RARELY * (tried - rank):
            break
        sure[i] = True
    return tuple(sure)


def saved(base: Sequence[Laid], changed: Sequence[Laid], *, share: float = 1.0) -> Saved:
    """Return what a change saves; `share`: as in `less`."""
    wide = {one.wide for one in (*base, *changed)}
    (by,) = wide if len(wide) == 1 else (None,)
    old = [share * one.taken / (by or 1.0) for one in base]
    new = [one.taken / (by or 1.0) for one in changed]
    alike = len({round(one.size, 3) for one in (*base, *changed) if one.size}) <= 1
    buy = min(share * one.to_buy.value for one in base) - max(o.to_buy.value for o in changed)
    costs = [one.cost for one in base], [one.cost for one in changed]
    known = [[cost for cost in of if cost is not None] for of in costs]
    priced = len(known[0]) == len(base) and len(known[1]) == len(changed)
    return Saved(
        unit=Unit.AREA if by is None else Unit.LENGTH,
        about=median(old) - median(new),
        least=min(old) - max(new),
        bought=Quantity(buy if alike else 0.0, base[0].to_buy.unit),
        cost=round(share * min(known[0]) - max(known[1]), 2) if priced else None,
    )
