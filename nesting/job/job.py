"""What is to be made: bags, their pieces, and from which material each is cut."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.material.material import Grade, Material, Nap
from nesting.pattern.piece import Piece

__all__ = ["Bag", "Cut", "Job", "Notion"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One line of the cutting list: a piece, a material, how often per bag, in which variant.

    `copies`: per bag; with `pairs` each copy is a mirrored pair, one right and one left.
    `trimmed`: cut on the sewing line (stabiliser), inset by a further `gap` (mm).
    `buffer`: cut roughly this much larger (mm) instead, for block fusing.
    `folded_back`: the shorter variant. `nap`, `turn_slack`: override the material's.
    `grain`: degrees added to the piece's grain (90 across, 45 bias).
    `centred`: the print's motif is centred in it (fussy cutting). `matches`: runs on
    across a seam: own point name, other piece's name, its point's name.
    `grade`: poorest zone of a hide it accepts. `mates`: its copies are cut close together.
    """

    piece: str
    material: str
    copies: int = 1
    pairs: bool = False
    trimmed: bool = False
    gap: float = 0.0
    buffer: float = 0.0
    folded_back: bool = False
    nap: Nap | None = None
    turn_slack: float | None = None
    grain: float = 0.0
    centred: bool = False
    matches: tuple[str, str, str] | None = None
    grade: Grade | None = None
    mates: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Notion:
    """Hardware and notions per bag: a plain line of the job."""

    name: str
    quantity: float
    unit: str = ""
    price: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bag:
    """One design and how many of it are ordered."""

    name: str
    pieces: tuple[Piece, ...]
    cuts: tuple[Cut, ...]
    count: int = 1
    notions: tuple[Notion, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Everything that is to be made at once, and the materials it is made from.

    `assumptions`: every default that was used because the job file did not say, as
    sentences for the report.
    """

    name: str
    bags: tuple[Bag, ...]
    materials: tuple[Material, ...]
    currency: str = ""
    assumptions: tuple[str, ...] = ()
    file: str | None = None
