"""What is left of the lengths of a cloth at hand when a plan was cut from them."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.errors import JobError
from nesting.marker.figures import figures
from nesting.material.material import Cloth
from nesting.material.sums import before_shrinking
from nesting.planning.plan import Entry
from nesting.units import round_up

__all__ = ["lengths_after", "taken_from"]

_SAME = 0.5
"""Lengths that differ by no more than this (mm) are one and the same."""

_KEPT = 100.0
"""The end of a length that is shorter than this (mm) is not kept (own choice)."""


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


def lengths_after(
    lengths: Sequence[float], entries: Sequence[Entry], cloth: Cloth
) -> tuple[float, ...]:
    """Return the lengths (mm) at hand after all plies of a cloth were cut.

    Where the plan says which rolls they come from, those are shorter by that; otherwise
    each ply comes from the shortest length that holds it. The rest is bought new, rounded
    up to the step, and its end comes to the lengths at hand. Ends below 10 cm are not kept.

    Raises
    ------
    JobError
        A roll that the plan uses is not among the lengths.

    """
    left = list(lengths)
    if any(entry.laid_from for entry in entries):
        fresh, *taken = taken_from(entries, cloth)
        for roll, used in zip(cloth.rolls, taken, strict=True):
            if used > 0.0:
                left[_roll(left, roll, cloth)] -= used
    else:
        fresh = 0.0
        plies = [
            _as_bought(figures(entry.marker).length + 2.0 * cloth.ends, cloth)
            for entry in entries
            for _ in range(sum(entry.spreads))
            if entry.marker.placements
        ]
        for ply in sorted(plies, reverse=True):
            holding = [i for i, length in enumerate(left) if length >= ply - _SAME]
            if holding:
                left[min(holding, key=left.__getitem__)] -= ply
            else:
                fresh += ply
    if fresh > 0.0 and cloth.step:
        left.append(round_up(fresh, step=cloth.step) - fresh)
    return tuple(length for length in left if length >= _KEPT)


def _roll(left: Sequence[float], roll: float, cloth: Cloth) -> int:
    """Return which of the lengths is the roll that the plan was made with."""
    near = min(range(len(left)), key=lambda i: abs(left[i] - roll), default=None)
    if near is None or abs(left[near] - roll) > _SAME:
        raise JobError(
            f"the plan lays {cloth.name} from a length of {roll / 10:g} cm, which is not at hand",
            hint="cut from it meanwhile? Plan again with the stock as it is",
        )
    return near


def _as_bought(length: float, cloth: Cloth) -> float:
    """Return the length before shrinking, where it is the cloth that shrinks."""
    shrinkage = cloth.shrinkage
    return length if shrinkage.cut_larger else before_shrinking(length, share=shrinkage.along)
