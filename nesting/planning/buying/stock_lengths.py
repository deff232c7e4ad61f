"""The lengths of a cloth in a stock file, shorter by what a plan cut from them.

Each length is found again by its size and width, and written in the unit it was written
in; the others, and comments, stay as they are.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tomlkit import TOMLDocument, array, inline_table, table
from tomlkit.items import Array

from nesting import units
from nesting.amounts import Amounts
from nesting.errors import JobError
from nesting.job.at_hand import SAME_WIDTH
from nesting.job.tables.job_table import IncludeTable
from nesting.job.tables.stock_table import AtHand, lengths_at_hand
from nesting.material.material import Cloth, Width
from nesting.planning.buying.bought import cloth_to_buy
from nesting.planning.buying.remnants import tail
from nesting.planning.orders.cut_lengths import taken_from
from nesting.planning.plan import Entry
from nesting.quantity import Unit, total

__all__ = ["KEPT", "StockLengths", "cut_rolls", "new_cloth_left"]

SAME_LENGTH = 0.5
"""Lengths that differ by no more than this (mm) are one and the same."""

KEPT = 100.0
"""The end of a length that is shorter than this (mm) is not kept (own choice)."""


def cut_rolls(entries: Sequence[Entry], cloth: Cloth) -> dict[int, float]:
    """Return how much (mm, as bought) is cut from which of the rolls at hand (from 0).

    All of it, where the end of a roll stays on the marker's as one left-over.
    """
    _, *taken = taken_from(entries, cloth)
    whole = any(tail(entry) > 0.0 for entry in entries)
    return {i: cloth.rolls[i] if whole else used for i, used in enumerate(taken) if used > 0.0}


def new_cloth_left(entries: Sequence[Entry], cloth: Cloth, *, spare: float) -> float:
    """Return the end of the new cloth (mm) that is kept as a length; shorter ones are not.

    What stays on a marker's end as one left-over is none.
    """
    gross = total((entry.buying.gross for entry in entries), Unit.LENGTH)
    held = total((entry.buying.from_stock for entry in entries), Unit.LENGTH)
    left = (cloth_to_buy(gross, held, cloth, spare=spare) - (gross - held)).value
    kept = left >= KEPT and not any(tail(entry) > 0.0 for entry in entries)
    return left if kept else 0.0


class StockLengths:
    """The lengths of one cloth as they stand in a document that is being edited."""

    def __init__(
        self, document: TOMLDocument, stock: IncludeTable, cloth: Cloth, *, job_unit: str
    ) -> None:
        self.document, self.cloth = document, cloth
        self.unit = stock.unit
        self.amounts = Amounts(job_unit)
        found = lengths_at_hand(stock.at_hand.get(cloth.name, AtHand()), unit=stock.said_unit)
        self.left = [length for length, _ in found]
        self.widths = [width for _, width in found]
        raw = document.get("at_hand", {}).get(cloth.name)
        self.raw: list[Any] = [] if raw is None else list(raw) if isinstance(raw, list) else [raw]
        self.changed: set[int] = set()

    def take(self, cut: Mapping[int, float]) -> Iterator[str]:
        """Take off what was cut from each of the plan's rolls; yield what that leaves.

        Raises
        ------
        JobError
            A roll that the plan uses is not there.

        """
        whole = list(self.left)
        for roll, used in cut.items():
            size, wide = self.cloth.rolls[roll], self.cloth.roll_widths[roll]
            same = [
                i
                for i, length in enumerate(whole)
                if abs(length - size) <= SAME_LENGTH
                and abs(self._booked(i) - wide) <= SAME_WIDTH
                and i not in self.changed
            ]
            if not same:
                raise JobError(
                    f"the plan lays {self.cloth.name} from a length of {self._said(size)} "
                    f"that is {self._said(wide)} wide, which is not at hand",
                    hint="cut from it meanwhile? Plan again with the stock as it is",
                )
            self.left[same[0]] = max(0.0, size - used)
            self.changed.add(same[0])
            yield (
                f"{self.cloth.name}: {self._said(used)} cut from the {self._said(size)}, "
                f"{self._kept(size - used)}"
            )

    def add(self, length: float, width: Width) -> str:
        """Add the end of what was bought; return what is to be said of it."""
        self.left.append(length)
        first = self.cloth.widths[0].booked
        self.widths.append(None if width.booked == first else width.booked)
        self.changed.add(len(self.left) - 1)
        return f"{self.cloth.name}: {self._said(length)} of what was bought are new"

    def write(self) -> None:
        """Put the lengths that changed into the document."""
        if not self.changed:
            return
        kept = [i for i, length in enumerate(self.left) if length >= KEPT or i not in self.changed]
        at_hand = self.document.setdefault("at_hand", table())
        old = at_hand.get(self.cloth.name)
        if isinstance(old, Array):
            for i in range(len(self.raw) - 1, -1, -1):
                if i not in kept:
                    del old[i]
                elif i in self.changed:
                    old[i] = self._value(i)
            for i in kept:
                if i >= len(self.raw):
                    old.append(self._value(i))
            return
        values = [self._value(i) if i in self.changed else self.raw[i] for i in kept]
        if len(values) == 1:
            at_hand[self.cloth.name] = values[0]
            return
        fresh = array()
        fresh.extend(values)
        at_hand[self.cloth.name] = fresh

    def _booked(self, i: int) -> float:
        width = self.widths[i]
        return self.cloth.widths[0].booked if width is None else width

    def _said(self, length: float) -> str:
        return self.amounts.size(length)

    def _kept(self, length: float) -> str:
        if length < KEPT:
            return "nothing left to keep as a length"
        return f"{self._said(length)} left"

    def _value(self, i: int) -> Any:
        """Return a length as it is written, in the unit that it had."""
        raw = self.raw[i] if i < len(self.raw) else None
        new = "yd" if self.amounts.inches else "cm"
        if isinstance(raw, dict):
            raw["length"] = _written(self.left[i], raw["length"], unit=self.unit)
            return raw
        if raw is not None:
            return _written(self.left[i], raw, unit=self.unit)
        text, width = _written(self.left[i], new, unit=new), self.widths[i]
        if width is None:
            return text
        both = inline_table()
        both["length"] = text
        across = "in" if self.amounts.inches else "cm"
        both["width"] = _written(width, across, unit=across)
        return both


_DIGITS = {"mm": 1, "cm": 2, "dm": 3, "m": 4, "in": 3, "ft": 4, "yd": 4}
"""Decimals that hold a tenth of a millimetre."""


def _written(mm: float, like: Any, *, unit: str) -> str | int | float:
    """Return a length written like another: with its unit, or as a plain number of `unit`."""
    word = ""
    if isinstance(like, str) and (found := re.search(r"[^\d\s.,/½¼¾⅛⅓⅜⅝⅔⅞]+\s*$", like)):
        word = found[0].strip()
    factor = units.length(f"1 {word or unit}")
    name = next(n for n, size in units.LENGTH_UNITS.items() if size == factor)
    number = round(mm / factor, _DIGITS[name])
    if not isinstance(like, str):
        return int(number) if number == int(number) else number
    text = f"{number:.{_DIGITS[name]}f}".rstrip("0").rstrip(".")
    return f"{text} {word or unit}"
