"""Ratios, spreads and what they have to keep to: what a cutting plan is made of.

A *marker's ratio* says how many of each bag one ply gives (face to face: two plies); a
*spread* is one marker cut through so many plies.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nesting.amounts import METRIC, Amounts

__all__ = ["Aims", "CutPlan", "Ratio", "Rules", "Spread", "ratios"]

Ratio = tuple[int, ...]
"""How many of each bag a marker holds, in the order of the demand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What every spread must keep to.

    `table`: longest marker with its ends (mm). `plies`: most plies in a spread.
    `multiple`: plies come in multiples of this (2 face to face), and so many plies
    together give the ratio's bags. `bags`: most bags of a ratio. `over`: how many more
    than ordered may be cut, of each bag. `ends`: what is lost at each end of each ply (mm).
    `amounts`: how lengths are said.
    """

    table: float | None = None
    plies: int = 1
    multiple: int = 1
    bags: int = 6
    over: int = 0
    ends: float = 0.0
    amounts: Amounts = METRIC


@dataclass(frozen=True, slots=True, kw_only=True)
class Aims:
    """What a spread, a marker and a metre of cutting cost, in mm of cloth.

    With all of them 0 only cloth counts; ties go to fewer spreads, then fewer markers.
    """

    spread: float = 0.0
    marker: float = 0.0
    cutting: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """One marker cut through `plies` layers; `length` of the marker in mm, without ends."""

    ratio: Ratio
    plies: int
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPlan:
    """The spreads of one cloth.

    `cloth`: Σ plies × (length + both ends), mm. `made`: bags cut, in the order of the
    demand. `optimal`: no plan of these lengths is better by the aims. `bound`: no plan of
    these lengths costs less, by the aims (mm); 0 if nothing is known.
    """

    spreads: tuple[Spread, ...]
    cloth: float
    made: tuple[int, ...]
    optimal: bool
    bound: float = 0.0

    @property
    def ratios(self) -> tuple[Ratio, ...]:
        """Its markers, each once."""
        return tuple(dict.fromkeys(spread.ratio for spread in self.spreads))


def ratios(demand: Sequence[int], *, bags: int) -> Iterator[Ratio]:
    """Yield every ratio of 1 to `bags` bags that asks for no more of a bag than is wanted."""
    ranges = [range(min(wanted, bags) + 1) for wanted in demand]
    yield from (ratio for ratio in _within(ranges, bags) if any(ratio))


def _within(ranges: Sequence[range], left: int) -> Iterator[Ratio]:
    """Yield every choice of one number a range that adds up to `left` at most."""
    if not ranges:
        yield ()
        return
    for count in ranges[0]:
        if count > left:
            return
        for rest in _within(ranges[1:], left - count):
            yield (count, *rest)
