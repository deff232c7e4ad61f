"""What the plies of a plan take of new cloth and of the lengths at hand."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.marker.figures import figures
from nesting.material.material import Cloth
from nesting.material.sums import before_shrinking
from nesting.planning.plan import Entry

__all__ = ["taken_from"]


def taken_from(entries: Sequence[Entry], cloth: Cloth) -> list[float]:
    """Return what the plies take (mm, as bought) of new cloth, then of each of the rolls."""
    taken = [0.0] * (1 + len(cloth.rolls))
    for entry in entries:
        each = figures(entry.marker).length + 2.0 * cloth.ends
        for laid in entry.laid_from:
            lengths = [each]
            if laid.splice is not None:
                begin, end = laid.splice
                lengths = [cloth.ends + end, each - cloth.ends - begin]
            for roll, length in zip(laid.rolls, lengths, strict=True):
                taken[roll] += laid.plies * length
    return [_as_bought(length, cloth) for length in taken]


def _as_bought(length: float, cloth: Cloth) -> float:
    """Return the length before shrinking, where it is the cloth that shrinks."""
    shrinkage = cloth.shrinkage
    return length if shrinkage.cut_larger else before_shrinking(length, share=shrinkage.along)
