"""Job files and the files they include, opened and read into tables."""

from __future__ import annotations

from pathlib import Path as FilePath

from nesting.amounts import Amounts
from nesting.job.desk import Assumptions, Desk, Resolver
from nesting.job.job_table import IncludeTable, JobTable
from nesting.job.source import Source, read_text
from nesting.units import LENGTH_UNITS

__all__ = ["included", "job_table", "open_file"]


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


def _unit(table: dict[str, object]) -> str:
    """Return the unit of plain numbers; a wrong one is told by the table's own check."""
    unit = table.get("unit", "mm")
    return unit if isinstance(unit, str) and unit in LENGTH_UNITS else "mm"


def included(table: JobTable, desk: Desk) -> list[tuple[IncludeTable, Desk]]:
    """Return the files that a job includes."""
    found = []
    for i, name in enumerate(table.include):
        path = desk.path(name, ("include", i))
        with desk.at(("include", i)):
            other = open_file(
                path,
                resolver=desk.resolver,
                assumptions=desk.assumptions,
                spoken=desk.amounts,
            )
            found.append((other.source.checked(IncludeTable, unit=_unit(other.source.data)), other))
    return found
