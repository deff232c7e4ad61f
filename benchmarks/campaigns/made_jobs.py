"""Random jobs with the features of a job file, as the text of TOML files.

They are small, so that thousands are laid: one or two bags, a few pieces, one or two materials.
Not all of them can be laid: what a job contradicts in itself has to be refused.
"""

from __future__ import annotations

import json
from random import Random
from typing import Any

__all__ = ["made_job", "toml"]

Table = dict[str, Any]

_STYLES = ("slit", "v", "t", "castle", "u")


def toml(tree: Table) -> str:
    """Return a tree of tables as TOML."""
    return "\n".join(_lines(tree, ())) + "\n"


def _lines(tree: Table, path: tuple[str, ...]) -> list[str]:
    plain = {k: v for k, v in tree.items() if not _tables(v)}
    found = [f"{k} = {_value(v)}" for k, v in plain.items()]
    for key, value in tree.items():
        if _tables(value):
            for one in value:
                found += ["", f"[[{'.'.join((*path, key))}]]", *_lines(one, (*path, key))]
    return found


def _tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(v, dict) for v in value)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(k)} = {_value(v)}" for k, v in value.items()) + " }"
    return repr(value)


def made_job(rng: Random) -> dict[str, str]:
    """Return the files of a random job by name; ``job.toml`` is the job."""
    return _Maker(rng).files()


class _Maker:
    """Makes one job."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.unit = rng.choice(("mm", "mm", "mm", "cm", "in"))
        self.sizes: dict[str, tuple[float, float]] = {}
        self.traits: dict[str, set[str]] = {}
        self.points: dict[str, tuple[str, ...]] = {}

    # -- words

    def chance(self, share: float) -> bool:
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
        return [self.said(x), self.said(y)]

    # -- the job

    def files(self) -> dict[str, str]:
        rng = self.rng
        kinds = [rng.choice(("cloth", "cloth", "print", "folded", "sheet", "leather"))]
        if self.chance(0.3):
            kinds.append(rng.choice(("cloth", "sheet", "leather")))
        names = [f"{kind} {k + 1}" for k, kind in enumerate(kinds)]
        pieces = [self.piece(f"piece {k + 1}") for k in range(rng.randint(1, 4))]
        job: Table = {}
        head: Table = {"name": "random", "unit": self.unit, "currency": "EUR"}
        if self.unit == "mm" and self.chance(0.5):
            del head["unit"]
        job["piece"] = pieces
        for kind, name in zip(kinds, names, strict=True):
            key, table = self.goods(kind, name)
            job.setdefault(key, []).append(table)
            if key != "cloth" and self.chance(0.3):
                job.setdefault("remnant", []).append({"material": name, **self.remnant(name, key)})
        cuts = self.cuts(pieces, kinds, names)
        self.add_marks(pieces, cuts, names)
        files: dict[str, str] = {}
        if self.chance(0.12):
            self.bags(job, pieces, cuts, kinds, names)
        else:
            job["cut"] = cuts
            if self.chance(0.4):
                head["bags"] = rng.randint(1, 3)
        if self.chance(0.2):
            job["notion"] = [{"name": "zip", "quantity": 2, "price": 1.5}]
        if self.chance(0.06) and "bag" not in job:
            unit = rng.choice(("mm", self.unit))
            if unit == self.unit:
                files["more.toml"] = toml({"unit": unit, "piece": job.pop("piece")})
                job = {"include": "more.toml", **job}
        table = {"bed": self.pair(self.some(550, 900), self.some(400, 800))}
        loaded = f"[table]\nbed = {_value(table['bed'])}\n" if self.chance(0.05) else ""
        text = f"[job]\n{toml(head)}{loaded}"
        include = job.pop("include", None)
        files["job.toml"] = (f"include = {_value(include)}\n" if include else "") + text + toml(job)
        return files

    def bags(
        self, job: Table, pieces: list[Table], cuts: list[Table], kinds: list[str], names: list[str]
    ) -> None:
        """Make it an order of two bags: one in other colours, or with a piece of its own."""
        first: Table = {"name": "tote", "count": self.rng.randint(1, 2)}
        second: Table = {"name": "pouch", "count": 1}
        if self.chance(0.5):
            same = {"cloth": "cloth", "sheet": "sheet", "leather": "leather"}.get(kinds[0])
            if same is not None and len(kinds) == 1:
                key, other = self.goods(kinds[0], f"{kinds[0]} other")
                job[key].append(other)
                second["materials"] = {names[0]: f"{kinds[0]} other"}
            job["cut"] = cuts
        else:
            piece = self.piece("piece own")
            first["cut"], second["piece"] = cuts, [piece]
            second["cut"] = self.cuts([piece], kinds[:1], names[:1])
        job["bag"] = [first, second]

    # -- pieces

    def piece(self, name: str) -> Table:
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

    # -- materials

    def goods(self, kind: str, name: str) -> tuple[str, Table]:
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

    # -- the cutting list

    def cuts(self, pieces: list[Table], kinds: list[str], names: list[str]) -> list[Table]:
        found: list[Table] = []
        for k, piece in enumerate(pieces):
            number = self.rng.randrange(len(kinds))
            kind, material = kinds[number], names[number]
            cut = self.cut(piece, kind, [one["name"] for one in pieces[:k]], found, material)
            cut["material"] = material
            if len(kinds) > 1 and self.chance(0.15) and "grade" not in cut and "pieced" not in cut:
                plain = not ({"centred", "matches"} & set(cut))
                cut["material"] = names if plain and "mates" not in cut else material
            found.append(cut)
            other = {"trimmed", "rough_margin", "folded_back"} & set(cut)
            if self.chance(0.1) and "sewn" in self.traits[piece["name"]] and not other:
                more: Table = {"piece": piece["name"], "material": material, "trimmed": True}
                if self.chance(0.5):
                    more["gap"] = self.said(2.0)
                found.append(more)
        return found

    def cut(
        self, piece: Table, kind: str, before: list[str], cuts: list[Table], material: str
    ) -> Table:
        rng = self.rng
        traits = self.traits[piece["name"]]
        cut: Table = {"piece": piece["name"]}
        if self.chance(0.6):
            cut["copies"] = rng.randint(1, 3)
        hands = rng.random()
        if hands < 0.25:
            cut["pairs"] = True
        elif hands < 0.4:
            cut["reversed"] = True
        if "fold_back" in traits and self.chance(0.5):
            cut["folded_back"] = True
        variant = rng.random()
        if variant < 0.12 and "sewn" in traits and "strap" not in traits:
            cut["trimmed"] = True
            if self.chance(0.5):
                cut["gap"] = self.said(2.0)
        elif variant < 0.2 and not cut.get("folded_back"):
            cut["rough_margin"] = self.said(6.0)
        if self.chance(0.12):
            cut["nap"] = rng.choice(("none", "one-way", "any"))
        if self.chance(0.1):
            cut["turn_slack"] = rng.choice((0, 3, 40))
        if self.chance(0.12):
            cut["grain"] = rng.choice(("across", "bias", 30))
        if self.chance(0.08):
            cut["mates"] = True
        elif self.chance(0.05) and before:
            led = [c["piece"] for c in cuts if c["material"] == material]
            if led:
                cut["mates"] = rng.choice(led)
        if kind == "print":
            self.printed(cut, piece, cuts, material)
        if kind == "leather" and self.chance(0.6):
            cut["grade"] = rng.choice("ABBCCD")
        if kind in ("cloth", "sheet") and self.chance(0.3 if "strap" in traits else 0.08):
            cut["pieced"] = self.said(8.0)
            if self.chance(0.3):
                cut["joins"] = rng.randint(0, 2)
        return cut

    def printed(self, cut: Table, piece: Table, cuts: list[Table], material: str) -> None:
        if self.chance(0.4):
            cut["centred"] = True
            return
        others = [
            c["piece"]
            for c in cuts
            if c["material"] == material and self.points.get(c["piece"])
            and "trimmed" not in c and "folded_back" not in c
        ]  # fmt: skip
        own = self.points.get(piece["name"])
        if others and own and "folded_back" not in cut and self.chance(0.6):
            cut["matches"] = {"point": "a", "piece": self.rng.choice(others), "to": "b"}
            if cut.get("pairs") and self.chance(0.4):
                cut["matches"]["left"] = "c"
