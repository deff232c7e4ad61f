"""Job files and those they include, opened and read into tables, in the size that is made."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path as FilePath

from nesting.amounts import Amounts
from nesting.job.desk import Assumptions, Desk, Resolver
from nesting.job.locate import Place
from nesting.job.source import Source, read_text
from nesting.job.tables.job_table import (
    HeadTable,
    IncludeTable,
    JobTable,
    PiecesTable,
    SizesTable,
)
from nesting.job.tables.piece_table import PieceTable, given
from nesting.names import listed
from nesting.units import LENGTH_UNITS

__all__ = [
    "in_its_size",
    "include_table",
    "included",
    "job_table",
    "of_size",
    "open_file",
    "pieces_table",
]

_WHERE = ("from_", "piece", "size_name")
"""What says where a piece stands in a pattern file, and goes with every size of it."""


def open_file(
    path: FilePath,
    *,
    resolver: Resolver | None,
    assumptions: Assumptions,
    spoken: Amounts | None = None,
) -> Desk:
    """Return a file ready to be read; `spoken`: how the job that it belongs to says amounts."""
    source = Source(read_text(path), file=str(path))
    return Desk(
        source=source,
        folder=path.parent,
        resolver=resolver,
        assumptions=assumptions,
        spoken=spoken,
    )


def job_table(desk: Desk) -> JobTable:
    """Return a job file's tables, lengths in mm."""
    head = desk.source.data.get("job")
    return desk.source.checked(JobTable, unit=_unit(head if isinstance(head, dict) else {}))


def pieces_table(desk: Desk) -> PiecesTable:
    """Return a job file's pieces, lengths in mm, whatever else it says."""
    head = desk.source.data.get("job")
    return desk.source.checked(PiecesTable, unit=_unit(head if isinstance(head, dict) else {}))


def _unit(table: dict[str, object]) -> str:
    """Return the unit of plain numbers; a wrong one is told by the table's own check."""
    unit = table.get("unit", "mm")
    return unit if isinstance(unit, str) and unit in LENGTH_UNITS else "mm"


def included(
    table: JobTable | PiecesTable, desk: Desk, *, stock: FilePath | None = None
) -> list[tuple[IncludeTable, Desk]]:
    """Return the files that a job includes; `stock` is one more, unless it is one of them."""
    found, known = [], set()
    for i, name in enumerate(table.include):
        path = desk.path(name, ("include", i))
        known.add(path.resolve())
        with desk.at(("include", i)):
            found.append(_opened(path, desk))
    if stock is not None and stock.resolve() not in known:
        found.append(_opened(stock, desk))
    return found


def _opened(path: FilePath, desk: Desk) -> tuple[IncludeTable, Desk]:
    other = open_file(
        path, resolver=desk.resolver, assumptions=desk.assumptions, spoken=desk.amounts
    )
    return include_table(other.source), replace(other, sizes=desk.sizes, size=desk.size)


def include_table(source: Source) -> IncludeTable:
    """Return an included file's tables, lengths in mm."""
    return source.checked(IncludeTable, unit=_unit(source.data))


def in_its_size(head: HeadTable | SizesTable, desk: Desk) -> Desk:
    """Return a job's desk that reads the size that is made."""
    place = ("job", "sizes")
    if head.size is not None and head.size not in head.sizes:
        if not head.sizes:
            hint = f'give sizes = ["{head.size}", …]'
            raise desk.error("the job has no sizes", ("job", "size"), hint=hint)
        raise desk.unknown("size", head.size, ("job", "size"), known=head.sizes)
    if len({size.casefold() for size in head.sizes}) < len(head.sizes):
        raise desk.error("two sizes have one name", place, hint="give each once")
    size = head.size or (head.sizes[0] if head.sizes else "")
    return replace(desk, sizes=tuple(head.sizes), size=size)


def of_size(table: PieceTable, place: Place, desk: Desk) -> PieceTable:
    """Return a piece's table as it is in the size that is read."""
    _refuse(table, place, desk)
    changes: dict[str, object] = {}
    if table.sized:
        changes["size_name"] = desk.size
    if (own := table.in_size.get(desk.size)) is not None:
        said = {key: getattr(own, key) for key in own.model_fields_set}
        if set(said) - set(_WHERE):
            # Another shape takes the place of the first, however that was given.
            ways = (*given(table), *(k for k in ("strap", "binding") if getattr(table, k)))
            changes |= dict.fromkeys(ways)
        changes |= said
    return table.model_copy(update=changes) if changes else table


def _refuse(table: PieceTable, place: Place, desk: Desk) -> None:
    """Refuse what is said of sizes that there are not, or that can't be."""
    if not desk.sizes:
        for key, there in (("sized", table.sized), ("in_size", table.in_size)):
            if there:
                raise desk.error(
                    "the job has no sizes", (*place, key), hint='give [job] sizes = ["S", "M"]'
                )
    for name, own in table.in_size.items():
        if name not in desk.sizes:
            raise desk.unknown("size", name, (*place, "in_size", name), known=desk.sizes)
        if table.from_ is not None and own.model_fields_set - set(_WHERE):
            raise desk.error(
                "a piece from a pattern file has its shape from there in every size",
                (*place, "in_size", name),
                hint=f"say only {listed(['piece', 'size'])} of it",
            )
        if table.from_ is None and own.model_fields_set & set(_WHERE):
            raise desk.error(
                "the piece is not from a pattern file",
                (*place, "in_size", name),
                hint="give the shape that it has in this size",
            )
    if table.sized and (table.from_ is None or table.size_name is not None):
        wrong = "is not from a pattern file" if table.from_ is None else "has a size of its own"
        hint = "say in in_size what differs" if table.from_ is None else "leave out one of them"
        raise desk.error(f"the piece {wrong}", (*place, "sized"), hint=hint)
