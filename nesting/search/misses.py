"""What came nearest to a length that has not been reached."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from nesting.search.prepared.state import Layout

__all__ = ["Miss", "Misses"]


SPREAD = 0.25
"""How far down misses are drawn: the deviation of their ranks, as a share of all."""


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
        """Return one to go on from: two in three times of the nearest quarter."""
        rank = int(abs(dice.gauss(0.0, SPREAD)) * len(self.near))
        return self.near[min(rank, len(self.near) - 1)].layout
