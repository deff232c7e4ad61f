"""Markers that one row of a requirement table lends another, so that no wider cloth needs more."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from nesting.marker.figures import figures
from nesting.marker.lay import Lay
from nesting.search.result import Result

__all__ = ["lent"]


def lent(own: Result, lay: Lay, lenders: Iterable[Result]) -> Iterator[Result]:
    """Give markers found for others as markers of a lay, where they are better; the best first.

    Whether they keep its rules is for the judge to say. `own`: what was found for the lay, whose
    bound holds for it.
    """
    parts = [(part.name, part.piece) for part in lay.parts]
    rank = _rank(own)
    better = [
        one
        for one in lenders
        if _rank(one) < rank and [(p.name, p.piece) for p in one.marker.lay.parts] == parts
    ]
    for one in sorted(better, key=_rank):
        yield replace(
            one, marker=replace(one.marker, lay=lay), bound=own.bound, bound_by=own.bound_by
        )


def _rank(result: Result) -> tuple[int, float]:
    """Return what makes one marker better than another: all is laid, then length (0.1 µm)."""
    return len(result.unplaced), round(figures(result.marker).length, 4)
