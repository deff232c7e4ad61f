"""How a random job says its lengths."""

from __future__ import annotations

from random import Random
from typing import Any

__all__ = ["Words"]


class Words:
    """Lengths of a job in a random unit. `rng`: all that is random."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.unit = rng.choice(("mm", "mm", "mm", "cm", "in"))

    def chance(self, share: float) -> bool:
        """Return true so often."""
        return self.rng.random() < share

    def some(self, low: float, high: float) -> float:
        """Return a length in mm; of a job in inches in eighths."""
        mm = self.rng.uniform(low, high)
        if self.unit == "in":
            return round(mm / 25.4 * 8.0) / 8.0 * 25.4 or 25.4 / 8.0
        return round(mm) if self.chance(0.7) else round(mm, 1)

    def said(self, mm: float) -> Any:
        """Return a length as a job file says it: a number in its unit, or with its own."""
        kind = self.rng.randrange(4)
        if kind == 0:
            return f"{mm / 10.0!r} cm"
        if self.unit == "in":
            eighths = mm / 25.4 * 8.0
            if abs(eighths - round(eighths)) < 1e-9 and round(eighths) % 8 and kind == 1:
                whole, part = divmod(abs(round(eighths)), 8)
                sign = "-" if eighths < 0.0 else ""
                return f"{sign}{whole} {part}/8 in" if whole else f"{sign}{part}/8 in"
            return mm / 25.4
        if kind == 1:
            return f"{mm!r} mm"
        return mm if self.unit == "mm" else mm / 10.0

    def pair(self, x: float, y: float) -> list[Any]:
        """Return a point, or two sizes."""
        return [self.said(x), self.said(y)]
