"""What a stock file has at hand: lengths of cloth, each with its width, sheets and notions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nesting import units
from nesting.errors import JobError
from nesting.job.desk import Desk
from nesting.job.job import Bag
from nesting.job.locate import Place
from nesting.job.tables.job_table import IncludeTable
from nesting.job.tables.stock_table import AtHand, lengths_at_hand
from nesting.material.material import Cloth, Material, Width
from nesting.quantity import Unit

__all__ = ["SAME_WIDTH", "amount_at_hand", "at_hand_notions", "with_at_hand"]

SAME_WIDTH = 3.0
"""Widths that differ by no more than this (mm) are one: 54 in and 137 cm (own choice)."""


def with_at_hand(
    materials: dict[str, Material], table: IncludeTable, desk: Desk
) -> dict[str, Material]:
    """Return the materials with the lengths and sheets that a stock file has of them."""
    return {
        name: _with(goods, table.at_hand[name], ("at_hand", name), desk, unit=table.said_unit)
        if name in table.at_hand
        else goods
        for name, goods in materials.items()
    }


def _with(goods: Material, have: AtHand, place: Place, desk: Desk, *, unit: str | None) -> Material:
    if goods.taken_in is Unit.LENGTH:
        return _with_lengths(goods, have, place, desk, unit=unit)
    if goods.taken_in is Unit.HIDES:
        raise desk.error(
            f"{goods.name} is leather, which is at hand hide by hide",
            place,
            hint="draw each as a [[hide]] here, left-overs as [[remnant]]s",
        )
    if have.lengths or have.number is None or have.number != int(have.number):
        raise desk.error(
            f"{goods.name} comes in sheets", place, hint="write how many, as a number: 3"
        )
    if goods.count == 0 and have.number:
        raise desk.error(
            f"how large the sheets of {goods.name} are is not known",
            place,
            hint="give the [[sheet]] its size",
        )
    return replace(goods, at_hand=goods.at_hand + int(have.number))


def _with_lengths(
    cloth: Cloth, have: AtHand, place: Place, desk: Desk, *, unit: str | None
) -> Cloth:
    if cloth.rolls and not cloth.roll_widths:
        raise desk.error(
            f"the job gives the rolls of {cloth.name}, and the stock file lengths of it",
            place,
            hint="keep them in the stock file only",
        )
    with desk.at(place):
        found = lengths_at_hand(have, unit=unit)
    first = cloth.widths[0]
    rolls, widths, known = list(cloth.rolls), list(cloth.roll_widths), list(cloth.widths)
    for length, across in found:
        if length <= 0.0:
            continue
        if across is None:
            if len(cloth.widths) > 1:
                desk.assume(
                    "lengths at hand without a width are taken to be of the first width on sale",
                    of=cloth.name,
                )
            across = first.booked
        wide = next((w for w in known if abs(w.booked - across) <= SAME_WIDTH), None)
        if wide is None:
            edges = first.booked - first.usable
            if across <= edges:
                raise desk.error(
                    f"a length of {cloth.name} is too narrow to have anything inside its selvedges",
                    place,
                    hint="give its width as booked",
                )
            wide = Width(booked=across, usable=across - edges, on_sale=False)
            known.append(wide)
        rolls.append(length)
        widths.append(wide.booked)
    return replace(cloth, rolls=tuple(rolls), roll_widths=tuple(widths), widths=tuple(known))


def at_hand_notions(
    files: Sequence[tuple[IncludeTable, Desk]],
    *,
    materials: dict[str, Material],
    bags: Sequence[Bag],
) -> tuple[tuple[str, float], ...]:
    """Return how much there is of each notion that the bags take, in its own unit.

    Names that are neither a material nor a notion of the job are noted: one may be a slip.
    """
    notions = {notion.name: notion for bag in bags for notion in bag.notions}
    found: dict[str, float] = {}
    for table, desk in files:
        for name, have in table.at_hand.items():
            notion = notions.get(name)
            if notion is not None:
                with desk.at(("at_hand", name)):
                    amount = amount_at_hand(have, notion.unit)
                found[name] = found.get(name, 0.0) + amount
            elif name not in materials:
                desk.assume("at hand, but of no use for this job", of=name)
    return tuple(found.items())


def amount_at_hand(have: AtHand, unit: str) -> float:
    """Return how much there is of a notion, or how many sheets, in its own unit.

    Raises
    ------
    JobError
        It is written as a length, and counted in no unit of length.

    """
    if have.number is not None:
        return have.number
    if unit not in units.LENGTH_UNITS or any(one.width is not None for one in have.lengths):
        raise JobError(f"must be a number{f' of {unit}' if unit else ''}", hint="without quotes")
    return sum(one.value for one in have.lengths) / units.LENGTH_UNITS[unit]
