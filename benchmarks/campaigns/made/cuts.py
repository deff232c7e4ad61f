"""Random cutting lists."""

from __future__ import annotations

from .pieces import Pieces
from .toml import Table

__all__ = ["Cuts"]


class Cuts(Pieces):
    """Makes what is cut from what, how often and how."""

    def cuts(self, pieces: list[Table], kinds: list[str], names: list[str]) -> list[Table]:
        """Return a line or two for each piece."""
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
        """Return one line of the cutting list."""
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
        """Say how a print lies on a cut: in its middle, or on across a seam."""
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
