"""Where searches run: processes of this machine, or a cluster by address.

Everything that solves several lays goes through an `Executor`: it takes a search
and gives a `concurrent.futures.Future`. A worker that is lost breaks its own slot
only; the slot is made anew and the search tried again by the caller.
"""

from __future__ import annotations

import multiprocessing
import os
import queue
import signal
import sys
from collections.abc import Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, Protocol

from nesting.marker.lay import Lay
from nesting.search.result import Limits, Progress, Result

__all__ = ["Executor", "Processes", "SearchTask", "processes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchTask:
    """One search of one lay, single-threaded."""

    name: str
    lay: Lay
    limits: Limits
    seed: int


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


# Set in each worker process by its initialiser; a process pool has no other way to
# hand a queue and an event to the functions it runs.
_channel: dict[str, Any] = {}


def _begin(told: Any, stopping: Any) -> None:
    """Prepare a worker: Ctrl-C is the parent's to answer."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _channel["told"], _channel["stopping"] = told, stopping


def _search(task: SearchTask) -> Result:
    from nesting.search.solve import search

    told, stopping = _channel["told"], _channel["stopping"]

    def observe(progress: Progress) -> None:
        told.put((task.name, task.seed, progress))

    return search(
        task.lay,
        limits=task.limits,
        seed=task.seed,
        workers=1,
        observer=observe,
        stop=stopping.is_set,
    )


def _context() -> Any:
    """Return the quickest safe way to start a process here."""
    if sys.platform == "linux":
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload(["nesting.search.solve"])
        return context
    return multiprocessing.get_context("spawn")


@dataclass(slots=True)
class Processes:
    """Worker processes of this machine, one search each."""

    slots: int
    _pools: list[ProcessPoolExecutor] = field(default_factory=list)
    _busy: dict[int, Future[Result]] = field(default_factory=dict)
    _told: Any = None
    _stopping: Any = None
    _mp: Any = None

    def __post_init__(self) -> None:
        self._mp = _context()
        self._told, self._stopping = self._mp.Queue(), self._mp.Event()
        self._pools = [self._pool() for _ in range(self.slots)]

    def _pool(self) -> ProcessPoolExecutor:
        return ProcessPoolExecutor(
            1,
            mp_context=self._mp,
            initializer=_begin,
            initargs=(self._told, self._stopping),
        )

    def submit(self, task: SearchTask) -> Future[Result]:
        """Start a search on the first free slot; a slot whose process died is made anew."""
        slot = next(s for s in range(self.slots) if s not in self._busy or self._busy[s].done())
        previous = self._busy.get(slot)
        if previous is not None and previous.exception() is not None:
            self._pools[slot].shutdown(wait=False)
            self._pools[slot] = self._pool()
        future = self._pools[slot].submit(_search, task)
        self._busy[slot] = future
        return future

    def progress(self) -> Iterator[tuple[str, int, Progress]]:
        """Yield what the searches told since the last call."""
        while True:
            try:
                yield self._told.get_nowait()
            except queue.Empty:
                return

    def stop(self) -> None:
        """Ask every running search to end with the best it has."""
        self._stopping.set()

    def close(self) -> None:
        """End the workers."""
        self._stopping.set()
        for pool in self._pools:
            pool.shutdown(wait=True, cancel_futures=True)
        self._told.close()


@contextmanager
def processes(slots: int | None = None) -> Iterator[Processes]:
    """Give worker processes for the length of a ``with`` block (default: one a core)."""
    pool = Processes(slots or os.cpu_count() or 1)
    try:
        yield pool
    finally:
        pool.close()
