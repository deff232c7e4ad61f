"""Where searches run: processes of this machine, or a cluster by address.

Everything that solves several lays goes through an `Executor`: it takes a search
and gives a `concurrent.futures.Future`. A worker that is lost breaks its own slot
only; the slot is made anew and the search tried again by the caller.
"""

from __future__ import annotations

import os
import queue
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor, Future
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from queue import SimpleQueue
from typing import Protocol

from nesting.planning.running.worker import SearchTask
from nesting.planning.running.worker_process import Told, WorkerProcess, end_workers
from nesting.search.result import Progress, Result

__all__ = ["Executor", "Processes", "processes"]


class Executor(Protocol):
    """Runs searches side by side."""

    slots: int

    def submit(self, task: SearchTask) -> Future[Result]:
        """Start a search on a free slot."""
        ...

    def progress(self) -> Iterator[tuple[str, int, Progress]]:
        """Yield (task name, seed, progress) told since the last call."""
        ...

    def stop(self) -> None:
        """Ask every running search to end with the best it has."""
        ...


@dataclass(slots=True)
class Processes:
    """Worker processes of this machine, one search each."""

    slots: int
    _workers: list[WorkerProcess] = field(default_factory=list)
    _told: Told = field(default_factory=SimpleQueue)
    _stopping: bool = False

    def __post_init__(self) -> None:
        self._workers = [WorkerProcess(self._told) for _ in range(self.slots)]

    def wait_until_ready(self) -> None:
        """Return when searches start at once: the kernels may have to be compiled first."""
        with suppress(BrokenExecutor):  # a lost worker is made anew when it is needed
            self._workers[0].number.result()

    def numbers(self) -> list[int]:
        """Return the numbers of the worker processes that are there."""
        return [
            worker.number.result()
            for worker in self._workers
            if worker.number.done() and not worker.lost
        ]

    def submit(self, task: SearchTask) -> Future[Result]:
        """Start a search on the first free slot; a slot whose process died is made anew."""
        slot = next(s for s, worker in enumerate(self._workers) if not worker.busy)
        try:
            return self._workers[slot].ask(task, stopping=self._stopping)
        except BrokenExecutor:
            end_workers(self._workers[slot])
            self._workers[slot] = WorkerProcess(self._told)
            return self._workers[slot].ask(task, stopping=self._stopping)

    def progress(self) -> Iterator[tuple[str, int, Progress]]:
        """Yield what the searches told since the last call."""
        while True:
            try:
                yield self._told.get_nowait()
            except queue.Empty:
                return

    def stop(self) -> None:
        """Ask every running search to end with the best it has."""
        self._stopping = True
        for worker in self._workers:
            worker.stop()

    def close(self) -> None:
        """End the workers."""
        end_workers(*self._workers)


@contextmanager
def processes(slots: int | None = None) -> Iterator[Processes]:
    """Give worker processes for the length of a ``with`` block.

    The block is entered when they are ready, so that no search's time is spent on that.

    Parameters
    ----------
    slots
        How many (default: one a core).

    Yields
    ------
    Processes
        To be given to plans as their `executor`.

    Examples
    --------
    >>> with processes(1) as workers:
    ...     searching = {"seconds": None, "rounds": 1, "executor": workers}
    ...     plans = [make_plan(job, seed=seed, **searching) for seed in (1, 2)]
    >>> [plan.entries[0].good for plan in plans]
    [True, True]

    """
    pool = Processes(slots or os.cpu_count() or 1)
    try:
        pool.wait_until_ready()
        yield pool
    finally:
        pool.close()
