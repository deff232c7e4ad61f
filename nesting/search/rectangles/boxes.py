"""A lay of rectangles in whole numbers, and back."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from nesting.marker.lay import Lay, Part
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Affine
from nesting.pattern.piece import Piece
from nesting.tolerance import TOLERANCE

__all__ = [
    "Box",
    "Boxes",
    "Spot",
    "boxes_of",
    "is_rectangular",
    "marker_of",
    "reachable",
    "spots_of",
]

_LARGEST = 1 << 29  # of any coordinate, so that areas stay far from overflow
_SAME = 1e-9  # relative: what is taken for equal

_PASSED = 0.5
"""The share of what the judge lets pass at an edge that is taken for rounding."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with its spacing: (length along x, height along y) in each turn.

    `sizes` has one entry, or two if a quarter turn is allowed and changes it;
    `angles` are the turns of the part that give them (degrees).
    """

    sizes: tuple[tuple[int, int], ...]
    angles: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Boxes:
    """The rectangles of a lay on a strip `width` wide, in units of `unit` mm.

    `along` and `across` (units) were added to every length and height, and `across` to
    the width. `exact`: no size was rounded. `proves`: nor does the judge let a unit pass, so
    that what has no packing has no marker, either.
    """

    items: tuple[Box, ...]
    width: int
    along: int
    across: int
    unit: float
    exact: bool
    proves: bool

    @property
    def area(self) -> int:
        """The area of all boxes."""
        return sum(length * height for length, height in (box.sizes[0] for box in self.items))

    @property
    def net_area(self) -> int:
        """The area of all boxes without what was added for spacing."""
        sizes = (box.sizes[0] for box in self.items)
        return sum((length - self.along) * (height - self.across) for length, height in sizes)

    def millimetres(self, length: int) -> float:
        """Return the marker length (mm) for boxes that reach `length`."""
        return max(0, length - self.along) * self.unit

    def units(self, length: float) -> int:
        """Return the least reach of boxes for a marker at least `length` mm long."""
        return math.ceil(length / self.unit - 1e-6) + self.along


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a box lies (units) and in which of its sizes."""

    x: int
    y: int
    way: int = 0


Rect = tuple[float, float, float, float]


@lru_cache(maxsize=4096)
def _rectangle(piece: Piece, angle: float) -> Rect | None:
    """Return low and high corner (x0, y0, x1, y1) of a turned piece if it is a rectangle."""
    if piece.holes or piece.cut.curved:
        return None
    ring = piece.cut.transformed(Affine.turn(angle)).points(TOLERANCE.chord)
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    x0, y0, x1, y1 = min(xs), min(ys), max(xs), max(ys)
    near = _SAME * max(x1 - x0, y1 - y0)
    if x1 - x0 <= near or y1 - y0 <= near:
        return None

    def on_edge(x: float, y: float) -> bool:
        return min(x - x0, x1 - x) <= near or min(y - y0, y1 - y) <= near

    corners = [(x, y) for x, y in ring if min(x - x0, x1 - x) <= near >= min(y - y0, y1 - y)]
    area = sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(ring, [*ring[1:], ring[0]], strict=True))
    full = 2.0 * (x1 - x0) * (y1 - y0)
    whole = abs(abs(area) - full) <= 4.0 * _SAME * full and all(on_edge(x, y) for x, y in ring)
    return (x0, y0, x1, y1) if whole and len(corners) >= 4 else None


def _plain(part: Part) -> bool:
    """Whether a part has no rule beyond its turns."""
    return (
        part.binding is None
        and part.edge is None
        and part.region is None
        and part.mates is None
        and part.held is None
        and part.turns.slack == 0.0
        and (part.turn_group is None or len(part.turns.angles) == 1)
    )


def is_rectangular(lay: Lay) -> bool:
    """Whether a lay can be solved as one of rectangles.

    That is: on a strip; every part an axis-parallel rectangle in every turn allowed it,
    without cut-outs; and none with a rule other than its turns (lattice, edge, region,
    mates, a choice of turns shared by a group, a place where it is held).
    """
    return (
        lay.stock.open_ended
        and bool(lay.parts)
        and all(_plain(part) for part in lay.parts)
        and all(
            _rectangle(part.piece, angle) is not None
            for part in {(p.piece, p.turns): p for p in lay.parts}.values()
            for angle in part.turns.angles
        )
    )


def _sizes(part: Part) -> list[tuple[float, float, float]]:
    """Return (length, height, angle) of a part's turns that differ in size."""
    out: list[tuple[float, float, float]] = []
    for angle in part.turns.angles:
        rect = _rectangle(part.piece, angle)
        if rect is None:
            raise ValueError(f"part {part.name} is not a rectangle")
        length, height = rect[2] - rect[0], rect[3] - rect[1]
        if all(abs(length - other) > _SAME * max(length, height) for other, _, _ in out):
            out.append((length, height, angle))
    return out


def _common_unit(sizes: Iterable[float]) -> float | None:
    """Return the unit (mm) that all sizes are whole multiples of, if there is one.

    Euclid's algorithm, a remainder of 1e-9 of the largest size taken for none.
    """
    values = sorted(set(sizes))
    least = _SAME * values[-1]
    unit = values[0]
    for value in values[1:]:
        while value > least:
            unit, value = value, abs(math.remainder(unit, value))
    whole = [round(value / unit) for value in values]
    unit = values[-1] / whole[-1] if whole[-1] else unit
    good = all(abs(v - k * unit) <= _SAME * v for v, k in zip(values, whole, strict=True))
    return unit if good else None


def boxes_of(lay: Lay, *, along: float | None = None, across: float | None = None) -> Boxes:
    """Return a rectangular lay's boxes; parts that fit the strip in no turn have no size.

    Parameters
    ----------
    lay
        A lay for which `is_rectangular` holds.
    along, across
        What is added to every length and height (mm); the lay's spacing if not given.

    """
    strip = lay.stock
    assert strip.open_ended, "boxes are packed on a strip"
    along = lay.spacing if along is None else along
    across = lay.spacing if across is None else across
    every = [_sizes(part) for part in lay.parts]
    longest = sum(max(max(s[0], s[1]) + along for s in sizes) for sizes in every)
    extent = max(longest, strip.width + across)
    numbers = {s for sizes in every for a, b, _ in sizes for s in (a, b)}
    unit = _common_unit([*numbers, *(g for g in (along, across) if g)])
    exact = unit is not None and extent / unit <= _LARGEST
    if unit is None or not exact:
        unit = extent / _LARGEST
    # What can't be exact is rounded outwards, unless a unit is far less than the judge lets pass:
    # then inwards, so that parts made to fill the width together still do.
    passes = unit <= 0.1 * TOLERANCE.contact * min(numbers)

    def whole(size: float) -> int:
        if exact:
            return round(size / unit)
        return math.floor(size / unit) if passes else math.ceil(size / unit)

    extra, up = whole(along), whole(across)
    # Parts that fill the width but for rounding may lie: the judge lets each of them reach beyond.
    beyond = _PASSED * TOLERANCE.contact * min(max(sizes[0][:2]) for sizes in every)
    width = math.floor((strip.width + beyond) / unit + 1e-6) + up
    items = []
    for sizes in every:
        ways = [(whole(a) + extra, whole(b) + up, angle) for a, b, angle in sizes]
        fits = [way for way in ways if way[1] <= width]
        items.append(Box(tuple((a, b) for a, b, _ in fits), tuple(w[2] for w in fits)))
    # What the judge lets pass between the parts of a row, which may be all, and at both its ends.
    row = 2.0 * (len(lay.parts) + 1) * TOLERANCE.contact * max(numbers)
    proves = exact and unit > row
    return Boxes(tuple(items), width, extra, up, unit, exact, proves)


def reachable(boxes: Boxes, limit: int, *, axis: int) -> int | None:
    """Return, as bits, the sums of lengths (axis 0) or heights (1) up to `limit`.

    In a packing pushed to the lower left every box lies at such a sum (Christofides and
    Whitlock, "An algorithm for two-dimensional cutting problems", Operations Research
    25, 1977), and the whole reaches to one. None if there are too many to keep.
    """
    if limit > 1 << 22:
        return None
    bits, mask = 1, (1 << (limit + 1)) - 1
    for box in boxes.items:
        more = bits
        for size in box.sizes:
            more |= bits << size[axis]
        bits = more & mask
    return bits


def marker_of(lay: Lay, boxes: Boxes, spots: Sequence[Spot | None]) -> Marker:
    """Return the marker for the spots of a lay's boxes (None: not laid)."""
    placements = []
    for index, (part, box, spot) in enumerate(zip(lay.parts, boxes.items, spots, strict=True)):
        if spot is None:
            continue
        angle = box.angles[spot.way]
        rect = _rectangle(part.piece, angle)
        assert rect is not None
        x, y = spot.x * boxes.unit, spot.y * boxes.unit
        placements.append(Placement(part=index, x=x - rect[0], y=y - rect[1], angle=angle))
    return Marker(lay=lay, placements=tuple(placements))


def spots_of(marker: Marker, boxes: Boxes) -> list[Spot | None] | None:
    """Return the spots of a marker's boxes, or None if it is no good packing of them."""
    spots: list[Spot | None] = [None] * len(boxes.items)
    laid: list[tuple[int, int, int, int]] = []
    for p in marker.placements:
        rect = _rectangle(marker.lay.parts[p.part].piece, p.angle)
        box = boxes.items[p.part]
        if rect is None or p.flipped:
            return None
        size = (rect[2] - rect[0], rect[3] - rect[1])
        ways = [k for k, s in enumerate(box.sizes) if _about(s, size, boxes)]
        if not ways:
            return None
        x, y = round((p.x + rect[0]) / boxes.unit), round((p.y + rect[1]) / boxes.unit)
        length, height = box.sizes[ways[0]]
        if x < 0 or y < 0 or y + height > boxes.width:
            return None
        if any(x < c and a < x + length and y < d and b < y + height for a, b, c, d in laid):
            return None
        laid.append((x, y, x + length, y + height))
        spots[p.part] = Spot(x, y, ways[0])
    return spots


def _about(size: tuple[int, int], true: tuple[float, float], boxes: Boxes) -> bool:
    off = (
        size[0] - boxes.along - true[0] / boxes.unit,
        size[1] - boxes.across - true[1] / boxes.unit,
    )
    return max(abs(off[0]), abs(off[1])) <= 1.0
