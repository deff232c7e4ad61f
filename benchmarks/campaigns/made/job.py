"""Random jobs with the features of a job file, as the text of TOML files.

They are small, so that thousands are laid: one or two bags, a few pieces, one or two materials.
Not all of them can be laid: what a job contradicts in itself has to be refused.
"""

from __future__ import annotations

from random import Random

from .cuts import Cuts
from .goods import Goods
from .toml import Table, toml, written

__all__ = ["made_job"]


def made_job(rng: Random) -> dict[str, str]:
    """Return the files of a random job by name; ``job.toml`` is the job."""
    return _Maker(rng).files()


class _Maker(Cuts, Goods):
    """Makes one job."""

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
        bed = written(self.pair(self.some(550, 900), self.some(400, 800)))
        loaded = f"[table]\nbed = {bed}\n" if self.chance(0.05) else ""
        include = f"include = {written(job.pop('include'))}\n" if "include" in job else ""
        files["job.toml"] = f"{include}[job]\n{toml(head)}{loaded}{toml(job)}"
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
