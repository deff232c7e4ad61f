"""Cloth's remnants used first: what finds room on them need not come from the roll."""

from __future__ import annotations

from dataclasses import replace

from nesting.job.job import Job
from nesting.marker.bound import least_and_how
from nesting.marker.lay import Lay, Part
from nesting.material.material import Cloth, SheetGoods
from nesting.planning.lay.ground import on_known_grain, stock_of
from nesting.planning.lay.sheet_loads import on_bed
from nesting.search.result import Result, Stopped

__all__ = ["offcuts_of", "on_offcuts", "parted"]


def offcuts_of(cloth: Cloth) -> SheetGoods:
    """Return a cloth's remnants as goods of their own: none can be bought."""
    return SheetGoods(
        name=cloth.name,
        nap=cloth.nap,
        spacing=cloth.spacing,
        turn_slack=cloth.turn_slack,
        faces_alike=cloth.faces_alike,
        wrong_side_up=cloth.wrong_side_up,
        substance=cloth.substance,
        thickness=cloth.thickness,
        length=0.0,
        width=0.0,
        count=0,
        remnants=cloth.remnants,
    )


def on_offcuts(lay: Lay, cloth: Cloth, job: Job) -> Lay | None:
    """Return the lay of what may lie on a cloth's remnants; None if it has none, or nothing may.

    How a print falls on a remnant is not known: what is centred or matched stays away, and
    its mates with it. So does what is held on the roll.
    """
    if not cloth.remnants:
        return None
    barred = {part.mates for part in lay.parts if part.mates is not None and _bound(part)}
    free = tuple(p for p in lay.parts if p.held is None and not _bound(p) and p.mates not in barred)
    if not free:
        return None
    goods = offcuts_of(cloth)
    stock = stock_of(goods, width=None, regions=())
    found = replace(lay, name=f"{lay.name} remnants", stock=stock)
    return on_bed(replace(found, parts=on_known_grain(free, goods)), job)


def _bound(part: Part) -> bool:
    return part.binding is not None or part.turn_group is not None


def parted(lay: Lay, result: Result) -> tuple[Result | None, Lay | None]:
    """Return what was laid on remnants, as the whole of its lay, and the lay of the rest.

    None for either if it is empty.
    """
    marker = result.marker
    laid = sorted({placement.part for placement in marker.placements})
    if not laid:
        return None, lay
    number = {part: n for n, part in enumerate(laid)}
    kept = replace(marker.lay, parts=tuple(marker.lay.parts[part] for part in laid))
    placements = tuple(replace(p, part=number[p.part]) for p in marker.placements)
    least, how = least_and_how(kept)
    found = replace(
        result,
        marker=replace(marker, lay=kept, placements=placements),
        unplaced=(),
        bound=least,
        bound_by=how,
        stopped=Stopped.STALLED
        if result.stopped in (Stopped.INFEASIBLE, Stopped.NOT_FOUND)
        else result.stopped,
    )
    names = {part.name for part in kept.parts}
    rest = tuple(part for part in lay.parts if part.name not in names)
    return found, replace(lay, parts=rest) if rest else None
