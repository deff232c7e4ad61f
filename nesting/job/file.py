"""The job file: one TOML text in, one checked `Job` out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path as FilePath
from typing import Any

from nesting.errors import NestingError
from nesting.job.all_goods import materials_of, stocked
from nesting.job.at_hand import at_hand_notions
from nesting.job.bags import bags_of
from nesting.job.by_hand.drawn import Drawn
from nesting.job.desk import Desk, Resolver
from nesting.job.held import held_parts
from nesting.job.job import Bag, CuttingTable, Job, Spreading
from nesting.job.opening import in_its_size, included, job_table, open_file, pieces_table
from nesting.job.pieces import drawn_from
from nesting.job.source import Source
from nesting.job.tables.job_table import JobTable, TableTable
from nesting.limits import MOST_PARTS

__all__ = ["drawn_pieces", "job_schema", "parse_job", "read_job"]


def read_job(
    path: str | FilePath, *, resolver: Resolver | None = None, stock: FilePath | None = None
) -> Job:
    """Read and check a job file.

    Parameters
    ----------
    path
        The TOML file. Files that it names are relative to its folder.
    resolver
        Finds pieces in pattern files for ``from = "…"``; without one those are refused.
    stock
        A file of what is at hand: the same as one that the job includes.

    Raises
    ------
    JobError
        If the file or anything in it can't be used: what, where, what to do.

    """
    path = FilePath(path)
    return _job(open_file(path, resolver=resolver, assumptions={}), file=str(path), stock=stock)


def parse_job(text: str, *, file: str | None = None, resolver: Resolver | None = None) -> Job:
    """Read and check the text of a job file; `file` is its name, if it has one."""
    source = Source(text.removeprefix("\ufeff").replace("\r\n", "\n"), file=file)
    folder = None if file is None else FilePath(file).parent
    return _job(Desk(source=source, folder=folder, resolver=resolver), file=file)


def drawn_pieces(
    path: str | FilePath, *, resolver: Resolver | None = None
) -> dict[str, Drawn | NestingError]:
    """Return the pieces of a job file as they were drawn, or why one can't be used, by name.

    What else the file says need not be complete yet, nor right.

    Raises
    ------
    JobError
        If the file can't be read, or what a piece says is of the wrong kind.

    """
    desk = open_file(FilePath(path), resolver=resolver, assumptions={})
    table = pieces_table(desk)
    desk = in_its_size(table.job, desk)
    placed = [(piece, ("piece", i), desk) for i, piece in enumerate(table.piece)]
    for more, other in included(table, desk):
        placed += [(piece, ("piece", i), other) for i, piece in enumerate(more.piece)]
    found: dict[str, Drawn | NestingError] = {}
    for piece, place, where in placed:
        try:
            found[piece.name] = drawn_from(piece, place, where)
        except NestingError as error:
            found[piece.name] = error
    return found


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of the job file, for editors."""
    schema = JobTable.model_json_schema(by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _job(desk: Desk, *, file: str | None, stock: FilePath | None = None) -> Job:
    table = job_table(desk)
    desk = in_its_size(table.job, desk)
    if desk.size and table.job.size is None:
        desk.assume(f"size {desk.size}, the first one, is made")
    materials = materials_of(table, desk, stocked=False)
    if not materials and not any(bag.file for bag in table.bag):
        raise desk.error("no material is defined", (), hint="add a [[cloth]], [[sheet]]…")
    bags, places = bags_of(table, desk, materials=materials)
    files = included(table, desk, stock=stock)
    materials = stocked(materials, files, desk)
    _refuse_too_many(bags, desk)
    used = {cut.material for bag in bags for cut in bag.cuts}
    for name, goods in materials.items():
        if name not in used:
            desk.assume("nothing is cut from it", of=name)
        elif goods.is_leather and not goods.hides:
            own = [("leather", i) for i, one in enumerate(table.leather) if one.name == name]
            raise desk.error(
                f"there is no hide of {name}",
                own[0] if own else (),
                hint="draw its [[leather.hide]]s, or [[hide]]s in a stock file",
            )
    graded = {
        size: bags_of(table, replace(desk, size=size, assumptions={}), materials=materials)[0]
        for size in desk.sizes
    }
    job = Job(
        name=table.job.name,
        bags=bags,
        materials=tuple(materials.values()),
        currency=table.job.currency,
        file=file,
        unit=_unit(table, desk),
        places=places,
        at_hand=at_hand_notions(files, materials=materials, bags=bags),
        table=CuttingTable() if table.table is None else _cutting_table(table.table),
        held=held_parts(table.held, desk, bags=bags, materials=materials),
        size=desk.size,
        graded=tuple(graded.items()),
    )
    return replace(job, assumptions=desk.assumed(), weighty=desk.weighty)


def _unit(table: JobTable, desk: Desk) -> str:
    """Return the unit that is said, or the one in which most lengths are written."""
    if "unit" in table.job.model_fields_set or not desk.amounts.inches:
        return table.job.unit
    desk.assume(
        'amounts are told in inches and yards, as most of its lengths are; say unit = "in" if'
        " plain numbers are inches, too: now they are mm",
        first=True,
    )
    return desk.amounts.unit


def _cutting_table(table: TableTable) -> CuttingTable:
    return CuttingTable(
        length=table.length,
        bed=table.bed,
        plies=table.plies,
        height=table.height,
        bags=table.bags,
        over=table.over,
        spreading=Spreading(table.spreading),
        spread_cost=table.spread_cost,
        marker_cost=table.marker_cost,
        cutting_cost=table.cutting_cost,
        splice=table.splice,
    )


def _refuse_too_many(bags: Sequence[Bag], desk: Desk) -> None:
    asked = sum(bag.count * cut.copies * len(cut.hands) for bag in bags for cut in bag.cuts)
    if asked > MOST_PARTS:
        raise desk.error(
            f"the job asks for {asked} parts, more than {MOST_PARTS}",
            (),
            hint="check copies and counts, or split the job",
        )
