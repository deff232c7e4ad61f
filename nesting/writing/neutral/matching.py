"""What of a part is laid to a print: the middle of its motif, boldly, and its named points."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import shapely
from shapely.geometry.base import BaseGeometry as Area

from nesting.marker.lay import Part
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle
from nesting.planning.lay.prints import motif_of
from nesting.tolerance import TOLERANCE
from nesting.writing.neutral.drawing import Role
from nesting.writing.neutral.lettering import Lettering, free_of_marks, ink_box

__all__ = ["Matching", "matching"]

"""Names of the strokes at the middle of a motif, and at a named point."""

_RING, _ARM, _CROSS = 2.4, 1.8, 0.5
"""Diameter of a motif's ring, half of the cross in it, half of a point's, in readable heights."""
_SHARE = 0.8
"""Height of a point's name, in readable heights."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Matching:
    """Strokes by name, names of points (text, middle of its ink, height), areas taken (mm)."""

    strokes: tuple[tuple[Role, Path], ...] = ()
    names: tuple[tuple[str, Point, float], ...] = ()
    areas: tuple[Area, ...] = ()


def matching(part: Part, lettering: Lettering, *, always: bool = False) -> Matching:
    """Return what to draw of a part that a print binds, in its own coordinates.

    `always`: whether or not a print binds it: a point, or a motif, that is the piece's own.
    """
    piece, binding = part.piece, part.binding
    if binding is None and not always:
        return Matching()
    motif: Point | None = None
    if binding is None:
        motif = piece.motif
    # A part matched to a centred one is bound at another point than its own middle.
    elif binding.phase is None and math.dist(motif_of(piece), binding.anchor) <= TOLERANCE.lattice:
        motif = binding.anchor
    return _matching(piece, motif, lettering)


@lru_cache(maxsize=1024)
def _matching(piece: Piece, motif: Point | None, lettering: Lettering) -> Matching:
    size = lettering.readable
    strokes: list[tuple[Role, Path]] = []
    areas: list[Area] = []
    if motif is not None:
        strokes.append((Role.MOTIF, circle(_RING * size, centre=motif)))
        strokes += [(Role.MOTIF, line) for line in _cross(motif, _ARM * size)]
        areas.append(shapely.Point(motif).buffer(_ARM * size))
    for _, at in piece.points:
        strokes += [(Role.POINT, line) for line in _cross(at, _CROSS * size, slanted=True)]
        areas.append(shapely.Point(at).buffer(_CROSS * size))
    names: list[tuple[str, Point, float]] = []
    inside = free_of_marks(piece, clear=lettering.clear)
    for name, at in piece.points:
        middle = _beside(name, at, inside, areas, lettering)
        if middle is not None:
            names.append((name, middle, _SHARE * size))
            areas.append(ink_box(name, middle, height=_SHARE * size))
    return Matching(strokes=tuple(strokes), names=tuple(names), areas=tuple(areas))


def _cross(at: Point, arm: float, *, slanted: bool = False) -> tuple[Path, Path]:
    x, y = at
    dx, dy = (arm * math.sqrt(0.5),) * 2 if slanted else (arm, 0.0)
    return (
        Path.polyline([(x - dx, y - dy), (x + dx, y + dy)], closed=False),
        Path.polyline([(x + dy, y - dx), (x - dy, y + dx)], closed=False),
    )


def _beside(
    name: str, at: Point, inside: Area, areas: list[Area], lettering: Lettering
) -> Point | None:
    """Return a middle for a point's name: near it, on the piece, clear of what is there."""
    height, clear = _SHARE * lettering.readable, lettering.clear
    box = ink_box(name, (0.0, 0.0), height=height)
    x0, y0, x1, y1 = box.bounds
    wide, tall = (x1 - x0) / 2.0, (y1 - y0) / 2.0
    taken = shapely.union_all(areas)
    for far in (1.0, 2.0, 4.0, 7.0):
        gap = _CROSS * lettering.readable + far * clear
        for dx, dy in ((1, 1), (1, -1), (-1, 1), (-1, -1), (0, 1), (0, -1), (1, 0), (-1, 0)):
            middle = (at[0] + dx * (wide + gap), at[1] + dy * (tall + gap))
            moved = ink_box(name, middle, height=height)
            if inside.contains(moved) and not moved.buffer(clear / 2.0).intersects(taken):
                return middle
    return None
