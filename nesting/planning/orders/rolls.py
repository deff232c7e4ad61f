"""Which roll each ply comes from, and where plies are spliced from two.

Plies are given to the rolls at hand so that as little new cloth as possible is needed,
then with the fewest splices, then with the least overlap. CP-SAT decides.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nesting.job.job import CuttingTable
from nesting.marker.figures import figures
from nesting.material.material import Cloth
from nesting.planning.orders.effort import Effort
from nesting.planning.orders.splice import Splice, splices
from nesting.planning.plan import Entry
from nesting.planning.records import LaidFrom

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["SpreadNeed", "assign", "from_rolls"]

# Lengths as whole numbers: tenths of a millimetre.
_UNITS = 10
_MOST_PLACES = 12
_EFFORT = Effort(seconds=5.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadNeed:
    """What a spread asks of the rolls: plies of `length` (mm, with ends), where spliced."""

    plies: int
    length: float
    ends: float
    places: tuple[Splice, ...] = ()


def from_rolls(
    entries: Sequence[Entry], cloth: Cloth, *, table: CuttingTable, seed: int = 1
) -> tuple[Entry, ...]:
    """Return the entries of a cloth with the rolls their plies come from, if rolls are known.

    Rolls are as long as bought: what is washed before cutting shrinks first. Only those
    that are as wide as the markers are used.
    """
    width = entries[0].width if entries else None
    usable = () if width is None else cloth.rolls_of(width)
    if not usable:
        return tuple(entries)
    needs, owner = [], []
    for number, entry in enumerate(entries):
        length = figures(entry.marker).length + 2.0 * cloth.ends
        places = () if table.splice is None else splices(entry.marker, most=table.splice)
        for spread, plies in enumerate(entry.spreads):
            needs.append(SpreadNeed(plies=plies, length=length, ends=cloth.ends, places=places))
            owner.append((number, spread))
    lost = 0.0 if cloth.shrinkage.cut_larger else cloth.shrinkage.along
    given = assign(
        needs, [cloth.rolls[i] * (1.0 - lost) for i in usable], effort=replace(_EFFORT, seed=seed)
    )
    numbers = (0, *(i + 1 for i in usable))
    found: list[list[LaidFrom]] = [[] for _ in entries]
    for laid in given:
        number, spread = owner[laid.spread]
        rolls = tuple(numbers[roll] for roll in laid.rolls)
        found[number].append(replace(laid, spread=spread, rolls=rolls))
    return tuple(
        replace(entry, laid_from=tuple(laid)) for entry, laid in zip(entries, found, strict=True)
    )


def assign(
    needs: Sequence[SpreadNeed], rolls: Sequence[float], *, effort: Effort = _EFFORT
) -> tuple[LaidFrom, ...]:
    """Return which plies come from which roll (from 1; 0: new cloth).

    A spliced ply starts with the end of one roll and goes on with another: the first
    reaches to the place's end, the second starts at its begin. `LaidFrom.spread` is the
    index in `needs`.
    """
    from ortools.sat.python import cp_model  # it loads much, and few goods are on rolls

    model = cp_model.CpModel()
    used: list[list[cp_model.LinearExprT]] = [[] for _ in rolls]
    fresh: list[cp_model.LinearExprT] = []
    cost: list[cp_model.LinearExprT] = []
    chosen: list[tuple[LaidFrom, cp_model.IntVar]] = []
    for s, need in enumerate(needs):
        whole = [model.new_int_var(0, need.plies, f"{s} from {j}") for j in range(len(rolls) + 1)]
        parts: list[cp_model.LinearExprT] = list(whole)
        fresh.append(_up(need.length) * whole[0])
        for j, number in enumerate(whole):
            chosen.append((LaidFrom(spread=s, plies=0, rolls=(j,)), number))
            if j:
                used[j - 1].append(_up(need.length) * number)
        for place, i, j in itertools.product(
            _best(need.places), range(len(rolls)), range(len(rolls) + 1)
        ):
            if j == i + 1:
                continue
            spliced = model.new_bool_var(f"{s} spliced")
            first = _up(need.ends + place.end)
            second = _up(need.length - need.ends - place.begin)
            used[i].append(first * spliced)
            if j:
                used[j - 1].append(second * spliced)
            else:
                fresh.append(second * spliced)
            cost.append((1000 + round(place.overlap)) * spliced)
            parts.append(spliced)
            laid = LaidFrom(spread=s, plies=1, rolls=(i + 1, j), splice=(place.begin, place.end))
            chosen.append((laid, spliced))
        model.add(sum(parts) == need.plies)
    for length, parts in zip(rolls, used, strict=True):
        model.add(sum(parts) <= int(length * _UNITS))
    # New cloth weighs most: a metre of it as much as any number of splices.
    model.minimize(sum([*(1000 * length for length in fresh), *cost]))
    solver = effort.solver()
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return tuple(
            LaidFrom(spread=s, plies=need.plies, rolls=(0,)) for s, need in enumerate(needs)
        )
    return tuple(
        replace(laid, plies=solver.value(number)) for laid, number in chosen if solver.value(number)
    )


def _best(places: Sequence[Splice]) -> list[Splice]:
    """Return the places with the least overlap, in their order along the marker."""
    kept = sorted(places, key=lambda place: place.overlap)[:_MOST_PLACES]
    return sorted(kept, key=lambda place: place.begin)


def _up(mm: float) -> int:
    return -int(-mm * _UNITS // 1)
