"""Where searches run: processes of this machine, or a cluster by address.

Everything that solves several lays goes through an `Executor`: it takes a search
and gives a `concurrent.futures.Future`. A worker that is lost breaks its own slot
only; the slot is made anew and the search tried again by the caller.
"""

from __future__ import annotations

import os
import queue
import signal
import threading
import time
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor, Future
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from queue import SimpleQueue
from typing import Any, Protocol

from nesting.planning.running.server import Line, new_worker, start_server
from nesting.planning.running.worker import SearchTask
from nesting.search.result import Progress, Result

__all__ = ["Executor", "Processes", "SearchTask", "processes", "start_server"]

_PATIENCE = 0.5
"""Seconds that workers have for their end, all together: they have nothing to put in order."""

_Told = SimpleQueue[tuple[str, int, Progress]]


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


class _Worker:
    """A worker process as its parent sees it; a thread hears what it says."""

    def __init__(self, told: _Told) -> None:
        self.number: Future[int] = Future()
        self.lost = False
        self._told = told
        self._line: Line = new_worker()
        self._task: SearchTask | None = None
        self._future: Future[Result] = Future()
        self._lock = threading.Lock()
        self._thread = threading.Thread(target=self._listen, daemon=True)
        self._thread.start()

    @property
    def busy(self) -> bool:
        """Whether it searches."""
        return self._task is not None

    def ask(self, task: SearchTask, *, stopping: bool) -> Future[Result]:
        """Have a task searched; it may be a wish to stop that it comes with."""
        future: Future[Result] = Future()
        with self._lock:
            if self.lost:
                raise BrokenExecutor
            self._task, self._future = task, future
        self._say(task)
        if stopping:
            self._say(None)
        return future

    def stop(self) -> None:
        """Ask for the best so far."""
        if self.busy:
            self._say(None)

    def hang_up(self) -> None:
        """Let the process know that it is not wanted any more."""
        self._line.hang_up()

    def end(self, *, until: float) -> None:
        """End the process, whatever it is doing; it has until then (of a monotonic clock)."""
        if self.number.done() and not self.lost:
            self._thread.join(max(0.0, until - time.monotonic()))
            if not self.lost:
                with suppress(ProcessLookupError):
                    os.kill(self.number.result(), signal.SIGKILL)
                self._thread.join(_PATIENCE)
            _wait_for_end(self.number.result())
        if self.lost:
            self._line.pipe.close()

    def _say(self, what: SearchTask | None) -> None:
        with suppress(OSError):  # it is lost, which the thread hears
            self._line.pipe.send(what)

    def _listen(self) -> None:
        pipe = self._line.pipe
        try:
            self.number.set_result(pipe.recv())
            while True:
                self._hear(pipe.recv())
        except (EOFError, OSError):
            pass
        finally:
            with self._lock:
                self.lost = True
                waiting: tuple[Future[Any], ...] = (self.number,)
                if self._task is not None:
                    waiting += (self._future,)
                    self._task = None
            for future in waiting:
                if not future.done():
                    future.set_exception(BrokenExecutor("a worker process was lost"))

    def _hear(self, what: Progress | Result | Exception) -> None:
        task, future = self._task, self._future
        if task is None:
            return
        if isinstance(what, Progress):
            self._told.put((task.name, task.seed, what))
            return
        self._task = None
        if isinstance(what, Exception):
            future.set_exception(what)
        else:
            future.set_result(what)


def _end(*workers: _Worker) -> None:
    """End workers; those that are deep in one long call don't wait for one another."""
    for worker in workers:
        worker.hang_up()
    until = time.monotonic() + _PATIENCE
    for worker in workers:
        worker.end(until=until)


def _wait_for_end(number: int) -> None:
    """Wait until a process that has closed its pipe is gone, which takes a moment more."""
    until = time.monotonic() + _PATIENCE
    with suppress(ProcessLookupError):
        while time.monotonic() < until:
            os.kill(number, 0)
            time.sleep(0.001)


@dataclass(slots=True)
class Processes:
    """Worker processes of this machine, one search each."""

    slots: int
    _workers: list[_Worker] = field(default_factory=list)
    _told: _Told = field(default_factory=SimpleQueue)
    _stopping: bool = False

    def __post_init__(self) -> None:
        self._workers = [_Worker(self._told) for _ in range(self.slots)]

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
            _end(self._workers[slot])
            self._workers[slot] = _Worker(self._told)
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
        _end(*self._workers)


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
