"""Geometries taken apart into polygons, and their rings as arrays."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from nesting.pattern.path import Path

__all__ = ["Floats", "flat", "oriented", "polygons"]

Floats = npt.NDArray[np.float64]


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons with area of any geometry."""
    if isinstance(shape, Polygon):
        return [shape] if shape.area > 0 else []
    found: list[Polygon] = []
    for part in getattr(shape, "geoms", ()):
        found.extend(polygons(part))
    return found


def flat(cut: Path, holes: Iterable[Path], *, chord: float) -> BaseGeometry:
    """Return a closed path with holes as a valid polygon of chords."""
    ring = cut.points(chord)
    if len(ring) < 3:
        return Polygon()
    inner = [points for points in (hole.points(chord) for hole in holes) if len(points) >= 3]
    shape: BaseGeometry = Polygon(ring, inner)
    return shape if shape.is_valid else shapely.make_valid(shape)


def oriented(coords: Any, *, ccw: bool) -> Floats:
    """Return a closed ring's corners (n, 2), each once, run counter-clockwise or clockwise."""
    ring = np.ascontiguousarray(np.asarray(coords, dtype=np.float64)[:-1, :2])
    x, y = ring[:, 0], ring[:, 1]
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    return ring if (area > 0) == ccw else np.ascontiguousarray(ring[::-1])
