"""A lay cut in several loads of a bed that is shorter, or narrower, than the cloth.

The cloth is divided into a grid of loads, counted along it, column by column. Each load
is laid like a sheet of its own, so that no part lies across a border, and the marker is
put together again on the whole cloth. Loads of a print are whole repeats apart, so that
the print falls alike in all of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from nesting.errors import JobError
from nesting.job.job import Job
from nesting.marker.bound import least_and_how
from nesting.marker.figures import figures
from nesting.marker.lay import Lattice, Lay, Sheet, Sheets
from nesting.marker.marker import Marker
from nesting.pattern.shapes import rectangle
from nesting.planning.lay.bed import turn_on_bed
from nesting.planning.lay.too_big import too_big
from nesting.planning.records import BedLoad
from nesting.quantity import NO_LENGTH
from nesting.search.result import Result

__all__ = ["NARROWEST", "REGISTER", "Grid", "bed_loads", "grid_of", "in_loads", "joined"]

REGISTER = 10.0
"""Of the bed's length kept for the marks by which one load is set against the next (mm)."""

NARROWEST = 20.0
"""A row of loads narrower than this (mm) is left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Loads of `length` along the cloth, in rows that begin at `rows` and are so wide (mm)."""

    length: float
    rows: tuple[tuple[float, float], ...]
    columns: int

    def place(self, load: int) -> tuple[float, float, float]:
        """Return where a load begins along and across the cloth, and how wide it is (mm)."""
        column, row = divmod(load, len(self.rows))
        y, width = self.rows[row]
        return column * self.length, y, width


def grid_of(lay: Lay, job: Job) -> Grid | None:
    """Return the grid of loads of a lay on cloth; None if one load takes it, or there is no bed.

    Raises
    ------
    JobError
        The bed is smaller than the print's repeat, or narrower than folded cloth.

    """
    strip, bed = lay.stock, job.table.bed
    if bed is None or not strip.open_ended:
        return None
    length, width = bed[0] - REGISTER, bed[1]
    whole = (strip.most, strip.width)
    if turn_on_bed(whole, bed, may_turn=False) is not None:
        return None
    if strip.width > width and any(part.edge is not None for part in lay.parts):
        say = job.amounts
        raise JobError(
            f"folded, {lay.name} is {say.setting(strip.width)} wide, the bed takes"
            f" {say.room(width)}",
            file=job.file,
            field="table.bed",
            hint="lay it single, or on a wider bed",
        )
    length, width = _whole_repeats(lay, job, length, width)
    if strip.width <= bed[1]:
        width = strip.width
    count = max(1, math.ceil(strip.width / width - 1e-9))
    rows = tuple((i * width, min(width, strip.width - i * width)) for i in range(count))
    rows = tuple(row for row in rows if row[1] >= min(NARROWEST, strip.width))
    columns = max(1, len(lay.parts))  # each holds one at least
    if strip.longest is not None:
        columns = min(columns, max(1, math.floor(strip.longest / length)))
    grid = Grid(length=length, rows=rows, columns=columns)
    for big in too_big(in_loads(lay, grid), job.amounts):
        raise JobError(
            f"{big.name} of {lay.name} fits no load of the bed: {big.why}",
            file=job.file,
            field="table.bed",
            hint="cut it on a larger bed, or let it be put together: pieced in its [[cut]]",
        )
    return grid


def _whole_repeats(lay: Lay, job: Job, length: float, width: float) -> tuple[float, float]:
    """Return a load of whole repeats of the print that binds a lay."""
    lattice = next((part.binding.lattice for part in lay.parts if part.binding), Lattice())
    along, across = lattice.along, lattice.across
    if across is not None and lattice.drop:
        across *= 2.0
    for period, size in ((along, length), (across, width)):
        if period is not None and period > size:
            say = job.amounts
            raise JobError(
                f"the print of {lay.name} repeats after {say.setting(period)}, a load of the bed is"
                f" {say.room(size)}",
                file=job.file,
                field="table.bed",
                hint="cut it on a larger bed, or without centring and matching",
            )
    if along is not None:
        length = along * math.floor(length / along)
    if across is not None:
        width = across * math.floor(width / across)
    return length, width


def in_loads(lay: Lay, grid: Grid | None) -> Lay:
    """Return the lay with a sheet for each load of the bed, if it needs several."""
    if grid is None:
        return lay
    assert lay.stock.open_ended
    kept = [part.name for part in lay.parts if part.held is not None]
    if kept:
        raise JobError(
            f"{kept[0]} can't be held: {lay.name} is cut in loads of the bed, each laid by itself",
            hint="leave out its [[held]], or the bed",
        )
    sheets, margin = [], 0.5 * lay.spacing
    for load in range(grid.columns * len(grid.rows)):
        _, y, width = grid.place(load)
        # Half the spacing is kept from the borders between loads, not from the cloth's own edges.
        low = margin if y == 0.0 else 0.0
        high = margin if y + width >= lay.stock.width - 1e-6 else 0.0
        outline = rectangle(grid.length, width + low + high, at=(0.0, -low))
        sheets.append(Sheet(name=f"load {load + 1}", outline=outline, count=1))
    return replace(lay, stock=Sheets(sheets=tuple(sheets), margin=margin))


def joined(lay: Lay, grid: Grid | None, result: Result) -> Result:
    """Return what was found for the loads as a result for the whole cloth.

    The rest of the search's story is told in lengths of cloth: its bound is that of the
    cloth without borders.
    """
    if grid is None:
        return result
    marker = result.marker
    placements = []
    for placement in marker.placements:
        x, y, _ = grid.place(marker.sheets[placement.sheet])
        placements.append(replace(placement, x=placement.x + x, y=placement.y + y, sheet=0))
    whole = Marker(lay=lay, placements=tuple(placements))
    length = figures(whole).length
    least, how = (NO_LENGTH, "") if result.unplaced else least_and_how(lay)
    return replace(
        result,
        marker=whole,
        bound=least,
        bound_by=how,
        history=((result.first_seconds, length),),
    )


def bed_loads(marker: Marker, grid: Grid | None) -> tuple[BedLoad, ...]:
    """Return the loads that a marker in loads needs, in the order in which they are cut."""
    if grid is None:
        return ()
    found: dict[int, list[str]] = {}
    for placement in marker.placements:
        load = marker.sheets[placement.sheet]
        found.setdefault(load, []).append(marker.lay.parts[placement.part].name)
    loads = []
    for load in sorted(found):
        x, y, width = grid.place(load)
        names = tuple(found[load])
        loads.append(BedLoad(x=x, y=y, length=grid.length, width=width, parts=names))
    return tuple(loads)
