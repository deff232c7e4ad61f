"""Many lays at once: time shared out, idle cores used, lost workers replaced."""

from __future__ import annotations

import time
from collections.abc import Mapping
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Future, wait
from dataclasses import dataclass, replace

from nesting.errors import NestingError
from nesting.marker.lay import Lay
from nesting.marker.marker import Marker
from nesting.marker.rest import taken
from nesting.planning.running.run import Run
from nesting.planning.running.worker import SearchTask
from nesting.search.result import Limits, Result

__all__ = ["better", "lay_all", "likeness"]

_TRIES = 3
# A further seed on an idle core is worth starting only if it gets this long (s).
_WORTH = 1.0


@dataclass(frozen=True, slots=True)
class _Attempt:
    name: str
    seed: int
    ends: float
    tries: int


def better(first: Result, second: Result) -> Result:
    """Return the result with fewer unplaced parts, then fewer sheets, then what takes less."""
    return min(first, second, key=_rank)


def _rank(result: Result) -> tuple[int, int, float]:
    marker = result.marker
    length = result.history[-1][1] if result.history else 0.0
    less = length if marker.lay.stock.open_ended else taken(marker)
    return (len(result.unplaced), len(marker.sheets), less)


def _weight(lay: Lay) -> float:
    """Say how much of the time a lay deserves: its difficulty grows with its parts."""
    n = len(lay.parts)
    return 0.2 if n <= 1 else float(n) ** 0.75


def lay_all(
    lays: Mapping[str, Lay], run: Run, *, starts: Mapping[str, Marker] | None = None
) -> dict[str, Result]:
    """Search every lay, all of them within the time that the run has left.

    Lays that are alike but for names (one design in several colours) are searched once.
    Sheets and hides come first, for a search may end as soon as the fewest are reached,
    then small lays: what they leave of their share goes to those that follow. If rounds
    are the limit the longest come first, so that all cores are busy to the end.
    A core that falls idle tries a further seed of the hardest lay still running, if
    time (and not rounds) is the limit. Each lay is tried up to three times if its
    worker is lost. `starts`: markers that searches go on from, never worse; such a lay is
    searched by itself. What the run's store holds is not searched again, and it keeps each
    result as soon as that stands.
    """
    first: dict[object, str] = {}
    begun = starts or {}
    like = {
        name: name if name in begun else first.setdefault(likeness(lay), name)
        for name, lay in lays.items()
    }
    single = {name: lays[name] for name in dict.fromkeys(like.values())}
    store = run.store
    kept = {} if store is None else {name: store.get(lay) for name, lay in single.items()}
    done = {name: result for name, result in kept.items() if result is not None}
    todo = {name: lay for name, lay in single.items() if name not in done}
    done |= _Scheduler(todo, run, begun).results_of_all()
    return {name: _on(lay, done[like[name]]) for name, lay in lays.items()}


def likeness(lay: Lay) -> object:
    """Return what two lays have in common that are the same problem under other names."""
    numbers: dict[object, int] = {}

    def number(name: str | None) -> int | None:
        return None if name is None else numbers.setdefault(name, len(numbers))

    parts = tuple(
        (
            (part.piece.cut, part.piece.holes),
            (part.turns, part.flip, part.region, part.edge, part.held),
            part.binding and (part.binding.anchor, part.binding.lattice),
            number(part.binding.phase if part.binding else None),
            number(part.turn_group),
            number(part.mates),
            number(part.match),
        )
        for part in lay.parts
    )
    return (parts, lay.stock, lay.spacing)


def _on(lay: Lay, result: Result) -> Result:
    """Return the result as that of a lay that is alike."""
    if result.marker.lay is lay:
        return result
    return replace(result, marker=replace(result.marker, lay=lay))


class _Scheduler:
    """The state of one `lay_all`."""

    def __init__(self, lays: Mapping[str, Lay], run: Run, starts: Mapping[str, Marker]) -> None:
        self.lays, self.asked, self.starts = lays, run, starts
        self.executor = run.executor
        self.weights = {name: _weight(lay) for name, lay in lays.items()}
        self.waiting = list(lays)
        self.lost: list[_Attempt] = []
        self.running: dict[Future[Result], _Attempt] = {}
        self.results: dict[str, Result] = {}
        self.told: dict[str, tuple[int, float]] = {}
        self.next_seed = dict.fromkeys(lays, run.seed + 1)
        self.deadline = None if run.left is None else time.monotonic() + run.left
        self.waiting.sort(key=self._turn)
        self.stopped = False

    def results_of_all(self) -> dict[str, Result]:
        """Search until all is done."""
        while self.waiting or self.lost or self.running:
            self._fill()
            done, _ = wait(self.running, timeout=0.1, return_when=FIRST_COMPLETED)
            self._tell()
            for future in done:
                self._collect(future)
            if not self.stopped and self.asked.stopped:
                self.stopped = True
                self.executor.stop()
        self._tell()
        return self.results

    def _turn(self, name: str) -> tuple[bool, float]:
        """Say when a lay has its turn: without a deadline the longest first."""
        if self.deadline is None:
            return (False, -self.weights[name])
        return (self.lays[name].stock.open_ended, self.weights[name])

    def _remaining(self) -> float:
        return float("inf") if self.deadline is None else self.deadline - time.monotonic()

    def _share(self, name: str) -> float | None:
        """Return this lay's seconds: its weight's share of the core time that is left."""
        if self.deadline is None:
            return None
        left = max(0.0, self._remaining())
        now = time.monotonic()
        taken = sum(max(0.0, run.ends - now) for run in self.running.values())
        capacity = max(0.0, left * self.executor.slots - taken)
        weights = self.weights[name] + sum(self.weights[other] for other in self.waiting)
        return min(left, capacity * self.weights[name] / weights)

    def _fill(self) -> None:
        while self.lost and len(self.running) < self.executor.slots:
            run = self.lost.pop(0)
            left = None if self.deadline is None else max(0.0, run.ends - time.monotonic())
            self._start(run.name, seed=run.seed, seconds=left, tries=run.tries + 1)
        while self.waiting and len(self.running) < self.executor.slots:
            name = self.waiting.pop(0)
            self._start(name, seed=self.asked.seed, seconds=self._share(name), tries=1)
        if self.asked.rounds is None and not self.stopped and not self.waiting:
            self._use_idle_cores()

    def _use_idle_cores(self) -> None:
        while self.running and len(self.running) < self.executor.slots:
            left = self._remaining()
            if not _WORTH < left < float("inf"):
                return
            name = max((run.name for run in self.running.values()), key=self.weights.__getitem__)
            self._start(name, seed=self.next_seed[name], seconds=left, tries=1)
            self.next_seed[name] += 1

    def _start(self, name: str, *, seed: int, seconds: float | None, tries: int) -> None:
        task = SearchTask(
            name=name,
            lay=self.lays[name],
            limits=Limits(seconds=seconds, rounds=self.asked.rounds),
            seed=seed,
            start=self.starts.get(name),
        )
        ends = time.monotonic() + seconds if seconds is not None else float("inf")
        self.running[self.executor.submit(task)] = _Attempt(name, seed, ends, tries)

    def _collect(self, future: Future[Result]) -> None:
        run = self.running.pop(future)
        try:
            result = future.result()
        except (BrokenExecutor, EOFError, ConnectionError) as error:
            if run.tries >= _TRIES:
                message = f"the worker that searched {run.name!r} was lost {_TRIES} times"
                raise NestingError(message, hint="is there enough memory?") from error
            self.lost.append(run)
            return
        old = self.results.get(run.name)
        self.results[run.name] = result if old is None else better(old, result)
        going_on = {other.name for other in (*self.running.values(), *self.lost)}
        if self.asked.store is not None and run.name not in going_on:
            self.asked.store.put(self.lays[run.name], self.results[run.name])

    def _tell(self) -> None:
        observer = self.asked.observer
        for name, _, progress in self.executor.progress():
            best = (progress.sheets, progress.length)
            if observer is not None and best < self.told.get(name, (best[0] + 1, 0.0)):
                self.told[name] = best  # another search of the same lay may lag behind
                observer(replace(progress, lay=name))
