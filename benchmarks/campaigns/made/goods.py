"""Random materials: cloth, sheets, hides, prints, remnants."""

from __future__ import annotations

from typing import Any

from .toml import Table
from .words import Words

__all__ = ["Goods"]


class Goods(Words):
    """Makes materials."""

    def goods(self, kind: str, name: str) -> tuple[str, Table]:
        """Return a material, and the key of its table."""
        rng = self.rng
        table: Table = {"name": name}
        if self.chance(0.7):
            table["spacing"] = self.said(self.some(0, 5) if self.unit != "in" else 25.4 / 8.0)
        if self.chance(0.5):
            table["nap"] = rng.choice(("none", "one-way", "any"))
        if self.chance(0.25):
            table["turn_slack"] = rng.choice((2, 5, 20))
        for key in ("faces_alike", "wrong_side_up"):
            if self.chance(0.15):
                table[key] = True
        if self.chance(0.6):
            table["price"] = 18.5
        if kind == "sheet":
            table["size"] = self.pair(self.some(450, 900), self.some(400, 600))
            if self.chance(0.4):
                table["margin"] = self.said(self.some(2, 8))
            if self.chance(0.2):
                table["count"] = 4
            if self.chance(0.3):
                table["remnant"] = [self.remnant(name, "sheet")]
            return "sheet", table
        if kind == "leather":
            if self.chance(0.5):
                table["margin"] = self.said(self.some(2, 8))
            if "price" in table:
                table["price_per"] = rng.choice(("m²", "dm²", "ft²"))
            table["hide"] = [self.hide(k) for k in range(rng.randint(1, 3))]
            return "leather", table
        return "cloth", self.cloth(table, kind, name)

    def cloth(self, table: Table, kind: str, name: str) -> Table:
        """Return a cloth; `table`: what it says already."""
        rng = self.rng
        if self.chance(0.2):
            first, second = sorted((self.some(600, 900), self.some(1000, 1500)))
            widths: list[Any] = [self.said(first), {"booked": self.said(second), "price": 25.0}]
            table["widths"] = widths
        else:
            table["width"] = self.said(self.some(700, 1500))
            if self.chance(0.2):
                table["usable"] = self.said(600.0)
        if self.chance(0.2):
            table["selvedge"] = self.said(self.some(4, 15))
        if "price" in table and self.chance(0.3):
            table["price_per"] = "yd"
        if self.chance(0.3):
            table["ends"] = self.said(self.some(1, 20))
        if self.chance(0.4):
            table["step"] = self.said(rng.choice((10.0, 50.0, 250.0)))
        if self.chance(0.08):
            table["longest"] = self.said(self.some(900, 2500))
        if self.chance(0.2):
            along = rng.choice((0.05, "4 %", ["100 cm", "96 cm"]))
            table["shrinkage"] = {"along": along, "across": rng.choice((0.02, 0))}
            if self.chance(0.5):
                table["shrinkage"]["cut_larger"] = True
        if self.chance(0.08):
            table["rolls"] = [self.said(self.some(300, 1500)) for _ in range(rng.randint(1, 2))]
        if kind == "folded":
            table["fold"] = "folded"
        if kind == "print" or (kind == "folded" and self.chance(0.15)):
            table["print"] = self.print()
            if kind == "folded":
                table["fold_print"] = True
        if kind != "folded" and self.chance(0.15):
            table["remnant"] = [self.remnant(name, "cloth")]
        return table

    def print(self) -> Table:
        """Return a print."""
        rng = self.rng
        table: Table = {}
        kind = rng.choice(("both", "both", "drop", "along", "across"))
        if kind != "across":
            table["along"] = self.said(self.some(60, 280))
        if kind != "along":
            table["across"] = self.said(self.some(60, 240))
        if kind == "drop":
            table["drop"] = 0.5
        if self.chance(0.7):
            table["origin"] = self.pair(self.some(5, 60), self.some(5, 60))
        if self.chance(0.3):
            table["drift"] = self.said(2.0)
        if self.chance(0.3):
            table["off_centre"] = self.said(3.0)
        return table

    def remnant(self, of: str, key: str) -> Table:
        """Return a left-over of a material."""
        rng = self.rng
        table: Table = {"name": f"rest {rng.randrange(10**6)} of {of}"}
        w, h = self.some(250, 500), self.some(220, 400)
        if self.chance(0.4):
            table["ellipse"] = self.pair(w, h)
        else:
            table["points"] = [
                self.pair(*p) for p in ((0.0, 0.0), (w, 0.0), (w * 0.9, h), (0.0, h * 0.8))
            ]
            if self.chance(0.3):
                table["hole"] = [{"circle": self.said(30.0), "at": self.pair(w * 0.4, h * 0.3)}]
        if self.chance(0.6):
            table["grain"] = rng.choice(("across", "unknown", 30, 180))
        if self.chance(0.3):
            table["face"] = rng.choice(("right", "wrong"))
        if key == "leather":
            if self.chance(0.4) and "points" in table:
                for said in ("grain", "face"):
                    table.pop(said, None)
                table["zone"] = [
                    {
                        "grade": "B",
                        "rectangle": self.pair(w * 0.5, h * 0.5),
                        "at": self.pair(10.0, 10.0),
                    }
                ]
            elif self.chance(0.5):
                table["grade"] = rng.choice("ABCD")
        return table

    def hide(self, number: int) -> Table:
        """Return a hide."""
        rng = self.rng
        table: Table = {"name": f"hide {number + 1}"}
        w, h = self.some(700, 1100), self.some(500, 800)
        if self.chance(0.4):
            table["rectangle"] = self.pair(w, h)
        else:
            table["outline"] = (
                f"M 0,{h * 0.1!r} C {w * 0.1!r},0 {w * 0.9!r},0 {w!r},{h * 0.1!r}"
                f" L {w * 0.95!r},{h * 0.95!r} L {w * 0.05!r},{h!r} Z"
            )
        if self.chance(0.5):
            table["backbone"] = rng.choice((0, 90, 200, 37))
        if self.chance(0.5):
            table["flaw"] = [
                {
                    "circle": self.said(self.some(10, 90)),
                    "at": self.pair(w * rng.uniform(0.1, 0.9), h * rng.uniform(0.1, 0.9)),
                }
                for _ in range(rng.randint(1, 2))
            ]
        if self.chance(0.15):
            table["guess_zones"] = rng.choice(("hide", "side"))
        elif self.chance(0.75):
            table["zone"] = self.zones(w, h)
        return table

    def zones(self, w: float, h: float) -> list[Table]:
        """Return zones of a hide."""
        rng = self.rng
        middle = w * rng.uniform(0.35, 0.6)
        boxes = [(0.1 * w, 0.15 * h, middle, 0.85 * h), (middle, 0.15 * h, 0.92 * w, 0.85 * h)]
        if self.chance(0.3):
            boxes.append((0.3 * w, 0.1 * h, 0.7 * w, 0.5 * h))
        found = []
        for x0, y0, x1, y1 in boxes:
            zone: Table = {"grade": rng.choice("AABBC")}
            if self.chance(0.3):
                zone["ellipse"] = self.pair(x1 - x0, y1 - y0)
                zone["at"] = self.pair((x0 + x1) / 2.0, (y0 + y1) / 2.0)
            else:
                zone["rectangle"], zone["at"] = self.pair(x1 - x0, y1 - y0), self.pair(x0, y0)
            if self.chance(0.5):
                zone["tight"] = rng.choice((0, 10, 90, 100))
                if self.chance(0.7):
                    zone["slack"] = rng.choice((5, 20, 45))
            found.append(zone)
        return found
