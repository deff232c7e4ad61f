"""Job files and the files they include, opened and read into tables."""

from __future__ import annotations

from pathlib import Path as FilePath

from nesting.amounts import Amounts
from nesting.job.desk import Assumptions, Desk, Resolver
from nesting.job.source import Source, read_text
from nesting.job.tables.job_table import IncludeTable, JobTable, PiecesTable
from nesting.units import LENGTH_UNITS

__all__ = ["include_table", "included", "job_table", "open_file", "pieces_table"]


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
    return include_table(other.source), other


def include_table(source: Source) -> IncludeTable:
    """Return an included file's tables, lengths in mm."""
    return source.checked(IncludeTable, unit=_unit(source.data))
