"""The remnants and hides of a stock file: those that a plan used go, what it leaves comes.

Each is known again by what it is in the file (`stock_id`), whatever a job calls it; one of the
job's own, or one that was drawn anew since, by its name or its size.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from tomlkit import TOMLDocument, aot

from nesting.job.desk import Desk
from nesting.job.materials import remnant_from
from nesting.job.source import Source
from nesting.job.tables.job_table import IncludeTable
from nesting.job.tables.leather_table import StockHideTable, stock_id
from nesting.job.tables.remnant_table import RemnantTable
from nesting.material.material import Hide, Remnant
from nesting.pattern.polygon import polygon
from nesting.planning.buying.remnant_file import named_leftovers, remnant_table
from nesting.planning.buying.used_up import used_up
from nesting.planning.plan import Plan

__all__ = ["move_remnants", "remnant_areas"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A table of the file: the `index`th of its kind; `area` of a remnant (mm²)."""

    kind: Literal["remnant", "hide"]
    index: int
    table: RemnantTable | StockHideTable
    area: float | None = None

    @property
    def key(self) -> tuple[str, int]:
        return self.kind, self.index


def remnant_areas(table: IncludeTable, source: Source) -> list[float]:
    """Return the area of each remnant of a stock file (mm²); refuses what can't be drawn."""
    desk = Desk(source=source)
    found = (
        remnant_from(one, ("remnant", i), desk, leather=True) for i, one in enumerate(table.remnant)
    )
    return [polygon(remnant.outline).area for remnant in found]


def move_remnants(
    document: TOMLDocument,
    table: IncludeTable,
    source: Source,
    plan: Plan,
    *,
    known: Collection[str] = (),
) -> Iterator[str]:
    """Take what was used off the document and add what the markers leave; yield what changes.

    `known`: names that other files have already.
    """
    rows = [_Row(kind="hide", index=i, table=one) for i, one in enumerate(table.hide)]
    rows += [
        _Row(kind="remnant", index=i, table=one, area=area)
        for i, (one, area) in enumerate(
            zip(table.remnant, remnant_areas(table, source), strict=True)
        )
    ]
    gone: dict[tuple[str, int], _Row] = {}
    for material, used in used_up(plan.entries):
        row = _row_of(used, [r for r in rows if r.key not in gone and r.table.material == material])
        if row is None:
            yield f"{used.name}: used, and not in this file"
        else:
            gone[row.key] = row
    for key in sorted(gone, reverse=True):
        row = gone[key]
        del document[row.kind][row.index]
        yield f"{row.table.name}: used"
    taken = {row.table.name for row in rows} | set(known)
    for entry, leftovers in named_leftovers(plan, known=taken):
        for left in leftovers:
            if "remnant" not in document:
                document.append("remnant", aot())
            document["remnant"].append(remnant_table(entry, left, plan.job.amounts))
            yield f"{left.name}: new, {plan.job.amounts.area(left.area)} of {entry.material.name}"


def _row_of(used: Remnant | Hide, rows: Sequence[_Row]) -> _Row | None:
    """Return what was used, if it is one of the rows, which are of its material."""
    size = polygon(used.outline).area
    ways: tuple[Callable[[_Row], bool], ...] = (
        lambda row: stock_id(row.table) == used.stock_id,
        lambda row: row.kind == "hide" and row.table.name == used.name,
        lambda row: _alike(row.area, size) and row.table.name == used.name,
        lambda row: _alike(row.area, size),
    )
    return next((row for known in ways for row in rows if known(row)), None)


def _alike(area: float | None, size: float) -> bool:
    return area is not None and abs(area - size) <= 1.0 + 1e-4 * size
