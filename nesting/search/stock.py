"""What parts may lie on, as the search sees it: boards with areas, each a box less blocks."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from nesting.marker.lay import Lay, Sheet, Sheets, Strip, Turns
from nesting.search.shapes import Floats, convex_parts, flat, grown, polygons, simplified
from nesting.tolerance import TOLERANCE

__all__ = ["Area", "Board", "board_of", "boards"]

_MANY = 24
"""A complement of more corners than this is simplified…"""

_COARSE = 0.5
"""…by at most so much (mm): the outline of a hide has hundreds."""


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

    `low`: where its used length is counted from. The name None is the whole board.
    """

    index: int
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
def board_of(sheet: Sheet, *, margin: float) -> dict[str | None, Area]:
    """Return a sheet's areas: the whole, and each named region within it.

    Regions of one name are alternatives: the largest is used.
    """
    usable = _shrunk(sheet, margin)
    areas: dict[str | None, Area] = {}
    whole = _area(usable, None)
    if whole is not None:
        areas[None] = whole
    for region in sheet.regions:
        body: BaseGeometry = Polygon()
        for path in region.outlines:
            chord = TOLERANCE.search_chord if path.curved else TOLERANCE.chord
            shape = flat(path, (), chord=chord)
            if path.curved:
                shape = _inset(shape, chord)
            hole = _clockwise(path.points(1.0))
            body = body.difference(shape) if hole else body.union(shape)
        area = _area(body.intersection(usable), region.turns)
        known = areas.get(region.name)
        if area is not None and (known is None or known.free < area.free):
            areas[region.name] = area
    return areas


def _clockwise(ring: Iterable[tuple[float, float]]) -> bool:
    xy = np.array(list(ring))
    x, y = xy[:, 0], xy[:, 1]
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) < 0


def boards(lay: Lay, *, most: int, gap: float, length: float) -> tuple[Board, ...]:
    """Return the first `most` boards of a lay's stock, side by side along x.

    `gap`: least distance between boards; `length`: of an open strip (mm).
    """
    if isinstance(lay.stock, Strip):
        end = length if lay.stock.longest is None else min(length, lay.stock.longest)
        area = Area((0.0, 0.0, end, lay.stock.width), (), end * lay.stock.width)
        names = {None, *(part.region for part in lay.parts)}
        return (Board(0, 0.0, 0.0, end, dict.fromkeys(names, area)),)
    bound = [part.binding.lattice for part in lay.parts if part.binding is not None]
    repeat = max((lattice.along or 0.0 for lattice in bound), default=0.0)
    return _sheets(lay.stock, most=most, gap=gap, repeat=repeat)


def _sheets(stock: Sheets, *, most: int, gap: float, repeat: float) -> tuple[Board, ...]:
    """Return boards side by side; whole repeats of a print apart, so that it falls alike on all."""
    out: list[Board] = []
    x = 0.0
    for index, sheet in enumerate(stock.sheets):
        areas = board_of(sheet, margin=stock.margin)
        if not areas:
            continue
        xs = [p[0] for p in sheet.outline.points(1.0)]
        low, high = min(xs), max(xs)
        for _ in range(sheet.count if sheet.count is not None else most):
            if len(out) >= most:
                return tuple(out)
            out.append(Board(index, x - low, low, high, areas))
            x += high - low + gap
            if repeat:
                x = low + repeat * math.ceil((x - low) / repeat)
    return tuple(out)
