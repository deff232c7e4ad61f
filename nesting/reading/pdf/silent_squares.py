"""Squares of a usual size whose words are shapes, or missing: they may be there to be measured."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from nesting.amounts import METRIC
from nesting.errors import Finding, Severity
from nesting.pattern.measure import bounds
from nesting.reading.items import Group, Item, Role
from nesting.reading.raw_pattern import note
from nesting.reading.unit.check_square import square_side

__all__ = ["take_silent_squares"]

_USUAL = (20.0, 25.0, 25.4, 30.0, 40.0, 50.0, 50.8, 100.0, 101.6)
"""Sides (mm) of check squares: common practice, no source."""
_SAME = 0.005
_SHRUNK = (0.93, 0.98)
"""By what share printers shrink a page to fit it: common practice, no source."""


def take_silent_squares(group: Group, letters: Iterable[Item]) -> list[Finding]:
    """Make squares with letters that can't be read reference lines; tell of all that may be one.

    `letters`: small filled shapes, as letters are that were turned into outlines.
    """
    middles = [_middle(item) for item in letters]
    words = [item.at for item in group.items if item.at is not None]
    others = sum(
        item.role is Role.ANY and square_side(item) is None and _closed(item)
        for item in group.items
        if item.path is not None
    )
    told: list[tuple[str, Severity]] = []
    for i, item in enumerate(group.items):
        side = square_side(item) if item.role is Role.ANY else None
        if side is None or item.path is None or any(_holds(item, at) for at in words):
            continue
        usual = next((one for one in _USUAL if abs(side - one) <= _SAME * one), None)
        lettered = any(_holds(item, at) for at in middles)
        long = METRIC.setting(round(side, 1))
        if lettered and usual is not None and others:
            group.items[i] = replace(item, role=Role.REFERENCE, label=f"square of {long}")
            text = (
                f"a square of {long} with letters in it that can't be read is taken as the check"
                " square, and is no piece; if it is one, say so of its colour or layer"
                " (--role '#000000=cut')"
            )
            told.append((text, Severity.FAULT))
        elif lettered and (shrunk := _shrunk(side)) is not None:
            text = (
                f"a square of {long} with letters in it that can't be read is taken as a piece: if"
                f" it is a check square of {METRIC.setting(shrunk)}, the file is printed at"
                f" {100.0 * side / shrunk:.1f} %, and --unit or --reference has to say its scale"
            )
            told.append((text, Severity.FAULT))
        elif usual is not None and others:
            text = (
                f"a square of {long} without a word in it is taken as a piece: if it is a check"
                " square, leave that piece out"
            )
            told.append((text, Severity.NOTE))
    return [note("check", text, severity=severity) for text, severity in told]


def _closed(item: Item) -> bool:
    """Tell whether an item is a closed line larger than a letter."""
    if item.path is None or not item.path.closed:
        return False
    x0, y0, x1, y1 = bounds(item.path)
    return max(x1 - x0, y1 - y0) > _USUAL[0]


def _shrunk(side: float) -> float | None:
    """Return the usual side that one is as large as when it is printed to fit."""
    low, high = _SHRUNK
    return next((one for one in _USUAL if low * one <= side <= high * one), None)


def _middle(item: Item) -> tuple[float, float]:
    assert item.path is not None
    x0, y0, x1, y1 = bounds(item.path)
    return (x0 + x1) / 2.0, (y0 + y1) / 2.0


def _holds(square: Item, at: tuple[float, float]) -> bool:
    assert square.path is not None
    x0, y0, x1, y1 = bounds(square.path)
    return x0 < at[0] < x1 and y0 < at[1] < y1
