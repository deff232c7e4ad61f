"""What came nearest to a length that has not been reached."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from nesting.search.prepared.state import Layout

__all__ = ["Miss", "Misses"]


DRAWN = 4
"""So many are drawn, and the nearest of them taken: two times in three one of the best quarter."""


@dataclass(frozen=True, slots=True, eq=False)
class Miss:
    """A layout that still overlaps, and by how much."""

    overlap: float
    layout: Layout


@dataclass(slots=True)
class Misses:
    """The nearest misses at one length, the nearer the likelier to be gone on from."""

    kept: int
    near: list[Miss] = field(default_factory=list)

    def add(self, miss: Miss) -> None:
        """Keep a miss if it is among the nearest."""
        self.near.append(miss)
        self.near.sort(key=lambda one: one.overlap)
        del self.near[self.kept :]

    def draw(self, dice: random.Random) -> Layout:
        """Return one to go on from: of some drawn the nearest (Goldberg and Deb 1991, FOGA 1)."""
        return self.near[min(dice.randrange(len(self.near)) for _ in range(DRAWN))].layout
