"""Random stock files for a job: what lies on the shelf of its materials, and of others."""

from __future__ import annotations

from random import Random
from typing import Any

from .goods import Goods
from .toml import Table, toml, written

__all__ = ["made_stock"]


def made_stock(rng: Random, job: Table) -> str:
    """Return the text of a stock file for a job, which is given as a tree of tables."""
    return _Shelf(rng).text(job)


class _Shelf(Goods):
    """Makes a stock file."""

    def text(self, job: Table) -> str:
        """Return what is at hand."""
        at_hand: dict[str, Any] = {"thread, spools": 7}
        rest: Table = {"remnant": [], "hide": []}
        for cloth in job.get("cloth", []):
            if "rolls" not in cloth and self.chance(0.75):
                at_hand[cloth["name"]] = [self.length(cloth) for _ in range(self.rng.randint(1, 3))]
        for sheet in job.get("sheet", []):
            if self.chance(0.6):
                at_hand[sheet["name"]] = self.rng.randint(0, 3)
        for notion in job.get("notion", []):
            at_hand[notion["name"]] = self.rng.randint(0, 5)
        for key in ("cloth", "sheet", "leather"):
            for goods in job.get(key, []):
                if self.chance(0.4) and goods.get("fold") != "folded":
                    bit = self.remnant(goods["name"], key)
                    rest["remnant"].append({"material": goods["name"], **bit})
        for leather in job.get("leather", []):
            if self.chance(0.4):
                hide = {**self.hide(self.rng.randrange(10, 99)), "material": leather["name"]}
                rest["hide"].append(hide)
        if self.chance(0.5):
            rest["remnant"].append({"material": "felt, of no job", **self.remnant("felt", "sheet")})
        lines = [f"{written(name)} = {written(value)}" for name, value in at_hand.items()]
        kept = {key: tables for key, tables in rest.items() if tables}
        head = f'unit = "{self.unit}"\n\n[at_hand]  # counted in spring\n'
        return head + "\n".join(lines) + "\n" + toml(kept)

    def length(self, cloth: Table) -> Any:
        """Return a length of a cloth: of a width on sale, or of another."""
        length = self.said(self.some(300, 2600))
        if self.chance(0.5):
            return length
        return {"length": length, "width": self.said(self.some(650, 1500))}
