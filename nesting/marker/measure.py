"""Areas and cutting lengths of pieces, curves as curves."""

from __future__ import annotations

import math
from functools import lru_cache

from nesting.marker.lay import Sheet
from nesting.pattern.measure import area, length
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import area_less, polygon

__all__ = ["cut_length", "piece_area", "sheet_area"]

_length = lru_cache(maxsize=4096)(length)


@lru_cache(maxsize=4096)
def piece_area(piece: Piece) -> float:
    """Return the area of a piece (mm²): inside its cutting line, less its cut-outs."""
    return area(piece.cut) - math.fsum(area(hole) for hole in piece.holes)


def sheet_area(sheet: Sheet) -> float:
    """Return the area of a sheet less its flaws (mm²), which may overlap."""
    if not polygon(sheet.outline, sheet.holes).is_valid:
        return float(area_less(sheet.outline, sheet.holes).area)
    return area(sheet.outline) - math.fsum(area(hole) for hole in sheet.holes)


def cut_length(piece: Piece) -> float:
    """Return how far the knife travels through the material for a piece (mm)."""
    paths: tuple[Path, ...] = (piece.cut, *piece.holes)
    return math.fsum(_length(path) for path in paths)
