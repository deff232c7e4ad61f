"""Sums of the trade that need no marker: shrinkage, cloth by area, leather by area.

Lengths in mm, areas in mm². They are estimates to hold a marker against, never a
substitute for one.
"""

from __future__ import annotations

import math

from nesting.errors import JobError

__all__ = [
    "before_shrinking",
    "cloth_for_area",
    "gross_area",
    "shrinkage",
    "with_waste_added",
]


def before_shrinking(need: float, *, share: float) -> float:
    """Return what to buy so that `need` is left after a loss: need / (1 - share).

    Not need × (1 + share): the share is lost from what was bought.
    """
    _check_share(share, "shrinkage")
    return need / (1.0 - share)


def shrinkage(before: float, *, after: float) -> float:
    """Return the share that is lost from `before` to `after`."""
    return (before - after) / before


def cloth_for_area(area: float, *, width: float, extra: float = 0.0) -> float:
    """Return the length of cloth that has an area, and a share `extra` more (mm)."""
    return area / width * (1.0 + extra)


def gross_area(net: float, *, waste: float) -> float:
    """Return the leather for a net area of which a share `waste` is lost: net / (1 - waste).

    The yield is 1 - waste. A waste of 25 % asks for a third more, not for a quarter more.
    """
    _check_share(waste, "waste")
    return net / (1.0 - waste)


def with_waste_added(net: float, *, share: float, unit: float) -> float:
    """Return net plus a share of it, the share rounded up to whole units (mm²).

    Some suppliers reckon so; it buys less than `gross_area`.
    """
    return net + math.ceil(net * share / unit - 1e-9) * unit


def _check_share(share: float, what: str) -> None:
    if not 0.0 <= share < 1.0:
        raise JobError(f"{what} must be from 0 up to less than 1, not {share:g}")
