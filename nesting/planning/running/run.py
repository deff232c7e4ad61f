"""What all searches of one plan share, and how its time is parted among them."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, field, replace
from typing import TypedDict, Unpack

from nesting.planning.running.pool import Executor, processes
from nesting.planning.running.store import Store
from nesting.search.result import Observer

__all__ = ["Options", "Run", "StoredOptions", "running"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Where searches run, when they end, from which seed, who is told, and what is kept.

    `seconds` of wall time for all of them, from `began` on (of a monotonic clock); `rounds` for
    each; None does not limit. `stop` is asked now and then; True ends them with the best they
    have. `store` keeps finished searches and is asked for them first.
    """

    executor: Executor
    seconds: float | None = None
    rounds: int | None = None
    seed: int = 1
    observer: Observer | None = None
    stop: Callable[[], bool] | None = None
    store: Store | None = None
    began: float = field(default_factory=time.monotonic)

    @property
    def spent(self) -> float:
        """Seconds since it began."""
        return time.monotonic() - self.began

    @property
    def left(self) -> float | None:
        """Seconds until it ends, if time limits it."""
        return None if self.seconds is None else max(0.0, self.seconds - self.spent)

    @property
    def stopped(self) -> bool:
        """Whether it was asked to end."""
        return self.stop is not None and self.stop()

    def part(self, name: str = "", *, share: float = 1.0) -> Run:
        """Return a run of a share of all the seconds, from now on.

        `name` tells its searches from others of the same lay in the store.
        """
        store = self.store.part(name) if self.store and name else self.store
        seconds = None if self.seconds is None else share * self.seconds
        return replace(self, seconds=seconds, store=store, began=time.monotonic())

    def rest(self) -> Run:
        """Return a run of the seconds that are left."""
        return replace(self, seconds=self.left, began=time.monotonic())

    def untold(self) -> Run:
        """Return the same run with nobody told."""
        return replace(self, observer=None)


class _Asked(TypedDict, total=False):
    """What a caller may say of a `Run` besides its time; what is not said is as the run has it."""

    rounds: int | None
    seed: int
    observer: Observer | None
    stop: Callable[[], bool] | None


class _Stored(_Asked, total=False):
    store: Store | None


class Options(_Asked, total=False):
    """The same with where to run: on an executor, or on so many processes of its own."""

    workers: int | None
    executor: Executor | None


class StoredOptions(Options, total=False):
    """The same with where finished searches are kept."""

    store: Store | None


@contextmanager
def running(
    seconds: float | None,
    *,
    executor: Executor | None = None,
    workers: int | None = None,
    **asked: Unpack[_Stored],
) -> Iterator[Run]:
    """Give a run on the executor or, if there is none, on worker processes of its own."""
    here: AbstractContextManager[Executor]
    here = nullcontext(executor) if executor is not None else processes(workers)
    with here as where:
        yield Run(executor=where, seconds=seconds, **asked)
