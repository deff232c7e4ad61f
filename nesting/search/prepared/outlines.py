"""Pieces made ready for the search: rings that contain the true ones, as convex parts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from nesting.pattern.measure import bounds
from nesting.pattern.path import Path, Point
from nesting.search.prepared.convex import convex_parts
from nesting.search.prepared.easing import (
    eased,
    narrowest,
    simplified,
    without_pockets,
    without_small_holes,
)
from nesting.search.prepared.growing import grown
from nesting.search.prepared.polygons import Floats, flat
from nesting.tolerance import TOLERANCE

__all__ = ["Outline", "outline", "width_of"]

NARROW = 0.02
"""So much of a piece's area may be narrower than what it is taken to be wide."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """An outline about its own centre, as the search sees it.

    `centre`: the middle of the true bounding box in the piece's coordinates (mm); all
    else is relative to it. `parts`: convex rings (k, 2), counter-clockwise, whose union
    contains the true outline and half the spacing around it. `plain`: the same without
    the spacing, against a region. `ring`: the true outline's corners (m, 2), for its
    extent at any turn. `area` and `hull`: mm² of the true outline and of its hull.
    """

    centre: Point
    parts: tuple[Floats, ...]
    plain: tuple[Floats, ...]
    ring: Floats
    area: float
    hull: float

    @property
    def size(self) -> float:
        """The geometric mean of the bounding box's sides, or the longer if it is thin (mm)."""
        w, h = np.ptp(self.ring, axis=0)
        return float(max(math.sqrt(w * h), 0.2 * max(w, h)))


@lru_cache(maxsize=1024)
def outline(
    cut: Path,
    holes: tuple[Path, ...],
    *,
    spacing: float,
    share: float,
    least_hole: float,
    mouth: float = 0.0,
    finer: float = 0.0,
) -> Outline:
    """Prepare a piece's outline.

    `share`: how much area the simplification may add. `least_hole` (mm): holes narrower
    than this are filled, as nothing fits into them. With a `mouth` (mm) pockets whose mouth is
    narrower are filled as well, but against a region, whose flaws may be small; what results
    contains the outline of a `finer` share.
    """
    base = _base(cut, holes, spacing, least_hole)
    plain = convex_parts(simplified(base.shape, share=share, height=base.height))
    parts = plain
    if spacing > 0.0 or mouth > 0.0:
        wide, height = base.wide, base.height
        if mouth > 0.0:
            fine = simplified(wide, share=finer, height=height)
            filled = without_pockets(fine, mouth)
            wide = wide if filled is fine else filled
        parts = convex_parts(simplified(wide, share=share, height=height))
    return Outline(
        centre=base.centre,
        parts=parts,
        plain=plain,
        ring=base.ring,
        area=base.area,
        hull=float(base.shape.convex_hull.area),
    )


def width_of(
    cut: Path, holes: tuple[Path, ...], *, spacing: float, least_hole: float, most: float
) -> float:
    """Return how wide (mm, at most so much) nearly all of a piece is, with spacing around it."""
    wide = _base(cut, holes, spacing, least_hole).wide
    return narrowest(wide, share=NARROW, most=most)


@dataclass(frozen=True, slots=True)
class _Base:
    """An outline about its middle before it is simplified: as it is, and grown for spacing."""

    centre: Point
    ring: Floats
    shape: BaseGeometry
    wide: BaseGeometry
    height: float
    area: float


def _narrow(hole: Path) -> float:
    """Return the shorter side of a hole's bounding box (mm)."""
    x0, y0, x1, y1 = bounds(hole)
    return min(x1 - x0, y1 - y0)


@lru_cache(maxsize=1024)
def _base(cut: Path, holes: tuple[Path, ...], spacing: float, least_hole: float) -> _Base:
    ring = np.array(cut.points(TOLERANCE.chord), dtype=np.float64)
    low, high = ring.min(axis=0), ring.max(axis=0)
    centre = (float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2)
    extent = float(max(high - low))
    # To grow what is filled afterwards would take its time.
    large = tuple(hole for hole in holes if _narrow(hole) > least_hole)
    curved = cut.curved or any(hole.curved for hole in large)
    chord = min(TOLERANCE.search_chord, 2e-4 * extent) if curved else TOLERANCE.chord
    drawn = shapely.transform(flat(cut, large, chord=chord), lambda xy: xy - np.array(centre))
    error = chord if curved else 0.0
    return _Base(
        centre=centre,
        ring=ring - np.array(centre),
        shape=eased(without_small_holes(grown(drawn, error), least_hole), extent),
        wide=eased(without_small_holes(grown(drawn, error + spacing / 2), least_hole), extent),
        height=0.01 * extent,
        area=float(flat(cut, holes, chord=TOLERANCE.chord).area),
    )
