"""What a marker takes of its last sheet: all but the largest piece that one straight cut leaves."""

from __future__ import annotations

import shapely
from shapely import box
from shapely.geometry.base import BaseGeometry

from nesting.marker.figures import figures
from nesting.marker.marker import Marker
from nesting.pattern.polygon import area_less, piece_polygon

__all__ = ["taken"]


def taken(marker: Marker) -> float:
    """Return what is taken of the last sheet (mm²): all that no part of it can be kept of.

    Kept is the largest piece beyond a straight cut along or across the sheet that no part
    touches. On a strip, what is taken is the length (mm).
    """
    if marker.lay.stock.open_ended:
        return figures(marker).length
    if not marker.sheets:
        return 0.0
    last = len(marker.sheets) - 1
    sheet = marker.used[last]
    area = area_less(sheet.outline, sheet.holes)
    bounds = [
        piece_polygon(marker.lay.parts[p.part].piece, by=p.affine).bounds
        for p in marker.placements
        if p.sheet == last
    ]
    if not bounds:
        return 0.0
    x0, y0, x1, y1 = area.bounds
    left, low, right, high = (
        pick(b[i] for b in bounds) for i, pick in enumerate((min, min, max, max))
    )
    cut_off = ((right, y0, x1, y1), (x0, high, x1, y1), (x0, y0, left, y1), (x0, y0, x1, low))
    kept = [_largest(area, b) for b in cut_off if b[0] < b[2] and b[1] < b[3]]
    return float(area.area - max(kept, default=0.0))


def _largest(area: BaseGeometry, bounds: tuple[float, float, float, float]) -> float:
    """Return the area of the largest piece of an area within a box (mm²)."""
    pieces = shapely.get_parts(shapely.intersection(area, box(*bounds)))
    return max((float(piece.area) for piece in pieces), default=0.0)
