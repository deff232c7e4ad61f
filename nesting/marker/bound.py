"""What no marker of a lay can beat: lower bounds, never above the truth."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from nesting.marker.central import alone_on_sheets
from nesting.marker.holding import placement_of
from nesting.marker.inner import InnerBox, inner_boxes
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip
from nesting.marker.measure import piece_area
from nesting.pattern.measure import area as path_area
from nesting.pattern.path import Affine
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.quantity import Quantity
from nesting.tolerance import TOLERANCE

__all__ = ["lower_bound"]

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

# Heights are counted in whole shares of the width, rounded down, so that a dual
# feasible function meets no rounding; divisible by 2 … 16, so that halves, thirds … stay exact.
_WHOLE = 720_720_000
_PAIRED = 10  # edges of dual feasible functions along, and across, on sheets
_QUARTER = 16  # chords of a quarter of a buffer's arc
_MANY = 3_000  # corners of an outline that is simplified before it is grown…
_SIMPLER = 0.25  # …by this share of what it grows by


def lower_bound(lay: Lay) -> Quantity:
    """Return a length (mm) no marker of a lay can undercut; on sheets a number of sheets.

    The best of: the area of the parts with their share of the spacing; the longest
    part; dual feasible functions on boxes inside the parts, among which are the parts so
    wide that no two of them can lie side by side; and, on sheets, the parts that reach the
    middle wherever they lie.

    Parameters
    ----------
    lay
        Any lay. Rules other than turns, flips and spacing are left out of account:
        they can only make the truth larger.

    Notes
    -----
    Dual feasible functions: S. P. Fekete, J. Schepers, "A general framework for bounds
    for higher-dimensional orthogonal packing problems", Math. Methods of Operations
    Research 60 (2004); S. Martello, D. Vigo, "Exact solution of the two-dimensional
    finite bin packing problem", Management Science 44 (1998).

    """
    return Quantity(_least(lay) if lay.parts else 0.0, lay.stock.taken_in)


def _least(lay: Lay) -> float:
    stock = lay.stock
    if stock.open_ended:
        kept = _held_length(lay)
        return max(_area_length(lay, stock), _longest(lay, stock), _box_length(lay, stock), kept)
    alone = alone_on_sheets(lay, stock)
    kept = len({(p.held.sheet, p.held.number) for p in lay.parts if p.held is not None})
    return float(max(_area_sheets(lay, stock), _box_sheets(lay, stock), alone, kept, 1))


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
    left = _grown_area(lay) * (1.0 - 1e-9)
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


def _room(sheet: Sheet, margin: float, spacing: float) -> float:
    """Return the area that grown parts may cover of a sheet, rounded up (mm²)."""
    if margin == 0.0 and spacing == 0.0:
        return path_area(sheet.outline) - sum(path_area(hole) for hole in sheet.holes)
    usable = polygon(sheet.outline, sheet.holes).buffer(TOLERANCE.chord - margin)
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


# --- boxes inside the parts ---------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Boxes:
    """Boxes inside the parts: length along x, height along y (mm), and whose they are.

    `start`: first box of every choice (a kind of part in one turn); `kind`: first
    choice of every kind; `count`: parts of every kind.
    """

    length: Floats
    height: Floats
    start: Ints
    kind: Ints
    count: Ints

    def total(self, worth: Floats) -> float:
        """Return the least sum over the parts if every box is worth so much."""
        best = np.maximum.reduceat(worth, self.start)
        return float(np.minimum.reduceat(best, self.kind) @ self.count)


def _boxes(parts: list[Part]) -> _Boxes | None:
    """Return the boxes inside those parts whose turns are a plain set."""
    length: list[float] = []
    height: list[float] = []
    start: list[int] = []
    kind: list[int] = []
    count: list[int] = []
    for part, many in Counter(_as_kind(p) for p in parts if p.turns.slack == 0.0).items():
        kind.append(len(start))
        count.append(many)
        for by in _ways(part):
            start.append(len(length))
            found = inner_boxes(part.piece, by) or (InnerBox(0.0, 0.0),)
            length += [box.length for box in found]
            height += [box.height for box in found]
    if not count:
        return None
    return _Boxes(
        np.array(length), np.array(height), np.array(start), np.array(kind), np.array(count)
    )


def _as_kind(part: Part) -> Part:
    """Return a part stripped of its name and rules: equal for all of a kind."""
    return Part(name="", piece=part.piece, turns=part.turns, flip=part.flip)


def _ways(part: Part) -> list[Affine]:
    """Return the maps for the turns of a part whose extents can differ."""
    turns = {angle % 180.0 for angle in part.turns.angles}
    ways = [Affine.turn(angle) for angle in sorted(turns)]
    if part.flip and turns - {0.0, 90.0}:
        ways += [Affine.turn(angle).after(Affine.mirror()) for angle in sorted(turns)]
    return ways


def _splits(spacing: float) -> Iterator[tuple[float, float]]:
    """Yield growths (along, across) by which boxes of parts `spacing` apart stay disjoint.

    Boxes closer than `along` in x are at least sqrt(spacing² − along²) apart in y.
    """
    if spacing == 0.0:
        yield 0.0, 0.0
        return
    for share in (0.0, 0.25, 0.5, math.pi / 4, 1.25, 1.4, math.pi / 2):
        yield spacing * math.sin(share), max(0.0, spacing * math.cos(share))


def _shares(size: Floats, whole: float) -> Ints:
    """Return sizes as whole shares of `whole`, rounded down (up by no more than 1e-14)."""
    return np.minimum(np.floor(size / whole * _WHOLE + 1e-5), _WHOLE).astype(np.int64)


# A dual feasible function gives whole numbers and what they are shares of, so that sums are exact.
Dual = Callable[[Ints], tuple[Ints, int]]


def _identity(x: Ints) -> tuple[Ints, int]:
    return x, _WHOLE


def _rounded(k: int) -> Dual:
    """Fekete & Schepers' u(k): whole multiples of 1/(k+1) stay, others go to floor/k."""

    def dual(x: Ints) -> tuple[Ints, int]:
        whole, rest = np.divmod((k + 1) * x, _WHOLE)
        return np.where(rest == 0, k * x, whole * _WHOLE), k * _WHOLE

    return dual


def _cut_off(edge: int) -> Dual:
    """Martello & Vigo's U(edge): sizes below the edge vanish, their partners grow to 1."""

    def dual(x: Ints) -> tuple[Ints, int]:
        return np.where(x < edge, 0, np.where(x > _WHOLE - edge, _WHOLE, x)), _WHOLE

    return dual


def _counted(edge: int) -> Dual:
    """Carlier, Clautiaux & Moukrim's f1 (2007): how many of size `edge` a part displaces."""
    most = _WHOLE // edge

    def dual(x: Ints) -> tuple[Ints, int]:
        # A part above half takes what it does not leave to others; the rest count themselves.
        return np.where(2 * x > _WHOLE, most - (_WHOLE - x) // edge, x // edge), most

    return dual


def _portion(dual: Dual, x: Ints) -> Floats:
    value, whole = dual(x)
    return np.asarray(value / whole, dtype=np.float64)


def _duals(shares: Ints, most: int = 40) -> list[Dual]:
    """Return dual feasible functions worth trying on these sizes, for `most` edges."""
    edges = np.unique(np.minimum(shares, _WHOLE - shares))
    edges = edges[(edges > _WHOLE // 100) & (2 * edges <= _WHOLE)]
    if len(edges) > most:
        edges = edges[np.linspace(0, len(edges) - 1, most).astype(int)]
    out: list[Dual] = [_identity, *(_rounded(k) for k in range(1, 17))]
    for edge in [*edges.tolist(), _WHOLE // 2]:
        out += [_cut_off(edge), _counted(edge)]
    return out


def _box_length(lay: Lay, strip: Strip) -> float:
    """Return the length that the boxes inside the parts need.

    On every line across the strip the boxes' duals add up to 1 at most.
    """
    boxes = _boxes(list(lay.parts))
    if boxes is None:
        return 0.0
    best = 0.0
    for along, across in _splits(lay.spacing):
        shares = _shares(boxes.height + across * (boxes.height > 0), strip.width + across)
        reach = (boxes.length + along) * (boxes.length > 0)
        for dual in _duals(shares):
            value, whole = dual(shares)
            best = max(best, boxes.total(reach * value) / whole - along)
    return best


def _box_sheets(lay: Lay, stock: Sheets) -> int:
    """Return how many sheets the boxes inside the parts need, by duals along and across."""
    turned = any(region.turns for sheet in stock.sheets for region in sheet.regions)
    boxes = _boxes([p for p in lay.parts if p.region is None or not turned])
    if boxes is None:
        return 0
    rings = [np.array(sheet.outline.points(TOLERANCE.chord)) for sheet in stock.sheets]
    slack = 2.0 * TOLERANCE.chord * any(sheet.outline.curved for sheet in stock.sheets)
    size = np.max([np.ptp(ring, axis=0) for ring in rings], axis=0) - 2 * stock.margin + slack
    if min(size) <= 0.0:
        return 0
    best = 0.0
    for along, across in _splits(lay.spacing):
        xs = _shares(boxes.length + along * (boxes.length > 0), size[0] + along)
        ys = _shares(boxes.height + across * (boxes.height > 0), size[1] + across)
        down = [_portion(dual, ys) for dual in _duals(ys, _PAIRED)]
        for dual in _duals(xs, _PAIRED):
            across_x = _portion(dual, xs)
            best = max(best, *(boxes.total(across_x * portion) for portion in down))
    return math.ceil(best - 1e-9)
