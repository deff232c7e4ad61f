"""How lengths and places of a pattern file are said: in its user's unit, and as it draws them."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.amounts import METRIC, Amounts
from nesting.pattern.path import Point

__all__ = ["Speech"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Speech:
    """Says mm; `factor`: mm per file unit, `down`: the file's y runs downwards."""

    amounts: Amounts = METRIC
    factor: float = 1.0
    down: bool = False

    def length(self, mm: float) -> str:
        """Return a length with its unit: drawings are true to a tenth of a millimetre."""
        return self.amounts.setting(round(mm, 1 if mm >= 1.0 else 2))

    def area(self, mm2: float) -> str:
        """Return an area with its unit."""
        return self.amounts.area(mm2)

    def place(self, at: Point) -> str:
        """Return a place as it stands in the file: "(120, 40) in the drawing"."""
        x, y = (value / self.factor + 0.0 for value in at)
        return f"({x:.6g}, {(-y if self.down else y) + 0.0:.6g}) in the drawing"
