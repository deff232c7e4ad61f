"""Everything that a job asks for: which piece, from what, how often, in which hands."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from .amounts import Units
from .goods import Goods, goods_of
from .pattern import Piece, piece_of
from .shelf import Shelf, stocked
from .variants import Variant, mapped, ready, same, words

__all__ = ["Asked", "Job", "read"]


@dataclass(frozen=True, eq=False)
class Asked:
    """One line of the cutting list of one bag, from one material; `count` such bags are made."""

    bag: str
    count: int
    piece: Piece
    cut: dict[str, Any]
    goods: Goods
    units: Units
    roles: dict[str, str] = field(default_factory=dict)

    @property
    def copies(self) -> int:
        """How many, or how many pairs, one bag needs."""
        return int(self.cut.get("copies", 1))

    @property
    def hands(self) -> tuple[str, ...]:
        """The hands that each copy comes in."""
        if self.cut.get("pairs"):
            return ("right", "left")
        return ("left",) if self.cut.get("reversed") else ("right",)

    @property
    def nap(self) -> str:
        """Which turns the goods allow this cut."""
        return str(self.cut.get("nap", self.goods.nap))

    @property
    def slack(self) -> float:
        """How many degrees off the grain it may lie."""
        return float(self.cut.get("turn_slack", self.goods.turn_slack))

    @property
    def variant_words(self) -> str:
        """How labels say the variant."""
        return words(self.cut)

    @property
    def matched(self) -> bool:
        """Whether its print runs on to another piece."""
        return "matches" in self.cut

    def shape(self, hand: str) -> Variant:
        """Return the piece as it is cut for a hand."""
        return _shape(self, hand)

    def way_on_fold(self) -> str:
        """Say what folded cloth gives of it: "pair", "fold" (a half), "two" or "one"."""
        if not self.goods.folded:
            return "single"
        if self.cut.get("pairs"):
            return "pair"
        shape = self.shape(self.hands[0])
        if shape.fold is not None and abs(shape.fold[0][1] - shape.fold[1][1]) <= 1e-6:
            return "fold"
        turns = (0.0,) if self.nap == "one-way" else (0.0, 180.0)
        alike = self.goods.faces_alike or any(mirror_alike(shape, turn) for turn in turns)
        return "two" if alike else "one"


@cache
def _shape(asked: Asked, hand: str) -> Variant:
    return ready(asked.piece, asked.cut, asked.goods, hand, asked.units)


def mirror_alike(shape: Variant, turn: float) -> bool:
    """Whether the mirror image in the grain, turned by 0 or 180 degrees, is the same, marks too."""
    side = 1.0 if turn == 0.0 else -1.0
    image = mapped(shape.cut, lambda p: (side * p[0], -side * p[1]))
    a, b = shape.cut.centroid, image.centroid
    dx, dy = a.x - b.x, a.y - b.y

    def way(p: tuple[float, float]) -> tuple[float, float]:
        return side * p[0] + dx, -side * p[1] + dy

    if not same(shape.cut, mapped(shape.cut, way), within=0.005):
        return False
    left = [mark for mark in shape.marks if mark.kind != "text"]
    for mark in [mark.moved(way) for mark in left]:
        found = next((other for other in left if mark.on(other)), None)
        if found is None:
            return False
        left.remove(found)
    return True


@dataclass(frozen=True)
class Job:
    """A job file and what it includes, read a second time."""

    units: Units
    goods: dict[str, Goods]
    asked: tuple[Asked, ...]
    bags: int
    table: dict[str, Any]
    notions: tuple[tuple[str, float, float | None], ...]
    shelf: Shelf | None = None
    held: tuple[dict[str, Any], ...] = ()

    def face_to_face(self, goods: Goods) -> bool:
        """Whether every other ply of an order is turned over: of single cloth alone."""
        single = goods.kind == "cloth" and not goods.folded
        return single and self.table.get("spreading") == "face to face"


def read(path: Path, *, stock: Path | None = None) -> Job:
    """Read a job file, with what a stock file has."""
    job = tomllib.loads(path.read_text(encoding="utf-8"))
    units = Units(job["job"].get("unit", "mm"))
    pieces = {one["name"]: piece_of(one, units) for one in job.get("piece", [])}
    included = job.get("include", [])
    for name in included if isinstance(included, list) else [included]:
        other = tomllib.loads((path.parent / name).read_text(encoding="utf-8"))
        theirs = Units(other.get("unit", "mm"))
        pieces |= {one["name"]: piece_of(one, theirs) for one in other.get("piece", [])}
    goods = goods_of(job, units)
    shelf = None if stock is None else Shelf.read(stock)
    if shelf is not None:
        goods = {name: stocked(one, shelf) for name, one in goods.items()}
    asked: list[Asked] = []
    notions: list[tuple[str, float, float | None]] = []
    own = {"name": "", "count": job["job"].get("bags", 1), "cut": job.get("cut", [])}
    bags = job.get("bag") or [own]
    for bag in bags:
        theirs_too = {one["name"]: piece_of(one, units) for one in bag.get("piece", [])}
        cuts = bag.get("cut") or job.get("cut", [])
        asked += _asked(bag, cuts, {**pieces, **theirs_too}, goods, units)
        shared = bag is own or not (bag.get("piece") or bag.get("cut"))
        for one in bag.get("notion") or (job.get("notion", []) if shared else []):
            amount = one.get("quantity", 1) * bag.get("count", 1)
            notions.append((one["name"], amount, one.get("price")))
    count = sum(bag.get("count", 1) for bag in bags)
    table, held = job.get("table", {}), tuple(job.get("held", []))
    return Job(units, goods, tuple(asked), count, table, tuple(notions), shelf, held)


def _asked(
    bag: dict[str, Any],
    cuts: list[dict[str, Any]],
    pieces: dict[str, Piece],
    goods: dict[str, Goods],
    units: Units,
) -> Iterator[Asked]:
    roles = bag.get("materials", {})
    for cut in cuts:
        said = cut["material"]
        for word in said if isinstance(said, list) else [said]:
            yield Asked(
                bag=bag["name"],
                count=bag.get("count", 1),
                piece=pieces[cut["piece"]],
                cut=cut,
                goods=goods[roles.get(word, word)],
                units=units,
                roles=roles,
            )
