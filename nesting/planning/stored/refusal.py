"""What has the right types in a stored plan, but can't be used: whoever edited it is told."""

from __future__ import annotations

from collections.abc import Iterable

from nesting.errors import PlanError
from nesting.job.job import Bag, Job
from nesting.limits import FARTHEST_LAID, MOST_PARTS
from nesting.marker.marker import Marker
from nesting.planning.offcuts import offcuts_of
from nesting.planning.plan import Entry, Plan
from nesting.planning.stored.outlines import (
    AGAIN,
    goods_outlines,
    refuse_bad_outline,
    refuse_bad_piece,
    refuse_long,
)
from nesting.quantity import Unit

__all__ = ["refuse_contradictions"]


def refuse_contradictions(plan: Plan) -> None:
    """Refuse indices and names of nothing, open outlines, and what lies beyond reason.

    Raises
    ------
    PlanError
        Says which field.

    """
    cloths = (cloth for cloth in plan.job.cloths if cloth.remnants)
    known = (*plan.job.materials, *map(offcuts_of, cloths))
    for i, entry in enumerate(plan.entries):
        where = f"plan.entries.{i}"
        _refuse_bad_marker(entry.marker, f"{where}.marker")
        if entry.material not in known:
            raise PlanError(
                f"material {entry.material.name!r} is not the job's", field=f"{where}.material"
            )
        _refuse_bad_entry(entry, where)
    _refuse_bad_job(plan.job)


def _refuse_bad_job(job: Job) -> None:
    materials = [material.name for material in job.materials]
    _refuse_twice(materials, "plan.job.materials")
    _refuse_twice([bag.name for bag in job.bags], "plan.job.bags")
    for i, material in enumerate(job.materials):
        for field, path in goods_outlines(material, f"plan.job.materials.{i}"):
            refuse_bad_outline(path, field)
    for i, bag in enumerate(job.bags):
        _refuse_bad_bag(bag, materials, f"plan.job.bags.{i}")
    parts = sum(
        bag.count * sum(cut.copies * len(cut.hands) for cut in bag.cuts) for bag in job.bags
    )
    if parts > MOST_PARTS:
        raise PlanError(f"has {parts:,} parts, at most {MOST_PARTS:,}", field="plan.job")


def _refuse_bad_bag(bag: Bag, materials: list[str], where: str) -> None:
    pieces = [piece.name for piece in bag.pieces]
    _refuse_twice(pieces, f"{where}.pieces")
    _refuse_below(1, bag.count, f"{where}.count")
    for i, piece in enumerate(bag.pieces):
        refuse_bad_piece(piece, f"{where}.pieces.{i}")
    for i, cut in enumerate(bag.cuts):
        for name, names, key in (
            (cut.piece, pieces, "piece"),
            (cut.material, materials, "material"),
        ):
            if name not in names:
                raise PlanError(f"{name!r} is not the job's", field=f"{where}.cuts.{i}.{key}")
        _refuse_below(1, cut.copies, f"{where}.cuts.{i}.copies")


def _refuse_bad_entry(entry: Entry, where: str) -> None:
    by_length = entry.material.taken_in is Unit.LENGTH and entry.width is not None
    if entry.marker.lay.stock.open_ended != by_length:
        raise PlanError("is not what this material is laid on", field=f"{where}.marker.lay.stock")
    for i, plies in enumerate(entry.spreads):
        _refuse_below(1, plies, f"{where}.spreads.{i}")
    for i, laid in enumerate(entry.laid_from):
        field = f"{where}.laid_from.{i}"
        if not 0 <= laid.spread < len(entry.spreads):
            raise PlanError(f"there is no spread {laid.spread}", field=f"{field}.spread")
        if not laid.rolls or not all(0 <= roll <= len(entry.material.rolls) for roll in laid.rolls):
            raise PlanError("names a roll that is not there", field=f"{field}.rolls")
    for i, load in enumerate(entry.loads):
        if not 0 <= load.sheet < entry.marker.grounds:
            raise PlanError(f"sheet {load.sheet} is not used", field=f"{where}.loads.{i}.sheet")


def _refuse_bad_marker(marker: Marker, where: str) -> None:
    stock = marker.lay.stock
    if any(not 0 <= kind < len(stock.sheets) for kind in marker.sheets):
        raise PlanError("names a sheet that the stock has not", field=f"{where}.sheets")
    _refuse_twice([part.name for part in marker.lay.parts], f"{where}.lay.parts")
    for i, placement in enumerate(marker.placements):
        field = f"{where}.placements.{i}"
        if not 0 <= placement.part < len(marker.lay.parts):
            raise PlanError(f"part {placement.part} is not in the lay", field=f"{field}.part")
        if not 0 <= placement.sheet < marker.grounds:
            raise PlanError(f"sheet {placement.sheet} is not used", field=f"{field}.sheet")
        if not max(abs(placement.x), abs(placement.y)) < FARTHEST_LAID:
            raise PlanError("the part lies more than 10 km away", field=field, hint=AGAIN)
    for i, part in enumerate(marker.lay.parts):
        refuse_bad_piece(part.piece, f"{where}.lay.parts.{i}.piece")
    refuse_long(marker.lay.spacing, f"{where}.lay.spacing")
    if not stock.open_ended:
        refuse_long(stock.margin, f"{where}.lay.stock.margin")
        for i, sheet in enumerate(stock.sheets):
            regions = [path for region in sheet.regions for path in region.outlines]
            for path in (sheet.outline, *sheet.holes, *regions):
                refuse_bad_outline(path, f"{where}.lay.stock.sheets.{i}")
        return
    if not stock.width > 0.0:
        raise PlanError("has to be above 0", field=f"{where}.lay.stock.width")
    refuse_long(stock.width, f"{where}.lay.stock.width")


def _refuse_twice(names: Iterable[str], field: str) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise PlanError(f"{name!r} is there twice", field=field, hint=AGAIN)
        seen.add(name)


def _refuse_below(least: int, value: int, field: str) -> None:
    if value < least:
        raise PlanError(f"has to be {least} or more", field=field, hint=AGAIN)
