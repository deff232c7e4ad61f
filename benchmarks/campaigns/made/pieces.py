"""Random pieces: shapes, lines, allowances, marks."""

from __future__ import annotations

from random import Random

from .toml import Table
from .words import Words

__all__ = ["Pieces"]

_STYLES = ("slit", "v", "t", "castle", "u")


class Pieces(Words):
    """Makes pieces. `sizes`, `traits`, `points`: what they are like, by name."""

    def __init__(self, rng: Random) -> None:
        super().__init__(rng)
        self.sizes: dict[str, tuple[float, float]] = {}
        self.traits: dict[str, set[str]] = {}
        self.points: dict[str, tuple[str, ...]] = {}

    def piece(self, name: str) -> Table:
        """Return a piece."""
        rng = self.rng
        if self.chance(0.05):
            self.traits[name] = {"strap"}
            table: Table = {"name": name}
            if self.chance(0.8):
                length = self.some(200, 900)
                table["strap"] = self.pair(length, self.some(10, 30))
            else:
                table["binding"] = self.pair(self.some(500, 2000), self.some(20, 45))
            if self.chance(0.5):
                table["seam_allowance"] = self.said(self.some(4, 10))
            if self.chance(0.3):
                table["grain"] = rng.choice(("across", "bias"))
            self.sizes[name], self.points[name] = (0.0, 0.0), ()
            return table
        w, h = self.some(60, 260), self.some(50, 220)
        traits: set[str] = set()
        table = {"name": name}
        kind = rng.choice(("rectangle", "rectangle", "points", "bay", "ellipse", "path", "arcs"))
        self.shape(table, kind, w, h, traits)
        self.sizes[name], self.traits[name] = (w, h), traits
        self.lines(table, kind, w, h, traits)
        self.points[name] = ()
        if "half" not in traits and kind != "ellipse":
            table["named_points"] = {
                "a": self.pair(0.0, 0.0),
                "b": self.pair(w, 0.0),
                "c": self.pair(w / 2.0, 0.0),
            }
            self.points[name] = ("a", "b", "c")
        if self.chance(0.15) and "half" not in traits:
            table["motif"] = self.pair(w * 0.4, h * 0.5)
        if self.chance(0.08):
            table["up_known"] = False
        if self.chance(0.25):
            table["grain"] = rng.choice(("across", "along", "bias", 20, 180, 270))
        even = kind in ("rectangle", "ellipse") and not traits & {"half", "uneven", "hole"}
        if even and self.chance(0.3):
            y = 0.0 if kind == "ellipse" else h / 2.0
            table["fold_axis"] = [self.pair(0.0, y), self.pair(w, y)]
        if kind in ("rectangle", "points", "path") and "half" not in traits and self.chance(0.2):
            x = w * 0.62
            ends = [self.pair(x, 0.0), self.pair(x, h)]
            # What is on the left of the line goes: upwards that is the smaller x.
            table["fold_back"] = ends if self.chance(0.5) else ends[::-1]
            traits.add("fold_back")
        return table

    def shape(self, table: Table, kind: str, w: float, h: float, traits: set[str]) -> None:
        """Put a shape into a piece's table."""
        rng = self.rng
        if kind == "rectangle":
            table["rectangle"] = self.pair(w, h)
            if self.chance(0.25):
                table["corner_radius"] = self.said(self.some(5, 20))
                traits.add("round")
            elif self.chance(0.25):
                traits.add("half")
                table["fold_edge"] = rng.choice(
                    ("bottom", 1, [self.pair(0.0, 0.0), self.pair(w, 0.0)])
                )
        elif kind == "points":
            s = self.some(4, 30)
            points = [(0.0, 0.0), (w, 0.0), (w - s, h), (s / 2.0, h)]
            if self.chance(0.25):
                traits.add("half")
                table["fold_edge"] = 1
            if self.chance(0.3):
                points = points[:1] + points[:0:-1]  # the other way round
                traits.add("clockwise")
                table.pop("fold_edge", None)
                traits.discard("half")
            table["points"] = [self.pair(*p) for p in points]
        elif kind == "bay":
            x, y = w * rng.uniform(0.4, 0.6), h * rng.uniform(0.4, 0.7)
            points = [(0.0, 0.0), (w, 0.0), (w, y), (x, y), (x, h), (0.0, h)]
            table["points"] = [self.pair(*p) for p in points]
        elif kind == "ellipse":
            if self.chance(0.4):
                table["circle"] = self.said(w)
            else:
                table["ellipse"] = self.pair(w, h)
            if self.chance(0.3):
                table["at"] = self.pair(0.0, 0.0)
        elif kind == "path":
            sag = rng.uniform(4, 30)
            table["outline"] = (
                f"M 0,0 L {w!r},0 L {w!r},{h!r} C {w * 0.66!r},{h - sag!r} {w * 0.33!r},{h - sag!r}"
                f" 0,{h!r} Z"
            )
        else:
            r = min(w, h) * rng.uniform(0.2, 0.45)
            table["outline"] = (
                f"M 0,0 H {w!r} V {h - r!r} A {r!r} {r!r} 0 0 1 {w - r!r},{h!r} L {r!r},{h!r}"
                f" Q 0,{h!r} 0,{h - r!r} Z"
            )
        if self.chance(0.12) and kind not in ("ellipse", "bay"):
            size = min(w, h) * 0.18
            hole: Table = {"at": self.pair(w * 0.3, h * 0.5)}
            if self.chance(0.5):
                hole["circle"] = self.said(size)
            else:
                hole["rectangle"] = self.pair(size, size)
            table["hole"] = [hole]
            traits.add("hole")

    def lines(self, table: Table, kind: str, w: float, h: float, traits: set[str]) -> None:
        """Say what the outline is, and its seam allowance."""
        rng = self.rng
        how = rng.choice(("cutting", "sewing", "sewing", "usual", "drawn", "plain"))
        if how == "plain":
            return
        traits.add("sewn")
        if how == "drawn" and kind == "rectangle" and not traits & {"half", "round", "hole"}:
            a = 8.0
            table["sewing_line"] = (
                f"M {a},{a} L {w - a!r},{a} L {w - a!r},{h - a!r} L {a},{h - a!r} Z"
            )
            return
        table["line"] = "cutting" if how == "cutting" else "sewing"
        if how == "usual":
            return
        even = self.some(4, 10)
        table["seam_allowance"] = self.said(even)
        by_edge = kind in ("rectangle", "bay", "points") and "round" not in traits
        if by_edge and self.chance(0.4):
            other = self.some(6, 12) if kind != "rectangle" else self.some(0.5, 25)
            edge = rng.choice((1, 2, 3, 4))
            words = ("bottom", "right", "top", "left")
            key = words[edge - 1] if kind == "rectangle" and self.chance(0.6) else str(edge)
            table["seam_allowance"] = {"all": self.said(even), key: self.said(other)}
            traits.add("uneven")

    def add_marks(self, pieces: list[Table], cuts: list[Table], names: list[str]) -> None:
        """Put marks on pieces: by copy, hand, material and face."""
        rng = self.rng
        for piece in pieces:
            traits = self.traits[piece["name"]]
            (w, h), most = self.sizes[piece["name"]], 1
            for cut in cuts:
                if cut["piece"] == piece["name"]:
                    most = max(most, cut.get("copies", 1))
            if "strap" in traits or not self.chance(0.45):
                continue
            round_ = "circle" in piece or "ellipse" in piece
            middle = (0.0, 0.0) if round_ else (w / 2.0, h / 2.0)
            marks = []
            for _ in range(rng.randint(1, 3)):
                x = middle[0] + w * rng.choice((-0.15, 0.0, 0.15))
                y = middle[1] + h * rng.choice((-0.12, 0.06, 0.12))
                mark = self.mark(x, y, w, h, notch="circle" not in piece and not round_)
                if self.chance(0.25):
                    mark["copies"] = rng.randint(1, most) if self.chance(0.5) else [1]
                if self.chance(0.2):
                    mark["hands"] = rng.choice(("right", "left", ["right", "left"]))
                if self.chance(0.2):
                    mark["materials"] = rng.choice(names)
                if self.chance(0.25):
                    mark["face"] = rng.choice(("right", "wrong"))
                marks.append(mark)
            piece["mark"] = marks

    def mark(self, x: float, y: float, w: float, h: float, *, notch: bool) -> Table:
        """Return a mark near a point."""
        rng = self.rng
        kind = rng.choice(
            ("drill", "drill", "line", "outline", "text", "notch" if notch else "drill")
        )
        mark: Table = {"kind": kind}
        if kind == "notch":
            mark["at"] = self.pair(w * rng.choice((0.25, 0.5)), 0.0)
            mark["style"] = rng.choice(_STYLES)
        elif kind == "line":
            mark["points"] = [self.pair(x - 5.0, y), self.pair(x + 5.0, y + 3.0)]
        elif kind == "outline":
            mark["rectangle"], mark["at"] = self.pair(8.0, 5.0), self.pair(x - 4.0, y - 2.5)
        else:
            mark["at"] = self.pair(x, y)
            if kind == "text":
                mark["text"] = rng.choice(("logo here", "Größe M", "3 × 2"))
            elif self.chance(0.6):
                mark["size"] = self.said(3.0)
        return mark
