"""Sheets and hides that are larger than the bed: cut in several loads, no part across a border.

A sheet is divided into a grid of loads, and every region of it in each of them is one that
a part may lie in; so the search and the judge know all that they have to of a bed.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import replace

import shapely

from nesting.errors import JobError
from nesting.job.job import Job
from nesting.marker.lay import Lay, Region, Sheet
from nesting.marker.marker import Marker
from nesting.pattern.measure import bounds, counter_clockwise
from nesting.pattern.path import Path
from nesting.pattern.polygon import outlines_of, piece_polygon, polygon
from nesting.pattern.shapes import rectangle
from nesting.planning.lay.bed import turn_on_bed
from nesting.planning.lay.loads import NARROWEST, REGISTER
from nesting.planning.lay.too_big import TooBig, too_big
from nesting.planning.records import BedLoad

__all__ = ["on_bed", "sheet_loads"]

_ON_BED = "a load of the bed"
"""What the region of parts that may lie anywhere else is called; `Region.load` says what it is."""

_HAIR = 1e-6

Box = tuple[float, float, float, float]
"""Least x and y, largest x and y (mm)."""


def on_bed(lay: Lay, job: Job) -> Lay:
    """Return the lay with its sheets divided into loads of the bed, where they are larger.

    The bed lies along the sheets or across them: whichever takes fewer loads and all parts.

    Raises
    ------
    JobError
        A part fits no load.

    """
    bed, stock = job.table.bed, lay.stock
    if bed is None or stock.open_ended:
        return lay
    ways = [
        [_grid(sheet, bed, turned=turned) for sheet in stock.sheets] for turned in (False, True)
    ]
    ways.sort(key=lambda grids: sum(map(len, grids)))
    if all(len(grid) == 1 for grid in ways[0]):
        return lay
    parts = tuple(
        replace(part, region=_ON_BED) if part.region is None else part for part in lay.parts
    )
    trouble: TooBig | None = None
    for grids in ways:
        sheets = tuple(
            replace(sheet, regions=tuple(_divided(sheet, grid)))
            for sheet, grid in zip(stock.sheets, grids, strict=True)
        )
        divided = replace(lay, parts=parts, stock=replace(stock, sheets=sheets))
        found = too_big(divided, job.amounts)
        if not found:
            return divided
        trouble = trouble or found[0]
    assert trouble is not None
    raise JobError(
        f"{trouble.name} of {lay.name} fits no load of the bed: {trouble.why}",
        file=job.file,
        field="table.bed",
        hint="cut it on a larger bed, or, if it is no leather, pieced in its [[cut]]",
    )


def sheet_loads(marker: Marker) -> tuple[BedLoad, ...]:
    """Return the loads that a marker on sheets or hides needs, sheet by sheet; none if they fit."""
    found: list[BedLoad] = []
    for number, sheet in enumerate(marker.used):
        grid = [bounds(region.outlines[0]) for region in sheet.regions if region.load]
        held: dict[Box, list[str]] = {box: [] for box in grid}
        for placement in marker.placements:
            if placement.sheet == number and grid:
                part = marker.lay.parts[placement.part]
                middle = piece_polygon(part.piece, by=placement.affine).envelope.centroid
                box = min(grid, key=lambda box: shapely.box(*box).distance(middle))
                held[box].append(part.name)
        found += [
            BedLoad(x=x0, y=y0, length=x1 - x0, width=y1 - y0, parts=tuple(names), sheet=number)
            for (x0, y0, x1, y1), names in held.items()
            if names
        ]
    return tuple(found)


def _grid(sheet: Sheet, bed: tuple[float, float], *, turned: bool) -> tuple[Box, ...]:
    """Return the loads of a sheet, column by column; register marks go along the bed."""
    x0, y0, x1, y1 = bounds(sheet.outline)
    length, width = bed[::-1] if turned else bed
    if turn_on_bed((x1 - x0, y1 - y0), bed, may_turn=True) is not None:
        return ((x0, y0, x1, y1),)
    columns = _steps(x0, x1, length, kept=0.0 if turned else REGISTER)
    rows = _steps(y0, y1, width, kept=REGISTER if turned else 0.0)
    return tuple((a, c, b, d) for (a, b), (c, d) in itertools.product(columns, rows))


def _steps(low: float, high: float, size: float, *, kept: float) -> list[tuple[float, float]]:
    """Divide a range into steps of at most `size`, less what is kept for register marks (mm)."""
    if high - low <= size + _HAIR:
        return [(low, high)]
    step = size - kept
    count = math.ceil((high - low) / step - 1e-9)
    found = [(low + n * step, min(low + (n + 1) * step, high)) for n in range(count)]
    return [one for one in found if one[1] - one[0] >= NARROWEST] or found[:1]


def _divided(sheet: Sheet, grid: tuple[Box, ...]) -> Iterator[Region]:
    """Yield each region of a sheet once for each load, and the loads as a region of their own."""
    for x0, y0, x1, y1 in grid:
        outline = rectangle(x1 - x0, y1 - y0, at=(x0, y0))
        yield Region(name=_ON_BED, outlines=(outline,), load=True)
    for region in sheet.regions:
        rings = [(polygon(path), path) for path in region.outlines]
        body = shapely.union_all([area for area, path in rings if path == counter_clockwise(path)])
        holes = shapely.union_all([area for area, path in rings if path != counter_clockwise(path)])
        for box in grid:
            inside = shapely.intersection(shapely.difference(body, holes), shapely.box(*box))
            outlines = tuple(_paths(inside))
            if outlines:
                yield replace(region, outlines=outlines)


def _paths(area: shapely.Geometry) -> Iterator[Path]:
    for bit in getattr(area, "geoms", [area]):
        if isinstance(bit, shapely.Polygon) and bit.area > 1.0:
            yield from outlines_of(bit)
