"""Searches on a Dask cluster, for those who outgrow one machine.

A cluster may lose its workers, or its scheduler, in the middle of a plan. What ran there is then
searched on this machine, and so is the rest.
"""

from __future__ import annotations

import logging
import os
import time
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Future
from contextlib import contextmanager, suppress
from functools import partial
from typing import Any

from nesting.errors import JobError
from nesting.planning.running.pool import Processes
from nesting.planning.running.worker import SearchTask
from nesting.search.result import Progress, Result

__all__ = ["Cluster", "cluster"]

_TRIES = 3
# Seconds to wait for a scheduler to answer, for workers to come back, or for its end.
_PATIENCE = 10.0
# Seconds between two looks at whether the plan was stopped, or who is there: a trip over the net.
_LOOK_EVERY = 1.0


def _search(task: SearchTask, stopping: str) -> Result:
    from distributed import Event

    from nesting.search.solve import search

    event = Event(stopping)
    looked, stopped = time.monotonic(), False

    def stop() -> bool:
        nonlocal looked, stopped
        if not stopped and time.monotonic() - looked > _LOOK_EVERY:
            looked, stopped = time.monotonic(), bool(event.is_set())
        return stopped

    return search(
        task.lay, limits=task.limits, seed=task.seed, workers=1, stop=stop, start=task.start
    )


class Cluster:
    """Runs each search as a task of the cluster; a lost worker's task is run again.

    `lost` is told when the cluster itself is lost and this machine goes on alone.
    """

    def __init__(self, client: Any, *, lost: Callable[[], None] | None = None) -> None:
        from distributed import Event

        self._client = client
        self._executor = client.get_executor(pure=False, retries=_TRIES)
        self._event = Event(client=client)
        self._running: set[Future[Result]] = set()
        self._here: Processes | None = None
        self._tell_lost = lost
        self._looked = self._seen = time.monotonic()
        self._stopped = False
        self.slots = max(1, sum(client.nthreads().values()))

    def submit(self, task: SearchTask) -> Future[Result]:
        """Start a search somewhere on the cluster, or here if it is lost."""
        if self._here is None:
            try:
                return self._on_cluster(task)
            except Exception as error:
                if self._client.status == "running":
                    raise
                del error
        return self._alone().submit(task)

    def progress(self) -> Iterator[tuple[str, int, Progress]]:
        """Yield nothing, as a cluster tells only when a search has ended; see that it is there."""
        if self._here is not None:
            yield from self._here.progress()
        elif self._running and time.monotonic() - self._looked > _LOOK_EVERY:
            self._look()

    def stop(self) -> None:
        """Ask every running search to end with the best it has."""
        self._stopped = True
        if self._here is not None:
            self._here.stop()
        elif self._client.status == "running":
            self._event.set()

    def close(self) -> None:
        """End what was started here."""
        if self._here is not None:
            self._here.close()

    def _on_cluster(self, task: SearchTask) -> Future[Result]:
        if self._client.status != "running":
            raise BrokenExecutor
        inner: Future[Result] = self._executor.submit(_search, task, self._event.name)
        outer: Future[Result] = Future()
        self._running.add(outer)
        inner.add_done_callback(partial(self._ended, outer))
        return outer

    def _ended(self, outer: Future[Result], inner: Future[Result]) -> None:
        """Hand on what came of a search; what the cluster lost is a lost worker."""
        from distributed import KilledWorker

        self._running.discard(outer)
        if outer.done():
            return
        if inner.cancelled():
            outer.set_exception(BrokenExecutor("the cluster has lost a search"))
            return
        error = inner.exception()
        if isinstance(error, OSError | KilledWorker):
            outer.set_exception(BrokenExecutor(str(error)))
        elif error is not None:
            outer.set_exception(error)
        else:
            outer.set_result(inner.result())

    def _look(self) -> None:
        """See whether the scheduler and workers are there; without any for long they are lost."""
        there = False
        if self._client.status == "running":
            with suppress(Exception):  # whatever it is, nobody was seen
                there = bool(self._client.nthreads())
        self._looked = time.monotonic()
        if there:
            self._seen = self._looked
        elif self._looked - self._seen > _PATIENCE:
            self._alone()

    def _alone(self) -> Processes:
        """Go on here, with what was running there, too."""
        if self._here is None:
            if self._tell_lost is not None:
                self._tell_lost()
            self._here = Processes(os.cpu_count() or 1)
            self._here.wait_until_ready()
            self.slots = self._here.slots
            if self._stopped:
                self._here.stop()
            for future in list(self._running):
                if not future.done():
                    future.set_exception(BrokenExecutor("the cluster was lost"))
        return self._here


@contextmanager
def cluster(address: str, *, lost: Callable[[], None] | None = None) -> Iterator[Cluster]:
    """Connect to a Dask cluster for a ``with`` block.

    Parameters
    ----------
    address
        Of its scheduler, such as ``tcp://10.0.0.5:8786``.
    lost
        Called when the cluster is lost and this machine goes on alone.

    Yields
    ------
    Cluster
        To be given to a plan as its `executor`.

    Raises
    ------
    JobError
        The optional library is not installed, or nobody answers at the address.

    Examples
    --------
    >>> with cluster("tcp://10.0.0.5:8786") as far:  # doctest: +SKIP
    ...     plan = make_plan(job, seconds=600, executor=far)

    """
    try:
        from distributed import Client
    except ImportError as error:
        raise JobError(
            "a cluster needs the optional library 'distributed'",
            hint="pip install 'thriftlay[cluster]'",
        ) from error
    log = logging.getLogger("distributed")
    level = log.level
    log.setLevel(logging.CRITICAL)  # what it has to say of losses is said by us
    try:
        client = Client(address, timeout=_PATIENCE)
    except (OSError, ValueError, TimeoutError) as error:
        raise JobError(
            f"no cluster answers at {address!r}", hint="write tcp://HOST:PORT of its scheduler"
        ) from error
    made = Cluster(client, lost=lost)
    try:
        yield made
    finally:
        made.close()
        with suppress(Exception):  # a lost scheduler does not answer this, either
            client.close(timeout=_PATIENCE)
        log.setLevel(level)
