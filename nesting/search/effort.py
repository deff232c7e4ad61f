"""Several searches after one another that answer as one: what they spend, and tell, together."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from nesting.marker.lay import Lay
from nesting.marker.marker import Marker
from nesting.search.result import Limits, Observer, Progress, Result

__all__ = ["Effort", "Run"]

Run = Callable[[Lay, Limits, Observer | None, Marker | None, int], Result]
"""Searches a lay within limits: observer, a marker to go on from, what is added to the seed."""


@dataclass(slots=True, eq=False)
class Effort:
    """What all searches together may spend, have spent, and told.

    `number`: what is added to the seed of the first; of the next one `runs` more.
    """

    run: Run
    limits: Limits
    observer: Observer | None
    number: int = 0
    seconds: float = 0.0
    rounds: int = 0
    runs: int = 0
    told: tuple[int, float] = (2**31, math.inf)
    first_seconds: float = 0.0
    history: list[tuple[float, float]] = field(default_factory=list)

    @property
    def left(self) -> float:
        """The seconds left."""
        return math.inf if self.limits.seconds is None else self.limits.seconds - self.seconds

    @property
    def spent(self) -> float:
        """The share that is spent, of the rounds, or of the time if rounds are not limited."""
        if self.limits.rounds is not None:
            return self.rounds / max(self.limits.rounds, 1)
        return 0.0 if self.limits.seconds is None else self.seconds / max(self.limits.seconds, 1e-9)

    def share(self, share: float, *, kept: float = 0.0) -> Limits:
        """Return the limits of a share of the whole; of the time a share is kept."""
        limits = self.limits
        if limits.seconds is not None:
            left = max(self.left - kept * limits.seconds, 0.0)
            limits = replace(limits, seconds=min(share * limits.seconds, left))
        if limits.rounds is not None:
            rounds = min(round(share * limits.rounds), limits.rounds - self.rounds)
            limits = replace(limits, rounds=max(rounds, 0))
        return limits

    def search(
        self, lay: Lay, limits: Limits, start: Marker | None = None, *, part: bool = False
    ) -> Result:
        """Search a lay within limits; of a part of the whole lay nothing is told."""
        begun = self.seconds

        def tell(progress: Progress) -> None:
            """Pass on what is better than all before."""
            now = progress.sheets, progress.length
            if self.observer is not None and now < self.told:
                self.told = now
                self.observer(replace(progress, seconds=begun + progress.seconds))

        got = self.run(lay, limits, None if part else tell, start, self.number + self.runs)
        if not self.first_seconds:
            self.first_seconds = got.first_seconds
        self.seconds += got.seconds
        self.rounds += got.rounds
        self.runs += 1
        if not part:
            self.history += [(begun + s, n) for s, n in got.history]
        return got

    def whole(self, result: Result) -> Result:
        """Return a result as that of all searches."""
        return replace(
            result, seconds=self.seconds, rounds=self.rounds, first_seconds=self.first_seconds,
            history=tuple(self.history),
        )  # fmt: skip
