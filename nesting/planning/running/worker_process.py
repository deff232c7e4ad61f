"""One process that searches, as those see it who give it work."""

from __future__ import annotations

import os
import signal
import threading
import time
from concurrent.futures import BrokenExecutor, Future
from contextlib import suppress
from queue import SimpleQueue
from typing import Any

from nesting.planning.running.server import Line, new_worker
from nesting.planning.running.worker import SearchTask
from nesting.search.result import Progress, Result

__all__ = ["Told", "WorkerProcess", "end_workers"]

_PATIENCE = 0.5
"""Seconds that workers have for their end, all together: they have nothing to put in order."""

Told = SimpleQueue[tuple[str, int, Progress]]


class WorkerProcess:
    """A worker process as its parent sees it; a thread hears what it says."""

    def __init__(self, told: Told) -> None:
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


def end_workers(*workers: WorkerProcess) -> None:
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
