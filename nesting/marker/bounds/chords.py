"""Bounds by chords: what the lines across, and along, a strip need of every part they cross.

On a line across the strip the parts take stretches that don't overlap, so what a dual feasible
function makes of them adds up to 1 at most. Added up over all lines, each part takes so much of
the length wherever it lies. The plain function says no more than the area does; others count
what a part keeps away, such as all that would have to lie beside one wider than half the strip.
Lines along the strip tell in the same way whether a length is too short.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from nesting.marker.bounds.boxes import as_kind, largest_side, ways
from nesting.marker.bounds.duals import Dual, Floats, Ints, duals, portion, shares
from nesting.marker.lay import Lay, Part, Strip
from nesting.pattern.path import Affine
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon
from nesting.tolerance import TOLERANCE

__all__ = ["chord_length"]

_MOST = 48
"""Of more parts, which are small, chords say no more than the area."""

_LINES = 160
"""Lines at which a part is looked at, besides those through its corners."""

_CORNERS = 80
"""A part of more corners is made simpler, and smaller by at most…"""

_SIMPLER = 0.002
"""…this share of its size."""

_RUGGED = 1_000
"""One that keeps more corners even so counts for nothing: it would take long."""

_EDGES, _HALVINGS, _FARTHEST = 16, 7, 1.5
"""Edges of functions; how often what is between two lengths is halved; the longest as a share."""

Chords = tuple[Floats, Floats]
"""Stretches that a part takes of parallel lines: how long at least, and over which breadth (mm)."""


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """All stretches, part by part and turn by turn, as `Chords` are.

    `start`: the first of every turn; `kind`: the first turn of every kind; `many`: parts of it.
    """

    length: Floats
    breadth: Floats
    start: Ints
    kind: Ints
    many: Ints

    def need(self, whole: float) -> float:
        """Return the least breadth (mm) of all stretches together, by the best function.

        `whole`: how long a line is.
        """
        sizes = shares(self.length, whole)

        def total(dual: Dual) -> float:
            of_turn = np.add.reduceat(portion(dual, sizes) * self.breadth, self.start)
            return float(np.minimum.reduceat(of_turn, self.kind) @ self.many)

        return max(map(total, duals(sizes, _EDGES)))


def chord_length(lay: Lay, strip: Strip) -> float:
    """Return a length (mm) that no marker undercuts, by the chords of its parts.

    Nothing for lays of more than a few dozen parts, nor of parts that turn by a range.
    """
    parts = [part for part in lay.parts if part.turns.slack == 0.0]
    if not parts or len(lay.parts) > _MOST:
        return 0.0
    # What overlaps by no more than the judge lets pass lies apart when it is so much smaller.
    grow = 0.5 * lay.spacing - 2.0 * TOLERANCE.contact * largest_side(lay)
    across, along = (_lines(parts, grow=grow, along=way) for way in (False, True))
    room = strip.width + lay.spacing
    low = across.need(room) - lay.spacing
    if low <= 0.0:
        return 0.0
    high = _FARTHEST * low
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        # No marker is so short if the lines along it would have to lie wider than the strip.
        if along.need(middle + lay.spacing) > room * (1.0 + 1e-9):
            low = middle
        else:
            high = middle
    return low


def _lines(parts: Sequence[Part], *, grow: float, along: bool) -> _Lines:
    """Return the stretches of all parts on lines across the strip, or along it.

    `grow`: by how much each part is grown (mm).
    """
    turn = Affine.turn(90.0 if along else 0.0)
    kinds = Counter(map(as_kind, parts))
    turns = [[turn.after(by) for by in ways(part)] for part in kinds]
    chords = [
        _chords(part.piece, by, grow)
        for part, some in zip(kinds, turns, strict=True)
        for by in some
    ]
    return _Lines(
        length=np.concatenate([length for length, _ in chords]),
        breadth=np.concatenate([breadth for _, breadth in chords]),
        start=_firsts([len(length) for length, _ in chords]),
        kind=_firsts([len(some) for some in turns]),
        many=np.array(list(kinds.values())),
    )


def _firsts(counts: Sequence[int]) -> Ints:
    """Return where each of some runs begins."""
    return np.cumsum([0, *counts[:-1]], dtype=np.int64)


@lru_cache(maxsize=1024)
def _chords(piece: Piece, by: Affine, grow: float) -> Chords:
    """Return what a piece that is grown takes of upright lines; never too much."""
    area = _inside(piece, by, grow)
    corners = shapely.get_coordinates(area)
    if not len(corners):
        return np.zeros(1), np.zeros(1)
    xs = corners[:, 0]
    lines = np.unique(np.concatenate([xs, np.linspace(xs.min(), xs.max(), _LINES)]))
    left, right = lines[:-1, None], lines[1:, None]
    x0, y0, x1, y1 = _edges(area)
    slope = (y1 - y0) / (x1 - x0)
    middle = 0.5 * (left + right)
    crossed = (x0 < middle) & (middle < x1)
    order = np.argsort(np.where(crossed, y0 + slope * (middle - x0), np.inf), axis=1)
    order = order[:, : int(crossed.sum(axis=1).max())]
    heights = [
        np.take_along_axis(np.where(crossed, y0 + slope * (x - x0), np.inf), order, axis=1)
        for x in (left, right)
    ]
    # Between two lines a stretch grows or shrinks evenly: it is nowhere less than at both ends.
    with np.errstate(invalid="ignore"):
        chords = np.minimum(*(y[:, 1::2] - y[:, :-1:2] for y in heights))
    breadth = np.broadcast_to(right - left, chords.shape)
    there = np.isfinite(chords)
    return np.maximum(chords[there], 0.0), breadth[there]


def _inside(piece: Piece, by: Affine, grow: float) -> BaseGeometry:
    """Return an area inside a mapped piece that is grown by so much (mm)."""
    area: BaseGeometry = piece_polygon(piece, by=by)
    # Chords of a hollow curve lie outside it, and the judge lets as much pass for a curve.
    if piece.cut.curved or any(hole.curved for hole in piece.holes):
        grow -= 2.0 * TOLERANCE.chord
    if shapely.get_num_coordinates(area) > _CORNERS:
        rough = _SIMPLER * float(np.ptp(shapely.get_coordinates(area), axis=0).max())
        area, grow = area.simplify(rough), grow - rough
    if shapely.get_num_coordinates(area) > _RUGGED:
        return shapely.Polygon()
    # A buffer's own arcs are chords inside.
    return area.buffer(grow, quad_segs=2)


def _edges(area: BaseGeometry) -> Floats:
    """Return the edges of all rings that don't stand upright: rows x0, y0, x1, y1, x0 < x1."""
    rings = shapely.get_rings(shapely.get_parts(area))
    edges = np.vstack([np.hstack([xy[:-1], xy[1:]]) for xy in map(shapely.get_coordinates, rings)])
    back = edges[:, 0] > edges[:, 2]
    edges[back] = edges[back][:, [2, 3, 0, 1]]
    return np.asarray(edges[edges[:, 2] > edges[:, 0]].T)
