"""What a plan keeps of each marker: how it was found, what is bought, tried, cut at once."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.material.material import Width
from nesting.quantity import NO_LENGTH, NOTHING, Quantity

__all__ = ["BedLoad", "Buying", "LaidFrom", "MaterialBound", "SearchRecord", "WidthTried"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchRecord:
    """How a marker was found: lengths in mm; `bound`: what no marker of its parts is below.

    `bound_by`: what says so, in a few words.
    """

    stopped: str
    seconds: float
    first_seconds: float
    first_length: float
    rounds: int
    seed: int
    workers: int
    bound: Quantity
    bound_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Buying:
    """What to buy. `sheets`: how many sheets or hides are used, of remnants none.

    `needed`: marker length + ends, before shrinkage, of hides their area; `gross`: with shrinkage
    and the overlap of splices; `from_stock`: what of it is at hand; `to_buy`: the rest, in what
    the material is sold in, rounded up to the `step`. Of a material with several markers all is
    bought at once: then `step` is 0, and `to_buy` the new cloth that this marker takes.
    `cost` in the job's currency, None without a price, or where it is bought with others.
    """

    needed: Quantity
    gross: Quantity
    to_buy: Quantity
    step: Quantity
    sheets: int = 0
    cost: float | None = None
    from_stock: Quantity = NOTHING


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidFrom:
    """Plies of a spread (numbered from 0) that come from the same rolls.

    `rolls`: the roll (from 1; 0 is new cloth), or two where the ply is spliced.
    `splice`: the second length starts at the first number (mm from the marker's start)
    and the first one reaches to the second.
    """

    spread: int
    plies: int
    rolls: tuple[int, ...]
    splice: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialBound:
    """What no plan of the order can go below under its rules."""

    material: str
    amount: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class WidthTried:
    """What a plan would take of a cloth at one width: in all, at hand, to buy.

    Of the `chosen` width what the plan takes; of the others by markers laid in part of the
    time. `needed` is None where the width can't be used; `why` says why.
    """

    material: str
    width: Width
    needed: Quantity | None = None
    from_stock: Quantity = NO_LENGTH
    to_buy: Quantity = NO_LENGTH
    cost: float | None = None
    chosen: bool = False
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BedLoad:
    """What is cut at once on a bed smaller than the lay: its place and size (mm), its parts.

    `sheet`: which of the marker's sheets it is on (0 on a strip).
    """

    x: float
    y: float
    length: float
    width: float
    parts: tuple[str, ...]
    sheet: int = 0
