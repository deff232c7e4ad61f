"""Widths of cloth and numbers of bags compared beside all else, as the command does it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from starlette.responses import Response

import nesting
from nesting.errors import JobError, NestingError
from nesting.planning.buying.instructions import instruction_lines
from nesting.planning.orders.most_bags import limited_goods, most_bags
from nesting.writing.neutral.keys import job_keys
from nesting.writing.pages.live.marker import live_marker

from ..arguments import widths
from ..compared import HEAD, enough, rows, sums

if TYPE_CHECKING:
    from nesting import Job, Progress, Trial
    from nesting.planning.orders.most_bags import MostBags

    from .work import Work

__all__ = ["ANSWERS", "Comparison"]

Json = dict[str, Any]

_SEEDS = 20
"""Times that each width is laid at most."""


class Comparison:
    """The last comparisons, of widths and of bags, and whether one goes on.

    `tell` hears of its end. `number`: that of the last one, which is `counting` bags if it was
    not of widths.
    """

    def __init__(self, tell: Callable[..., None]) -> None:
        self._tell = tell
        self.trials: tuple[Trial, ...] = ()
        self.bags: MostBags | None = None
        self.job: Job | None = None
        self.trouble = ""
        self.number, self.counting = 0, False
        self._running: threading.Thread | None = None
        self._stop = threading.Event()

    @property
    def running(self) -> bool:
        """Whether it goes on."""
        return self._running is not None and self._running.is_alive()

    def widths(self, job: Job, **how: Any) -> None:
        """Begin to compare widths of a job's cloths."""
        self.job, self.trials, self.counting = job, (), False
        self._begin(lambda: self._widths(job, how))

    def count(self, job: Job, **how: Any) -> None:
        """Begin to see how many whole bags the hides and counted sheets at hand give."""
        self.bags, self.counting = None, True
        self._begin(lambda: self._count(job, how))

    def stop(self) -> None:
        """End it with the best it has."""
        self._stop.set()

    def end(self) -> None:
        """End it, and wait for that."""
        self.stop()
        if self._running is not None:
            self._running.join()

    def _begin(self, act: Callable[[], None]) -> None:
        self._stop.clear()
        self.trouble, self.number = "", self.number + 1
        self._running = threading.Thread(target=self._run, args=(act,), daemon=True)
        self._running.start()
        self._tell("comparing")

    def _run(self, act: Callable[[], None]) -> None:
        try:
            act()
        except NestingError as error:
            self.trouble = str(error)
        finally:
            self._running = None
            self._tell("compared")

    def _widths(self, job: Job, how: Json) -> None:
        self.trials = nesting.compare_widths(
            job, **how, stop=self._stop.is_set, observer=self._heard
        )

    def _count(self, job: Job, how: Json) -> None:
        self.bags = most_bags(job, **how, stop=self._stop.is_set)

    def _heard(self, progress: Progress) -> None:
        """Hear how far it is, which is told only as its end."""


def compared(work: Work, asked: Json) -> Json:
    """Tell of the last comparison: its table, and which of its markers can be seen."""
    held = work.comparison
    job = held.job or work.job
    return {
        "running": held.running,
        "counting": held.counting,
        "number": held.number,
        "trouble": held.trouble,
        "cloths": [cloth.name for cloth in work.job.cloths],
        "head": list(HEAD),
        "rows": rows(held.trials, job) if held.trials else [],
        "sums": sums(held.trials, job) if held.trials else "",
        "instructions": list(instruction_lines(held.trials)),
        "limited": len(work.job.bags) == 1 and bool(limited_goods(work.job)),
        "bags": "" if held.bags is None else enough(held.bags),
        "markers": [
            {
                "trial": number,
                "material": trial.material,
                "title": ", ".join(rows((trial,), job)[0][:3]),
            }
            for number, trial in enumerate(held.trials)
            if trial.entry is not None
        ],
    }


def compare(work: Work, asked: Json) -> Json:
    """Begin to compare widths."""
    with work.lock:
        job = _ready(work)
        only = asked.get("only")
        only = None if only in (None, "") else [str(only)]
        job.wanted(only)  # or refused
        text = str(asked.get("widths") or "").strip()
        seeds = min(max(int(asked.get("seeds") or 1), 1), _SEEDS)
        work.comparison.widths(
            job,
            only=only,
            widths=widths(text, unit=job.unit) if text else None,
            folds=asked.get("folds") is True,
            seeds=seeds,
            seconds=work.seconds,
            workers=work.workers,
        )
    return {}


def bags(work: Work, asked: Json) -> Json:
    """Begin to see how many whole bags there is enough for."""
    with work.lock:
        job = _ready(work)
        work.comparison.count(job, seconds=work.seconds, workers=work.workers)
    return {}


def _ready(work: Work) -> Job:
    """Return the job as it is now, or say that something else is searched."""
    if work.searching or work.comparison.running or work.advising.running:
        raise JobError("a search is going on already", hint="stop it first")
    work.read_again()
    return work.job


def chart(work: Work, asked: Json) -> Response:
    """Draw the widths that were compared as the command does."""
    from nesting.writing.pages.chart import width_chart  # with what draws: not until asked for

    held = work.comparison
    if not held.trials or held.job is None:
        raise JobError("no widths were compared", hint="compare them first")
    return Response(width_chart(held.trials, amounts=held.job.amounts), media_type="image/png")


def stop(work: Work, asked: Json) -> Json:
    """End comparing with the best it has."""
    work.comparison.stop()
    return {}


def drawing(work: Work, asked: Json) -> Json:
    """Draw a marker of the last comparison."""
    trials, number = work.comparison.trials, int(asked["trial"])
    entry = trials[number].entry if 0 <= number < len(trials) else None
    if entry is None or work.comparison.job is None:
        raise JobError("there is no such marker any more", hint="compare the widths again")
    return live_marker(entry, keys=job_keys(work.comparison.job))


ANSWERS = {
    "/compare": ("GET", compared),
    "/compare/begin": ("POST", compare),
    "/compare/bags": ("POST", bags),
    "/compare/chart": ("GET", chart),
    "/compare/stop": ("POST", stop),
    "/compare/marker": ("GET", drawing),
}
"""What is answered here: how it is asked, and who answers."""
