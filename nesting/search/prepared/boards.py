"""What parts may lie on, as the search sees it: boards with areas, each a box less blocks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from nesting.marker.lay import Lay, Region, Sheet, Sheets, Turns
from nesting.pattern.measure import area as path_area
from nesting.search.prepared.convex import convex_parts
from nesting.search.prepared.easing import simplified
from nesting.search.prepared.growing import grown
from nesting.search.prepared.polygons import Floats, flat, polygons
from nesting.tolerance import TOLERANCE

__all__ = ["Area", "Board", "areas_of", "boards_of"]

_MANY = 24
"""A complement of more corners than this is simplified…"""

_COARSE = 0.5
"""…by at most so much (mm): the outline of a hide has hundreds."""

_RIGID = 1.0
"""Where a part may turn by less (degrees) it has hardly any freedom."""

_ALIKE = 0.2
"""Areas are about as large within this share of the largest."""


@dataclass(frozen=True, slots=True, eq=False)
class Area:
    """Where a part may lie on a board: a box (x0, y0, x1, y1) less convex blocks."""

    box: tuple[float, float, float, float]
    blocks: tuple[Floats, ...]
    free: float
    turns: Turns | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Board:
    """A sheet in the search's world: its stock index, where its x = 0 lies, its areas by name.

    `number` counts the sheets. Where a sheet has several regions of one name, between which
    a part may choose, further boards in the same place (and of the same number) have the
    others. `low`: where its used length is counted from. The name None is the whole board.
    """

    index: int
    number: int
    x: float
    low: float
    high: float
    areas: dict[str | None, Area]


def _area(usable: BaseGeometry, turns: Turns | None) -> Area | None:
    if usable.is_empty or usable.area <= 0.0:
        return None
    x0, y0, x1, y1 = usable.bounds
    outside = box(x0, y0, x1, y1).difference(usable)
    # slivers of rounding are no obstacle, and would cost time
    least = 1e-9 * (x1 - x0) * (y1 - y0)
    height = min(_COARSE, 5e-4 * max(x1 - x0, y1 - y0))
    pieces = [
        simplified(p, share=0.01, height=height) if len(p.exterior.coords) > _MANY else p
        for p in polygons(outside)
        if p.area > least * 1e-3
    ]
    blocks = convex_parts(shapely.union_all(pieces)) if pieces else ()
    return Area((x0, y0, x1, y1), blocks, float(usable.area), turns)


def _shrunk(sheet: Sheet, margin: float) -> BaseGeometry:
    """Return a sheet's usable region, a little small where it has curves."""
    curved = sheet.outline.curved
    chord = TOLERANCE.search_chord if curved else TOLERANCE.chord
    whole = flat(sheet.outline, (), chord=chord)
    if margin + (chord if curved else 0.0) > 0.0:
        whole = _inset(whole, margin + (chord if curved else 0.0))
    for hole in sheet.holes:
        chord = TOLERANCE.search_chord if hole.curved else 0.0
        body = flat(hole, (), chord=chord or TOLERANCE.chord)
        body = simplified(grown(body, margin + chord), share=0.02, height=0.5)
        whole = whole.difference(body)
    return whole


def _inset(shape: BaseGeometry, by: float) -> BaseGeometry:
    """Return the points at least `by` inside: the rest of the plane grown, taken away."""
    x0, y0, x1, y1 = shape.bounds
    pad = 2.0 * by + 0.1 * max(x1 - x0, y1 - y0)
    around = box(x0 - pad, y0 - pad, x1 + pad, y1 + pad).difference(shape)
    return shape.difference(grown(around, by))


@lru_cache(maxsize=64)
def areas_of(sheet: Sheet, *, margin: float) -> dict[str | None, tuple[Area, ...]]:
    """Return a sheet's areas by name: the whole, and each region within it, the larger first.

    Those about as large stay in their order, so that a sheet is filled from one end.
    """
    usable = _shrunk(sheet, margin)
    areas: dict[str | None, tuple[Area, ...]] = {}
    whole = _area(usable, None)
    if whole is not None:
        areas[None] = (whole,)
    for region in sheet.regions:
        area = _area(_body(region).intersection(usable), region.turns)
        if area is not None:
            areas[region.name] = (*areas.get(region.name, ()), area)
    return {name: _in_order(found) for name, found in areas.items()}


def _body(region: Region) -> BaseGeometry:
    """Return a region's area, a little small where it has curves.

    Outlines that share a curve are put together before that, so that a part may cross it:
    their chords are apart by twice what a chord is off at most.
    """
    curved = any(path.curved for path in region.outlines)
    chord = TOLERANCE.search_chord if curved else TOLERANCE.chord
    inside: list[BaseGeometry] = []
    holes: list[BaseGeometry] = []
    for path in region.outlines:
        shape = flat(path, (), chord=chord)
        hole = _clockwise(path.points(1.0))
        (holes if hole else inside).append(grown(shape, chord) if curved else shape)
    body = shapely.union_all(inside)
    if curved:
        body = _inset(body, 2.0 * chord)
    return body.difference(shapely.union_all(holes)) if holes else body


def _in_order(areas: tuple[Area, ...]) -> tuple[Area, ...]:
    step = _ALIKE * max(area.free for area in areas)

    def rank(area: Area) -> tuple[bool, int]:
        """Areas where a part keeps one turn to reach across a border come last."""
        rigid = area.turns is not None and area.turns.slack < _RIGID
        return rigid, -round(area.free / step)

    return tuple(sorted(areas, key=rank))


def _choices(
    areas: dict[str | None, tuple[Area, ...]], least: dict[str | None, float]
) -> Iterator[dict[str | None, Area]]:
    """Yield the largest areas, and then others of the same names that may hold some part.

    `least`: the smallest part of each name (mm²).
    """
    yield {name: found[0] for name, found in areas.items()}
    for rank in range(1, max(map(len, areas.values()), default=0)):
        others = {name: found[rank] for name, found in areas.items() if len(found) > rank}
        held = {n: area for n, area in others.items() if area.free >= least.get(n, math.inf)}
        if held:
            yield held


def _clockwise(ring: Iterable[tuple[float, float]]) -> bool:
    xy = np.array(list(ring))
    x, y = xy[:, 0], xy[:, 1]
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) < 0


def boards_of(lay: Lay, *, most: int, gap: float, length: float) -> tuple[Board, ...]:
    """Return the first `most` boards of a lay's stock, side by side along x.

    `gap`: least distance between boards; `length`: of an open strip (mm).
    """
    if lay.stock.open_ended:
        end = length if lay.stock.longest is None else min(length, lay.stock.longest)
        area = Area((0.0, 0.0, end, lay.stock.width), (), end * lay.stock.width)
        names = {None, *(part.region for part in lay.parts)}
        return (Board(0, 0, 0.0, 0.0, end, dict.fromkeys(names, area)),)
    bound = [part.binding.lattice for part in lay.parts if part.binding is not None]
    repeat = max((lattice.along or 0.0 for lattice in bound), default=0.0)
    least: dict[str | None, float] = {}
    for part in lay.parts:
        size = path_area(part.piece.cut)
        least[part.region] = min(size, least.get(part.region, size))
    return _sheets(lay.stock, least, most=most, gap=gap, repeat=repeat)


def _sheets(
    stock: Sheets, least: dict[str | None, float], *, most: int, gap: float, repeat: float
) -> tuple[Board, ...]:
    """Return boards side by side; whole repeats of a print apart, so that it falls alike on all."""
    out: list[Board] = []
    x, number = 0.0, 0
    for index, sheet in enumerate(stock.sheets):
        areas = areas_of(sheet, margin=stock.margin)
        if not areas:
            continue
        choices = list(_choices(areas, least))
        xs = [p[0] for p in sheet.outline.points(1.0)]
        low, high = min(xs), max(xs)
        for _ in range(sheet.count if sheet.count is not None else most):
            if number >= most:
                return tuple(out)
            out += [Board(index, number, x - low, low, high, choice) for choice in choices]
            number += 1
            x += high - low + gap
            if repeat:
                x = low + repeat * math.ceil((x - low) / repeat)
    return tuple(out)
