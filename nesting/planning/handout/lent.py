"""Markers that one row of a requirement table lends another, so that no wider cloth needs more."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from nesting.marker.bound import least_and_how
from nesting.marker.figures import figures
from nesting.marker.lay import Lay
from nesting.pattern.piece import SharedPiece
from nesting.search.result import Result

__all__ = ["better", "lent"]


def better(own: Result, lenders: Mapping[str, Result]) -> list[str]:
    """Return who has a better marker of the same parts than one's own, by name; the best first."""
    parts, rank = _parts(own.marker.lay), _rank(own)
    found = {
        name: _rank(one)
        for name, one in lenders.items()
        if _rank(one) < rank and _parts(one.marker.lay) == parts
    }
    return sorted(found, key=lambda name: found[name])


def lent(result: Result, lay: Lay, own: Result) -> Result:
    """Return a marker that was found for another lay as one of this one.

    Whether it keeps its rules is for the judge to say. `own`: what was found for the lay, whose
    bound holds for it unless the print lies elsewhere in that.
    """
    lent = replace(result, marker=replace(result.marker, lay=lay))
    if own.marker.lay.parts == lay.parts:
        return replace(lent, bound=own.bound, bound_by=own.bound_by)
    bound, how = least_and_how(lay)
    return replace(lent, bound=bound, bound_by=how)


def _parts(lay: Lay) -> list[tuple[str, SharedPiece]]:
    return [(part.name, part.piece) for part in lay.parts]


def _rank(result: Result) -> tuple[int, float]:
    """Return what makes one marker better than another: all is laid, then length (0.1 µm)."""
    return len(result.unplaced), round(figures(result.marker).length, 4)
