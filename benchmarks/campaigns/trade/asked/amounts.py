"""Lengths, shares and directions as a job file has them."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

__all__ = ["MILLIMETRES", "SQUARE", "Units", "direction", "share"]

MILLIMETRES = {
    "mm": 1.0, "cm": 10.0, "dm": 100.0, "m": 1000.0, "in": 25.4, '"': 25.4, "ft": 304.8, "yd": 914.4
}  # fmt: skip
"""Of each unit (international yard and pound agreement, 1959)."""

SQUARE = {"m²": 1e6, "dm²": 1e4, "ft²": 92903.04}
"""mm² of each unit of area."""

_WRITTEN = re.compile(
    r'\s*-?([\d.]*(?:e-?\d+)?)(?:\s*[ -]\s*)?(?:(\d+)/(\d+))?\s*(mm|cm|dm|m|in|ft|yd|")?\s*$'
)


class Units:
    """Reads lengths of a job whose plain numbers are in `unit`."""

    def __init__(self, unit: str) -> None:
        self.unit = unit

    def mm(self, written: Any) -> float:
        """Return a length in mm."""
        if isinstance(written, int | float):
            return float(written) * MILLIMETRES[self.unit]
        found = _WRITTEN.match(written)
        assert found is not None, written
        whole, top, bottom, unit = found.groups()
        value = float(whole or 0.0)
        if top:
            value += float(Fraction(int(top), int(bottom)))
        value = -value if written.strip().startswith("-") else value
        return value * MILLIMETRES[unit or self.unit]

    def point(self, written: Any) -> tuple[float, float]:
        """Return a point, or two sizes, in mm."""
        return self.mm(written[0]), self.mm(written[1])


def share(written: Any) -> float:
    """Return a share: ``"5 %"``, 0.05, or lengths before and after."""
    if isinstance(written, str):
        return float(written.replace("%", "")) / 100.0
    if isinstance(written, list):
        before, after = (Units("mm").mm(one) for one in written)
        return (before - after) / before
    return float(written)


def direction(written: Any) -> float:
    """Return a direction of the grain in degrees."""
    words = {"along": 0.0, "across": 90.0, "bias": 45.0}
    return words[written] if isinstance(written, str) else float(written)
