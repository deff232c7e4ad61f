"""How little of a strip's length a part can do with, and what its lay needs by area."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import shapely
from numpy.typing import NDArray

from nesting.marker.lay import Turns
from nesting.marker.measure import piece_area
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon

__all__ = ["least_length", "length_by_area"]

_STEP = 0.25
"""Turns are tried so far apart (degrees), and a fiftieth of it about the best."""

_HAIR = 1e-6
"""What sticks out by no more (mm) fits."""

_DENSE = 0.7
"""Share of the cloth that parts are reckoned to fill before they are laid: a small one. Markers
of our samples fill 0.71 to 0.9."""


def least_length(piece: Piece, turns: Turns, *, width: float) -> float:
    """Return the least length (mm) of a strip on which a piece fits in a turn that it may take.

    Infinite if it fits in none. Never less than the true one, which turns in between may beat.
    """
    hull = shapely.get_coordinates(piece_polygon(piece).convex_hull)
    slack = min(turns.slack, 90.0)
    offs = np.append(np.arange(-slack, slack + _STEP / 2.0, _STEP), 0.0)
    least, best = math.inf, 0.0
    for angle in turns.angles:
        reach = _lengths(hull, angle + offs, width)
        if reach.min() < least:
            least, best = float(reach.min()), float(angle + offs[reach.argmin()])
    if slack and least < math.inf:
        near = best + np.linspace(-_STEP, _STEP, 101)
        least = min(least, float(_lengths(hull, near, width).min()))
    return least


def _lengths(
    hull: NDArray[np.float64], degrees: NDArray[np.float64], width: float
) -> NDArray[np.float64]:
    """Return the extent along x of a hull (n × 2, mm) in each turn, infinite where too wide."""
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    along = np.ptp(np.outer(hull[:, 0], cos) - np.outer(hull[:, 1], sin), axis=0)
    across = np.ptp(np.outer(hull[:, 0], sin) + np.outer(hull[:, 1], cos), axis=0)
    return np.where(across <= width + _HAIR, along, math.inf)


def length_by_area(pieces: Iterable[Piece], *, width: float) -> float:
    """Return the length (mm) that a lay of the pieces needs at most, reckoned by their area."""
    return math.fsum(piece_area(piece) for piece in pieces) / (_DENSE * width)
