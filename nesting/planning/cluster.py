"""Searches on a Dask cluster, for those who outgrow one machine."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from typing import Any

from nesting.errors import JobError
from nesting.planning.pool import SearchTask
from nesting.search.result import Progress, Result

__all__ = ["Cluster", "cluster"]

_TRIES = 3
# Seconds to wait for a scheduler to answer.
_PATIENCE = 10.0
# Seconds between two looks at whether the plan was stopped: each is a trip over the net.
_LOOK_EVERY = 1.0


def _search(task: SearchTask, stopping: str) -> Result:
    import time

    from distributed import Event

    from nesting.search.solve import search

    event = Event(stopping)
    looked, stopped = time.monotonic(), False

    def stop() -> bool:
        nonlocal looked, stopped
        if not stopped and time.monotonic() - looked > _LOOK_EVERY:
            looked, stopped = time.monotonic(), bool(event.is_set())
        return stopped

    return search(task.lay, limits=task.limits, seed=task.seed, workers=1, stop=stop)


class Cluster:
    """Runs each search as a task of the cluster; a lost worker's task is run again."""

    def __init__(self, client: Any) -> None:
        from distributed import Event

        self._client = client
        self._executor = client.get_executor(pure=False, retries=_TRIES)
        self._event = Event(client=client)
        self.slots = max(1, sum(client.nthreads().values()))

    def submit(self, task: SearchTask) -> Future[Result]:
        """Start a search somewhere on the cluster."""
        future: Future[Result] = self._executor.submit(_search, task, self._event.name)
        return future

    def progress(self) -> Iterator[tuple[str, int, Progress]]:
        """Yield nothing: a cluster tells only when a search has ended."""
        return iter(())

    def stop(self) -> None:
        """Ask every running search to end with the best it has."""
        self._event.set()


@contextmanager
def cluster(address: str) -> Iterator[Cluster]:
    """Connect to a Dask scheduler, such as ``tcp://10.0.0.5:8786``, for a ``with`` block.

    Raises
    ------
    JobError
        The optional library is not installed, or nobody answers at the address.

    """
    try:
        from distributed import Client
    except ImportError as error:
        raise JobError(
            "a cluster needs the optional library 'distributed'",
            hint="pip install 'thriftlay[cluster]'",
        ) from error
    try:
        client = Client(address, timeout=_PATIENCE)
    except (OSError, ValueError, TimeoutError) as error:
        raise JobError(
            f"no cluster answers at {address!r}", hint="write tcp://HOST:PORT of its scheduler"
        ) from error
    try:
        yield Cluster(client)
    finally:
        client.close()
