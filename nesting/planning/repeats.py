"""The arithmetic of prints: cut lengths at a repeat, and allowances where no marker is laid.

A marker laid on the print's lattice is exact; these are the sums that the trade does
without one, to check it and to say what the print costs. Lengths in mm.
"""

from __future__ import annotations

import math

from nesting.errors import JobError
from nesting.units import round_up

__all__ = [
    "matched_length",
    "motif_columns",
    "motif_length",
    "print_allowance",
    "simple_matched_length",
    "stacked_extra",
]

_IN = 25.4

_ALLOWANCES = (
    (14.0, 1.10),
    (19.0, 1.15),
    (27.0, 1.20),
    (36.0, 1.25),
    (43.0, 1.30),
    (51.0, 1.35),
)
"""Sum of the repeats along and across (up to, inches), factor; for cloth 54 in wide.

Upholsterers' table as printed by throwmeapillow.com.
"""


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


def print_allowance(along: float, *, across: float) -> float:
    """Return the factor on the plain length for a print with these repeats (mm; 0 for none).

    Between the rows of the table the next one counts.

    Raises
    ------
    JobError
        If the repeats together are larger than the table goes.

    """
    total = (along + across) / _IN
    if total <= 0.0:
        return 1.0
    for most, factor in _ALLOWANCES:
        if total <= most + 1e-9:
            return factor
    raise JobError(
        f"the allowance table ends at repeats of {_ALLOWANCES[-1][0]:g} in together,"
        f" these are {total:.1f} in",
        hint="lay a marker on the print instead",
    )


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
