"""What no marker of a lay can beat: lower bounds, never above the truth."""

from __future__ import annotations

import math
from collections import Counter
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from nesting.marker.bounds.boxes import box_length, box_sheets, largest_side
from nesting.marker.bounds.chords import chord_length
from nesting.marker.central import alone_on_sheets
from nesting.marker.holding import placement_of
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip
from nesting.marker.measure import piece_area, sheet_area
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import area_less, piece_polygon, polygon
from nesting.quantity import Quantity
from nesting.tolerance import TOLERANCE

__all__ = ["least_and_how", "lower_bound", "meets"]

Floats = NDArray[np.float64]

_QUARTER = 16  # chords of a quarter of a buffer's arc
_MANY = 3_000  # corners of an outline that is simplified before it is grown…
_SIMPLER = 0.25  # …by this share of what it grows by


def lower_bound(lay: Lay) -> Quantity:
    """Return a length (mm) no marker of a lay can undercut; on sheets a number of sheets.

    The best of: the area of the parts with their share of the spacing; the longest
    part; dual feasible functions on boxes inside the parts, among which are the parts so
    wide that no two of them can lie side by side; on a strip the same on what few parts take
    of every line; and, on sheets, the parts that reach the middle wherever they lie.

    Parameters
    ----------
    lay
        Any lay. Rules other than turns, flips and spacing are left out of account:
        they can only make the truth larger.

    """
    return least_and_how(lay)[0]


def meets(lay: Lay, reached: float, bound: float) -> bool:
    """Whether nothing better is left to find: a length (mm), or so many sheets, is the bound.

    A length may lie above it by what the judge lets the smallest part overlap others: that is
    below what any search or judge can tell.
    """
    return reached <= bound * (1.0 + 1e-9) + _hair(lay)


def _hair(lay: Lay) -> float:
    """Return by how much a length (mm) may be off unseen; on sheets nothing."""
    if not lay.stock.open_ended or not lay.parts:
        return 0.0
    return TOLERANCE.contact * _smallest(frozenset(part.piece for part in lay.parts))


@lru_cache(maxsize=64)
def _smallest(pieces: frozenset[Piece]) -> float:
    """Return the shorter side of the smallest piece (mm)."""
    boxes = (np.ptp(np.array(piece.cut.points(TOLERANCE.chord)), axis=0) for piece in pieces)
    return min(float(min(box)) for box in boxes)


def least_and_how(lay: Lay) -> tuple[Quantity, str]:
    """Return the lower bound of a lay, and in a few words what says so."""
    found = _each(lay) if lay.parts else {}
    how = max(found, key=lambda words: found[words], default="")
    return Quantity(found.get(how, 0.0), lay.stock.taken_in), how


def _each(lay: Lay) -> dict[str, float]:
    """Return every bound by what says so, the plainest first."""
    stock = lay.stock
    if stock.open_ended:
        return {
            "by area": _area_length(lay, stock),
            "by the longest part": _longest(lay, stock),
            "by rectangles inside the parts": box_length(lay, stock),
            "by what the parts keep away across and along": chord_length(lay, stock),
            "by what is held": _held_length(lay),
        }
    kept = len({(p.held.sheet, p.held.number) for p in lay.parts if p.held is not None})
    return {
        "by area": float(max(_area_sheets(lay, stock), 1)),
        "by rectangles inside the parts": float(box_sheets(lay, stock)),
        "by parts that all reach the middle": float(alone_on_sheets(lay, stock)),
        "by what is held": float(kept),
    }


def _held_length(lay: Lay) -> float:
    """Return how far along the cloth something is held (mm)."""
    ends = [0.0]
    for part in lay.parts:
        if part.held is not None:
            cut = part.piece.cut.transformed(placement_of(0, part.held).affine)
            ends.append(max(x for x, _ in cut.points(TOLERANCE.chord)))
    return max(ends)


# --- area ---------------------------------------------------------------------------


def _grown_area(lay: Lay) -> float:
    """Return the area of all parts grown by half the spacing, rounded down (mm²)."""
    half = 0.5 * lay.spacing - TOLERANCE.chord
    total = 0.0
    for piece, count in Counter(part.piece for part in lay.parts).items():
        # A ring of chords may lie outside a hollow curve, by the chord at most: the
        # smaller growth makes up for that. The buffer's own arcs are chords inside.
        area = _grown(piece_polygon(piece), half) if half > 0.0 else 0.0
        total += count * max(area, piece_area(piece))
    return total


def _grown(area: BaseGeometry, by: float) -> float:
    """Return at most what an area grown by so much covers (mm²).

    To grow thousands of corners that lie nearer each other than that takes minutes: a
    simpler outline, no part of which lies farther outside, is grown by so much less. An
    outline that stays as rugged counts as it is.
    """
    if shapely.get_num_coordinates(area) > _MANY:
        area, by = area.simplify(_SIMPLER * by), (1.0 - _SIMPLER) * by
    if shapely.get_num_coordinates(area) > _MANY:
        return 0.0
    return float(area.buffer(by).area)


def _area_length(lay: Lay, strip: Strip) -> float:
    """Return the length that the grown parts fill of a strip grown by half the spacing.

    Grown parts don't overlap and stay within the marker's rectangle grown alike, whose
    corners are round.
    """
    s = lay.spacing
    corners = (4.0 - math.pi) * (0.5 * s) ** 2
    return max(0.0, (_grown_area(lay) + corners) / (strip.width + s) - s)


def _area_sheets(lay: Lay, stock: Sheets) -> int:
    """Return how many of the largest sheets the grown parts need by area.

    One more than there are, if all of them together are too small.
    """
    left = _grown_area(lay) * (1.0 - 1e-9) - _overlaps(lay)
    room = sorted(
        ((_room(sheet, stock.margin, lay.spacing), sheet.count) for sheet in stock.sheets),
        key=lambda pair: -pair[0],
    )
    used = 0
    for area, count in room:
        if area <= 0.0:
            break
        need = math.ceil(left / area)
        if count is None or need <= count:
            return used + need
        used, left = used + count, left - count * area
    return used + (left > 0.0)


def _overlaps(lay: Lay) -> float:
    """Return the area (mm²) by which parts may overlap, and lie off a sheet, and be let pass."""
    along = Counter(part.piece for part in lay.parts)
    edges = sum(piece_polygon(piece).length * count for piece, count in along.items())
    return TOLERANCE.contact * largest_side(lay) * edges


def _room(sheet: Sheet, margin: float, spacing: float) -> float:
    """Return the area that grown parts may cover of a sheet, rounded up (mm²)."""
    if margin == 0.0 and spacing == 0.0 and polygon(sheet.outline, sheet.holes).is_valid:
        return sheet_area(sheet)
    usable = area_less(sheet.outline, sheet.holes).buffer(TOLERANCE.chord - margin)
    # A buffer's arcs are chords inside; with this radius they pass outside the true arc.
    outside = 0.5 * spacing / math.cos(math.pi / (4 * _QUARTER))
    return float(usable.buffer(outside, quad_segs=_QUARTER).area)


# --- the longest part ---------------------------------------------------------------


def _longest(lay: Lay, strip: Strip) -> float:
    kinds = {(p.piece, p.turns, p.flip): p for p in lay.parts}
    return max(_least_length(part, strip.width) for part in kinds.values())


def _least_length(part: Part, width: float) -> float:
    """Return the least extent along x over a part's turns (those that fit, if any does)."""
    every, fitting = [], []
    for ring in _hulls(part):
        for turn in _critical_turns(part, ring):
            c, s = math.cos(turn), math.sin(turn)
            along = float(np.ptp(ring @ (c, -s)))
            every.append(along)
            # A turn from a range may be joined by a neighbour that fits: only set
            # turns are sorted out.
            if part.turns.slack > 0.0 or np.ptp(ring @ (s, c)) <= width * (1 + 1e-6):
                fitting.append(along)
    return min(fitting or every)


def _hulls(part: Part) -> list[Floats]:
    """Return the vertices of a part's hull (n × 2, mm); also reflected, if it may be."""
    hull = piece_polygon(part.piece).convex_hull
    ring = shapely.get_coordinates(hull)[:-1]
    return [ring, ring * (1.0, -1.0)] if part.flip else [ring]


def _critical_turns(part: Part, ring: Floats) -> list[float]:
    """Return the turns (radians) among which one gives the least extent.

    Between two turns that stand an edge of the hull upright the extent is the distance
    of two fixed vertices times a cosine, hence concave: least at an end.
    """
    turns = [math.radians(a) for a in part.turns.angles]
    slack = math.radians(min(part.turns.slack, 180.0))
    if slack == 0.0:
        return turns
    edges = np.roll(ring, -1, axis=0) - ring
    upright = np.pi / 2 - np.arctan2(edges[:, 1], edges[:, 0])
    out = []
    for turn in turns:
        off = (upright - turn + np.pi / 2) % np.pi - np.pi / 2
        out += [turn - slack, turn + slack, *(turn + off[np.abs(off) <= slack])]
        if slack > np.pi / 2:
            out += list(upright)
    return out
