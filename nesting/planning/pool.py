"""Where searches run: processes of this machine, or a cluster by address.

Everything that solves several lays goes through an `Executor`: it takes a search
and gives a `concurrent.futures.Future`. A worker that is lost breaks its own slot
only; the slot is made anew and the search tried again by the caller.

Workers are forked (on Linux) from a server that has the search imported and its kernels
loaded: the first worker costs that once, the next ones next to nothing. Ctrl-C is the
parent's to answer: server and workers have it blocked from their first moment on. A
worker whose parent is gone ends itself.
"""

from __future__ import annotations

import multiprocessing
import os
import queue
import signal
import sys
import threading
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from importlib import import_module
from multiprocessing.connection import wait
from tempfile import gettempdir
from types import ModuleType
from typing import Any, Protocol

from nesting.errors import NestingError
from nesting.marker.lay import Lay
from nesting.search.result import Limits, Progress, Result

__all__ = ["Executor", "Processes", "SearchTask", "processes", "start_server"]


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


_READY = "nesting.search.ready"
_SAFE = "PYTHONSAFEPATH"  # Python's own: the working folder is not searched for modules

# Set in each worker process by its initialiser; a process pool has no other way to
# hand a queue and an event to the functions it runs.
_channel: dict[str, Any] = {}


def _begin(told: Any, stopping: Any) -> None:
    """Prepare a worker: Ctrl-C is the parent's to answer, and so is how long it lives."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    import_module(_READY)
    _channel["told"], _channel["stopping"] = told, stopping
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """End this process when its parent has ended, however that came about."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)


def _nothing() -> None:
    """Do nothing: whoever waits for it knows that a worker is there."""


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
    if sys.platform != "linux":
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([_READY])
    return context


def start_server() -> None:
    """Start, without waiting for it, what workers are forked from: it takes a second or two."""
    if sys.platform == "linux":
        from multiprocessing import forkserver

        _context()
        try:
            with _apart():
                forkserver.ensure_running()
        except OSError as error:
            if "AF_UNIX" not in str(error):
                raise
            raise NestingError(
                "the path of the folder for temporary files is too long for processes to talk",
                file=gettempdir(),
                hint="set TMPDIR to a shorter one, such as /tmp",
            ) from error


@contextmanager
def _apart() -> Iterator[None]:
    """Have processes that are started meanwhile stand apart from the one that runs.

    Ctrl-C is blocked for their whole life, and they don't import the script that runs:
    they need nothing of it, and one without the ``__main__`` idiom would run again. Nor do
    they import what happens to lie in the working folder (a ``random.py``, another copy of
    this library).
    """
    main = sys.modules["__main__"]
    blocking = hasattr(signal, "pthread_sigmask")
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT}) if blocking else None
    sys.modules["__main__"] = ModuleType("__main__")
    safe = os.environ.get(_SAFE)
    os.environ[_SAFE] = "1"
    try:
        yield
    finally:
        if safe is None:
            del os.environ[_SAFE]
        else:
            os.environ[_SAFE] = safe
        sys.modules["__main__"] = main
        if before is not None:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)


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
        start_server()
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

    def wait_until_ready(self) -> None:
        """Return when searches start at once: the kernels may have to be compiled first."""
        with _apart():
            first = self._pools[0].submit(_nothing)
        with suppress(BrokenExecutor):  # a lost worker is made anew when it is needed
            first.result()

    def submit(self, task: SearchTask) -> Future[Result]:
        """Start a search on the first free slot; a slot whose process died is made anew."""
        slot = next(s for s in range(self.slots) if s not in self._busy or self._busy[s].done())
        try:
            future = self._start(slot, task)
        except BrokenExecutor:
            self._pools[slot].shutdown(wait=False)
            self._pools[slot] = self._pool()
            future = self._start(slot, task)
        self._busy[slot] = future
        return future

    def _start(self, slot: int, task: SearchTask) -> Future[Result]:
        with _apart():
            return self._pools[slot].submit(_search, task)

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
    """Give worker processes for the length of a ``with`` block (default: one a core).

    The block is entered when they are ready, so that no search's time is spent on that.
    """
    pool = Processes(slots or os.cpu_count() or 1)
    try:
        pool.wait_until_ready()
        yield pool
    finally:
        pool.close()
