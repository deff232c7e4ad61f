"""So much of goods: a length of cloth, a number of sheets or hides, an area of leather."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from nesting.stored import as_number

__all__ = ["NOTHING", "NO_LENGTH", "Quantity", "Unit", "of_area", "of_length", "of_sheets", "total"]


class Unit(StrEnum):
    """What goods are measured in; notions have units of their own."""

    LENGTH = "mm"
    SHEETS = "sheets"
    HIDES = "hides"
    AREA = "mm²"


@dataclass(frozen=True, slots=True)
class Quantity:
    """So much of a thing, in a unit: one of `Unit`, or a notion's own.

    Quantities of one unit can be added and compared; of two units that is a mistake. Where they
    are stored or told they are numbers: what is read has no unit until its goods are known.
    """

    value: float
    unit: str

    def __repr__(self) -> str:
        return f"Quantity({self.value!r}, {str(self.unit)!r})"

    def __add__(self, other: Quantity) -> Quantity:
        return Quantity(self.value + self._same(other), self.unit)

    def __sub__(self, other: Quantity) -> Quantity:
        return Quantity(self.value - self._same(other), self.unit)

    def __mul__(self, times: float) -> Quantity:
        return Quantity(self.value * times, self.unit)

    def __lt__(self, other: Quantity) -> bool:
        return self.value < self._same(other)

    def __bool__(self) -> bool:
        return self.value > 0.0

    def above(self, bound: Quantity) -> float:
        """Return how far it is above a bound, as a share of that; 0 where nothing is bound."""
        least = self._same(bound)
        return max(0.0, self.value / least - 1.0) if least > 0.0 else 0.0

    def cost(self, price: float | None) -> float | None:
        """Return what it costs at a price for one of its unit: nothing if it is none of it.

        None if there is some, and no price.
        """
        if not self:
            return 0.0
        return None if price is None else round(self.value * price, 2)

    def of(self, unit: str) -> Quantity:
        """Return as much of another unit: what was read as a number gets the one it has."""
        return Quantity(self.value, unit)

    def _same(self, other: Quantity) -> float:
        if other.unit != self.unit:
            raise ValueError(f"{self.unit} and {other.unit} are not of one kind")
        return other.value

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: Any) -> Any:
        return as_number(read=lambda number: cls(number, ""), write=lambda one: one.value)


NOTHING = Quantity(0.0, "")
"""What a stored plan leaves out; whoever reads it gives it a unit (`Quantity.of`)."""

NO_LENGTH = Quantity(0.0, Unit.LENGTH)


def of_length(mm: float) -> Quantity:
    """Return a length of cloth."""
    return Quantity(mm, Unit.LENGTH)


def of_sheets(sheets: float) -> Quantity:
    """Return a number of sheets."""
    return Quantity(float(sheets), Unit.SHEETS)


def of_area(mm2: float) -> Quantity:
    """Return an area of leather."""
    return Quantity(mm2, Unit.AREA)


def total(amounts: Iterable[Quantity], unit: str) -> Quantity:
    """Return the sum of quantities of a unit, rounded once; none of it if there are none."""
    nothing = Quantity(0.0, unit)
    return Quantity(math.fsum((one + nothing).value for one in amounts), unit)
