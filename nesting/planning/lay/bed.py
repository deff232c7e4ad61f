"""Whether something fits a cutter's bed: asked by who plans loads, and by who cuts them."""

from __future__ import annotations

__all__ = ["turn_on_bed"]

_HAIR = 1e-6
"""What sticks out by no more (mm) fits."""


def turn_on_bed(
    size: tuple[float, float], bed: tuple[float, float], *, may_turn: bool
) -> float | None:
    """Return the turn (0 or 90 degrees) by which a size fits a bed; None if it doesn't.

    Both are [along, across], in mm.
    """
    ways = ((0.0, size), (90.0, size[::-1])) if may_turn else ((0.0, size),)
    for turn, (along, across) in ways:
        if along <= bed[0] + _HAIR and across <= bed[1] + _HAIR:
            return turn
    return None
