"""The best packing of boxes so far and the bound, shared by the threads that work on them."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence

from nesting.search.rectangles.boxes import Boxes, Spot, reachable

__all__ = ["Race"]


class Race:
    """The best spots and the bound, shared by those who work on them."""

    def __init__(self, boxes: Boxes, bound: int, ends: Callable[[], bool]) -> None:
        self.boxes = boxes
        self.bound = bound
        self.reach: int | None = None
        self.spots: tuple[Spot, ...] | None = None
        self.rounds = 0
        self.interrupted = False
        self.begin = time.monotonic()
        self.history: list[tuple[float, float]] = []
        self._sums: int | None = None
        self._ends = ends
        self._over = False
        self._lock = threading.Lock()
        self._stoppers: dict[int, Callable[[], None]] = {}
        self.raise_bound(bound)

    def seconds(self) -> float:
        """Return the wall time since the beginning."""
        return time.monotonic() - self.begin

    def offer(self, spots: Sequence[Spot]) -> None:
        """Take spots if they reach less far than the best."""
        items = self.boxes.items
        reach = max(s.x + box.sizes[s.way][0] for s, box in zip(spots, items, strict=True))
        with self._lock:
            if self.reach is None or reach < self.reach:
                self.reach, self.spots = reach, tuple(spots)
                self.history.append((self.seconds(), self.boxes.millimetres(reach)))

    def raise_bound(self, bound: int) -> None:
        """Take a proven bound, and the least sum of lengths not below it."""
        with self._lock:
            if self._sums is None:
                self._sums = reachable(self.boxes, 2 * bound + 1, axis=0) or 0
            above = self._sums >> bound
            if above:
                bound += (above & -above).bit_length() - 1
            self.bound = max(self.bound, bound)

    def solved(self) -> bool:
        """Whether the best meets the bound."""
        return self.reach is not None and self.reach <= self.bound

    def late(self) -> bool:
        """Whether time or the stop rule say so."""
        return self.interrupted or self._ends()

    def over(self) -> bool:
        """Whether to come to an end."""
        return self._over or self.solved() or self._ends()

    def finish(self) -> None:
        """End everybody's work."""
        self._over = True
        for stopper in list(self._stoppers.values()):
            stopper()

    def keep(self, stopper: Callable[[], None]) -> None:
        """Remember how to end the calling thread's CP-SAT."""
        self._stoppers[threading.get_ident()] = stopper
