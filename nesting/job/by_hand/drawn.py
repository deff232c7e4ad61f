"""A piece of a job file as one works on it: what was drawn, and what stands in the file."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.pattern.edges import edges
from nesting.pattern.nearest import nearest
from nesting.pattern.path import Path
from nesting.pattern.piece import Mark, Piece
from nesting.shown import Brief

__all__ = ["Drawn"]

_ROUND = 2
"""Decimals of a measured allowance, mm."""


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Drawn(Brief):
    """A piece that a job file describes, or takes from a pattern file.

    `piece`: as it is cut, opened on its fold. `outline`: the line that was drawn, on which edges
    are counted; it is the sewing line if it is `sewn`. `marks`: those of the job file in its
    order, `others`: those of the pattern file in its order, left out or not; both as drawn.
    `fold`: the number of the edge on the fold.
    """

    piece: Piece
    outline: Path
    sewn: bool = False
    marks: tuple[Mark, ...] = ()
    others: tuple[Mark, ...] = ()
    fold: int | None = None

    @property
    def allowances(self) -> tuple[float | None, ...]:
        """How wide the seam allowance is in the middle of each edge (mm), None without one."""
        beside = self.piece.cut if self.sewn else self.piece.sew
        found: list[float | None] = []
        for number, run in enumerate(edges(self.outline), start=1):
            if beside is None or number == self.fold:
                found.append(None)
                continue
            middle = self.outline.segments[run[len(run) // 2]].at(0.5)
            found.append(round(nearest(beside, middle).distance, _ROUND))
        return tuple(found)
