"""The arithmetic of prints: cut lengths at a repeat, and what repeats cost on average.

A marker laid on the print's lattice is exact; these are the sums that the trade does
without one, to check it and to say what the print costs. Lengths in mm.
"""

from __future__ import annotations

import math

from nesting.units import round_up

__all__ = [
    "lost_to_repeats",
    "matched_length",
    "motif_columns",
    "motif_length",
    "simple_matched_length",
    "stacked_extra",
]


def matched_length(cut: float, *, repeat: float, drops: int = 1) -> float:
    """Return the cloth for `drops` equal lengths that all start at the same place of the print.

    Each takes whole repeats: ceil(cut / repeat) × repeat. A marker whose ends must
    meet in phase is as long as one drop.
    """
    return drops * round_up(cut, step=repeat)


def simple_matched_length(cut: float, *, repeat: float, drops: int = 1) -> float:
    """Return the cloth by the simple, wasteful rule: one repeat more for every length."""
    return drops * cut + stacked_extra(repeat, stacked=drops)


def stacked_extra(repeat: float, *, stacked: int) -> float:
    """Return the extra cloth for parts that follow one another along it: a repeat for each."""
    return repeat * stacked


def lost_to_repeats(length: float, *, width: float, along: float, across: float) -> float:
    """Return the cloth (mm²) that a part on the print takes besides its own box, on average.

    A part that has to lie on the print, `length` by `width`, waits for the next place of the
    print that suits it: for nothing at best, for a whole repeat at worst, for half a repeat
    on average, along and across (0 where nothing repeats). Derived, no source.
    """
    return (length + along / 2.0) * (width + across / 2.0) - length * width


def motif_columns(width: float, *, part: float, across: float) -> int:
    """Return how many parts with a centred motif lie side by side at most.

    `width` of the cloth, `part` across it, repeat `across` (mm): floor((W - w) / H) + 1
    columns if the print can be chosen to begin with a whole window; parts wider than
    the repeat take several columns each.
    """
    if part > width:
        return 0
    columns = math.floor((width - part) / across + 1e-9) + 1
    each = max(1, math.ceil(part / across - 1e-9))
    return (columns - 1) // each + 1


def motif_length(count: int, *, columns: int, part: float, along: float) -> float:
    """Return the cloth for parts with a centred motif: whole repeats for every row.

    `count` parts in `columns`, each `part` long, at a straight repeat `along` (mm).
    """
    return matched_length(part, repeat=along, drops=math.ceil(count / columns))
