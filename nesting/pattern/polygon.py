"""Pieces and paths as shapely polygons, and back."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from shapely import LinearRing, Polygon, difference, union_all
from shapely.geometry.base import BaseGeometry

from nesting.pattern.measure import clockwise, counter_clockwise
from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import Piece
from nesting.tolerance import TOLERANCE

__all__ = ["area_less", "outlines_of", "piece_polygon", "polygon", "ring_path"]


@lru_cache(maxsize=4096)
def polygon(
    outline: Path, holes: tuple[Path, ...] = (), *, chord: float = TOLERANCE.chord
) -> Polygon:
    """Return the area inside closed paths (mm), curves as chords at most `chord` away."""
    # Arrays, because shapely walks through lists of points one by one.
    inner = [np.array(hole.points(chord)) for hole in holes]
    return Polygon(np.array(outline.points(chord)), inner)


def area_less(outline: Path, holes: tuple[Path, ...]) -> BaseGeometry:
    """Return the area inside an outline (mm) that no hole takes.

    Holes, as the flaws of a sheet, may overlap, reach beyond the outline and cut it apart.
    """
    area = polygon(outline, holes)
    return (
        area
        if area.is_valid
        else difference(polygon(outline), union_all(list(map(polygon, holes))))
    )


def piece_polygon(
    piece: Piece, *, by: Affine | None = None, chord: float = TOLERANCE.chord
) -> Polygon:
    """Return the piece's cut area (mm), mapped by `by` if given."""
    cut, holes = piece.cut, piece.holes
    if by is not None:
        cut, holes = cut.transformed(by), tuple(hole.transformed(by) for hole in holes)
    return polygon(cut, holes, chord=chord)


def ring_path(ring: LinearRing) -> Path:
    """Return a closed ring of shapely's as a path of straight segments, run the same way."""
    return Path.polyline([(x, y) for x, y, *_ in ring.coords[:-1]], closed=True)


def outlines_of(area: Polygon) -> tuple[Path, ...]:
    """Return an area's outline, counter-clockwise, and its holes, clockwise."""
    holes = (clockwise(ring_path(hole)) for hole in area.interiors)
    return (counter_clockwise(ring_path(area.exterior)), *holes)
