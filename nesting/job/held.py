"""The parts that a job file holds where they were put."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from nesting.job.desk import Desk
from nesting.job.job import Bag, HeldPart
from nesting.job.tables.job_table import HeldTable
from nesting.material.material import Material
from nesting.names import listed
from nesting.pattern.piece import Hand

__all__ = ["held_parts"]


def held_parts(
    tables: Sequence[HeldTable],
    desk: Desk,
    *,
    bags: Sequence[Bag],
    materials: Mapping[str, Material],
) -> tuple[HeldPart, ...]:
    """Return what the [[held]] tables say, each of a piece that is cut from its material."""
    return tuple(
        _held(table, i, desk, bags=bags, materials=materials) for i, table in enumerate(tables)
    )


def _held(
    table: HeldTable,
    i: int,
    desk: Desk,
    *,
    bags: Sequence[Bag],
    materials: Mapping[str, Material],
) -> HeldPart:
    bag = _bag(table, i, desk, bags)
    if table.material not in materials:
        raise desk.unknown("material", table.material, ("held", i, "material"), known=materials)
    cut = [one for one in bag.cuts if one.material == table.material]
    pieces = dict.fromkeys(one.piece for one in cut)
    if table.piece not in pieces:
        raise desk.error(
            f'no "{table.piece}" is cut from {table.material}',
            ("held", i, "piece"),
            hint=f"there are: {listed(pieces)}" if pieces else None,
        )
    most = max(one.copies for one in cut if one.piece == table.piece)
    for key, number, there in (("copy", table.copy_, most), ("number", table.number, bag.count)):
        if number > there:
            what = f"copy of {table.piece}" if key == "copy" else f"bag {bag.name}"
            raise desk.error(f"there is no {what} {number}, at most {there}", ("held", i, key))
    return HeldPart(
        material=table.material,
        piece=table.piece,
        at=table.at,
        turn=table.turn,
        mirrored=table.mirrored,
        copy=table.copy_,
        hand=None if table.hand is None else Hand(table.hand),
        variant=table.variant,
        bag=bag.name,
        number=table.number,
        on=table.on,
        sheet=table.sheet,
        line=desk.source.line(("held", i)),
    )


def _bag(table: HeldTable, i: int, desk: Desk, bags: Sequence[Bag]) -> Bag:
    if table.bag is None and len(bags) == 1:
        return bags[0]
    for bag in bags:
        if bag.name == table.bag:
            return bag
    if table.bag is None:
        names = listed(bag.name for bag in bags)
        raise desk.error(
            "it is not said of which bag it is", ("held", i), hint=f"give bag: {names}"
        )
    raise desk.unknown("bag", table.bag, ("held", i, "bag"), known=[bag.name for bag in bags])
