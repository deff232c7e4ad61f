"""A stock file, read a second time, and the materials of a job with what it has of them."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from .amounts import Units
from .goods import Goods, Spot, hide_of, left_over_of, remnant_of

__all__ = ["SAME_WIDTH", "Shelf", "stocked"]

SAME_WIDTH = 3.0
"""Widths so near to each other (mm) are one: 54 in and 137 cm."""


@dataclass(frozen=True)
class Shelf:
    """A stock file. `table`: all it says."""

    table: dict[str, Any]
    units: Units

    @classmethod
    def read(cls, path: Path) -> Shelf:
        """Read a stock file."""
        table = tomllib.loads(path.read_text(encoding="utf-8"))
        return cls(table, Units(table.get("unit", "mm")))

    def lengths(self, cloth: Goods) -> list[tuple[float, float]]:
        """Return the lengths of a cloth with their widths (mm); the first on sale if not said."""
        said = self.table.get("at_hand", {}).get(cloth.name, [])
        found = []
        for one in said if isinstance(said, list) else [said]:
            length = self.units.mm(one["length"] if isinstance(one, dict) else one)
            wide = self.units.mm(one["width"]) if isinstance(one, dict) and "width" in one else None
            if length > 0.0:
                found.append((length, cloth.widths[0][0] if wide is None else wide))
        return found

    def number(self, name: str) -> float:
        """Return how many there are of a sheet or a notion."""
        return float(self.table.get("at_hand", {}).get(name, 0))

    def named(self, key: str, material: str) -> dict[str, dict[str, Any]]:
        """Return the tables ("remnant" or "hide") of a material by name."""
        return {one["name"]: one for one in self.table.get(key, []) if one["material"] == material}

    @property
    def book(self) -> list[str]:
        """Which plans were taken off."""
        return list(self.table.get("book", {}).get("cut", []))


def stocked(goods: Goods, shelf: Shelf) -> Goods:
    """Return a material with what a stock file has of it."""
    bits = () if goods.folded else tuple(_bits(goods, shelf))
    if goods.kind == "cloth":
        return _with_lengths(replace(goods, remnants=(*goods.remnants, *bits)), shelf)
    held = int(shelf.number(goods.name)) if goods.kind == "sheet" else 0
    return replace(goods, spots=(*bits, *goods.spots), at_hand=held)


def _bits(goods: Goods, shelf: Shelf) -> Iterator[Spot]:
    """Yield the left-overs and hides of a material that are on the shelf."""
    for table in shelf.named("remnant", goods.name).values():
        of = left_over_of if goods.kind == "leather" else remnant_of
        yield of(table, goods.wrong_side_up, shelf.units)
    for table in shelf.named("hide", goods.name).values():
        yield replace(hide_of(table, shelf.units), owned=True)


def _with_lengths(cloth: Goods, shelf: Shelf) -> Goods:
    """Return a cloth with its lengths on the shelf; widths not on sale have no price."""
    widths, rolls = list(cloth.widths), list(cloth.rolls)
    selvedges = widths[0][0] - widths[0][1]
    for length, wide in shelf.lengths(cloth):
        near = next((w for w in widths if abs(w[0] - wide) <= SAME_WIDTH), None)
        if near is None:
            near = (wide, wide - selvedges, None)
            widths.append(near)
        rolls.append((length, near[0]))
    return replace(cloth, widths=tuple(widths), rolls=tuple(rolls))
