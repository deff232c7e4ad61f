"""How many whole bags the hides and counted sheets at hand give."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from nesting.errors import JobError
from nesting.job.job import Job
from nesting.material.material import Goods
from nesting.pattern.measure import area
from nesting.pattern.polygon import piece_polygon
from nesting.planning.lay.lays import lays
from nesting.planning.make import make_plan
from nesting.planning.plan import Plan
from nesting.planning.running.pool import processes

__all__ = ["MostBags", "limited_goods", "most_bags"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MostBags:
    """The most whole bags that were laid, and the plan that shows them (None for no bag).

    `at_most`: the area at hand is enough for no more.
    """

    bags: int
    at_most: int
    plan: Plan | None


def most_bags(
    job: Job,
    *,
    seconds: float | None = 60.0,
    rounds: int | None = None,
    seed: int = 1,
    workers: int | None = None,
    stop: Callable[[], bool] | None = None,
) -> MostBags:
    """Lay more and more bags on what is at hand, whatever the job asks for, and keep the most.

    Only hides and sheets of which there are so many count; everything else can be bought.

    Raises
    ------
    JobError
        The job has several designs, or nothing of it is limited.

    """
    if len(job.bags) != 1:
        raise JobError("the job has several bags", file=job.file, hint="ask for one at a time")
    goods = limited_goods(job)
    if not goods:
        raise JobError(
            "nothing of the job is at hand in a limited number",
            file=job.file,
            hint="give its [[leather]] hides, or a count to its [[sheet]]",
        )
    most = min(_by_area(_times(job, 1), m) for m in goods)
    found, plan, low, high = 0, None, 0, most
    trials = max(1, most.bit_length())  # of halving what is in question
    count = min(max(job.bags[0].count, 1), max(most, 1))
    with processes(workers) as there:
        while low < high and not (stop is not None and stop()):
            tried = make_plan(
                _times(job, count),
                seconds=None if seconds is None else seconds / trials,
                rounds=rounds,
                seed=seed,
                only=[m.name for m in goods],
                stop=stop,
                executor=there,
            )
            if all(entry.good for entry in tried.entries):
                found, plan, low = count, tried, count
            else:
                high = count - 1
            count = (low + high + 1) // 2
    return MostBags(bags=found, at_most=most, plan=plan)


def limited_goods(job: Job) -> list[Goods]:
    """Return the goods that a job's bags are cut from and of which there is only so much."""
    used = {cut.material for bag in job.bags for cut in bag.cuts}
    return [m for m in job.materials if m.name in used and m.limited]


def _times(job: Job, count: int) -> Job:
    return replace(job, bags=(replace(job.bags[0], count=count),))


def _by_area(job: Job, goods: Goods) -> int:
    """Return how many bags the area at hand is enough for, nothing wasted."""
    (lay,) = lays(job, only=[goods.name])
    each = sum(piece_polygon(part.piece).area for part in lay.parts)
    at_hand = sum((sheet.count or 0) * area(sheet.outline) for sheet in lay.stock.sheets)
    return int(at_hand / each)
