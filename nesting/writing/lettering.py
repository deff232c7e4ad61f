"""Where lines of text and a grain arrow fit inside a piece."""

from __future__ import annotations

import math
import unicodedata
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry as Area

from nesting.pattern.path import Path, Point
from nesting.pattern.piece import MarkKind, Piece
from nesting.pattern.polygon import piece_polygon

__all__ = ["LEADING", "TEXT_HEIGHT", "Block", "fit", "grain_arrow", "text_width"]

TEXT_HEIGHT = 4.0
"""Height (mm) of the capitals of texts to transfer that have none of their own."""

LEADING = 1.5
"""From one line of text to the next, in heights of its capitals."""

_CHORD = 0.1  # mm: for finding room, not for cutting
_SMALLEST = 0.4  # mm: text below is not worth its ink
_WIDE = 0.8  # an average letter of a sans serif, in heights of its capitals
_CLEAR = 1.0  # mm between text and anything else


@dataclass(frozen=True, slots=True)
class Block:
    """Room for lines of text in a piece's own coordinates: middle, direction, capitals' height.

    `option`: which of the texts offered fits there.
    """

    option: int
    at: Point
    angle: float
    height: float
    width: float
    lines: int

    @property
    def box(self) -> Polygon:
        """The rectangle taken (mm)."""
        return _box(self.at, self.angle, width=self.width, height=_tall(self.lines) * self.height)


def _box(at: Point, angle: float, *, width: float, height: float) -> Polygon:
    """Return a rectangle about `at`, its width in the direction of `angle` (degrees)."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    upright = shapely.box(-width / 2.0, -height / 2.0, width / 2.0, height / 2.0)
    return affine_transform(upright, (c, -s, s, c, *at))


def text_width(text: str) -> float:
    """Return roughly how wide a line runs, in heights of its capitals."""
    return sum(
        1.5 if unicodedata.east_asian_width(c) in "WF" else _WIDE
        for c in text
        if not unicodedata.combining(c)
    )


def _tall(lines: int) -> float:
    return 1.0 + LEADING * (lines - 1)


def fit(
    piece: Piece,
    texts: tuple[tuple[str, ...], ...],
    *,
    short: tuple[tuple[str, ...], ...] = (),
    tallest: float,
    readable: float,
    marks: bool = True,
) -> Block | None:
    """Return where one of `texts` fits best in the piece, or one of `short` if none can be read.

    Parameters
    ----------
    piece
        The part's piece.
    texts, short
        Ways to say it, each some lines, the best first; and abbreviations.
    tallest, readable
        Height of capitals (mm) not to exceed, and to be reached if possible.
    marks
        Whether to keep off the piece's marks if there is room beside them.

    Returns
    -------
    Block or None
        None if nothing at all fits.

    """
    shapes = tuple(
        (len(lines), max(text_width(line) for line in lines), lines in short)
        for lines in (*texts, *short)
    )
    return _fit(piece, shapes, tallest, readable, marks)


_Shape = tuple[int, float, bool]
"""Of a text: lines, width at height 1, whether it is an abbreviation."""


@dataclass(frozen=True, slots=True)
class _Room:
    """Where text may stand and how tall: area, the piece's middle and breadth (mm)."""

    area: Area
    centre: Point
    breadth: float
    tallest: float
    readable: float

    def cap(self, lines: int) -> float:
        """Return how tall to write at most: half the breadth is left for the grain arrow."""
        return min(self.tallest, max(self.readable, 0.5 * self.breadth / _tall(lines)))


@lru_cache(maxsize=4096)
def _fit(
    piece: Piece,
    shapes: tuple[_Shape, ...],
    tallest: float,
    readable: float,
    marks: bool,
) -> Block | None:
    whole = piece_polygon(piece, chord=_CHORD)
    radius = shapely.maximum_inscribed_circle(whole, tolerance=0.5).length
    inside = whole.buffer(-min(_CLEAR, radius / 8.0))
    room = _Room(inside, (whole.centroid.x, whole.centroid.y), 2.0 * radius, tallest, readable)
    if marks and piece.marks:
        beside = _roomiest(replace(room, area=_clear_of_marks(piece, inside)), shapes)
        if beside and beside.height >= readable and not shapes[beside.option][2]:
            return beside
    return _roomiest(room, shapes)


def _clear_of_marks(piece: Piece, inside: Area) -> Area:
    marks: list[Area] = []
    for mark in piece.marks:
        if mark.path is not None:
            points = mark.path.points(_CHORD)
            marks.append(LineString([*points, points[0]] if mark.path.closed else points))
        elif mark.at is not None and mark.kind is MarkKind.TEXT:
            height = mark.size or TEXT_HEIGHT
            width = height * text_width(mark.text or "")
            marks.append(_box(mark.at, mark.angle or 0.0, width=width, height=height))
        elif mark.at is not None and mark.kind is not MarkKind.NOTCH:
            marks.append(shapely.Point(mark.at).buffer(max(mark.size / 2.0, 0.5)))
    return inside.difference(shapely.union_all(marks).buffer(_CLEAR)) if marks else inside


def _roomiest(room: _Room, shapes: tuple[_Shape, ...]) -> Block | None:
    """Try every text at likely middles and directions."""
    if room.area.is_empty:
        return None
    shapely.prepare(room.area)
    angles = _directions(room.area)
    middles = sorted(_middles(room.area), key=lambda at: math.dist(at, room.centre))
    best: Block | None = None
    for option, (lines, width, short) in enumerate(shapes):
        trials = [(at, angle) for angle in angles for at in middles]
        heights = _heights(room.area, trials, (width, _tall(lines)), room.cap(lines))
        if not trials or max(heights) < _SMALLEST:
            continue
        i = max(range(len(trials)), key=lambda i: (round(heights[i], 2), -i))
        block = Block(option, *trials[i], heights[i], width * heights[i], lines)
        # A clearly taller one wins; an abbreviation never beats a
        # full text that can be read.
        if best is None or (
            block.height > 1.25 * best.height and not (short and best.height >= room.readable)
        ):
            best = block
    return best


def _heights(
    area: Area, trials: list[tuple[Point, float]], size: tuple[float, float], cap: float
) -> list[float]:
    """Return how tall (mm) text can grow about each middle and direction, by bisection.

    `size`: of its box at height 1.
    """
    at = np.array([point for point, _ in trials]).reshape(-1, 1, 2)
    turn = np.radians([angle for _, angle in trials])
    along = np.stack((np.cos(turn), np.sin(turn)), axis=-1)[:, None] * size[0] / 2.0
    up = np.stack((-np.sin(turn), np.cos(turn)), axis=-1)[:, None] * size[1] / 2.0
    unit = np.concatenate((-along - up, along - up, along + up, up - along), axis=1)
    low, high = np.zeros(len(trials)), np.full(len(trials), cap)
    for step in range(8):
        middle = high if step == 0 else (low + high) / 2.0
        good = shapely.contains(area, shapely.polygons(at + unit * middle[:, None, None]))
        low, high = np.where(good, middle, low), np.where(good, high, middle)
        if step == 0 and good.any():
            break  # nothing can be taller
    return [float(height) for height in low]


def _directions(area: Area) -> list[float]:
    """Return directions to write in (degrees): along the grain, along the shape, and across."""
    box = shapely.minimum_rotated_rectangle(area)
    angles = [0.0, 90.0]
    if isinstance(box, Polygon):
        (x0, y0), (x1, y1) = max(
            pairwise(box.exterior.coords[:3]), key=lambda edge: math.dist(*edge)
        )
        along = math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0
        angles += [along, (along + 90.0) % 180.0]
    return list(dict.fromkeys(round(angle, 6) for angle in angles))


def _middles(area: Area) -> list[Point]:
    """Return likely middles of text: of the whole, of the widest place, of long chords."""
    widest = _widest(area)
    x0, y0, x1, y1 = area.bounds
    points = [widest, (area.centroid.x, area.centroid.y)]
    for share in (0.5, 0.35, 0.65, 0.2, 0.8):
        y, x = y0 + share * (y1 - y0), x0 + share * (x1 - x0)
        for chord in (LineString([(x0, y), (x1, y)]), LineString([(x, y0), (x, y1)])):
            shared = shapely.get_parts(area.intersection(chord))
            pieces = [piece for piece in shared if not piece.is_empty]
            if pieces:
                longest = max(pieces, key=lambda piece: piece.length)
                points.append((longest.centroid.x, longest.centroid.y))
    inside = shapely.contains_xy(area, np.array(points))
    return [point for point, good in zip(points, inside, strict=True) if good]


def _widest(area: Area) -> Point:
    """Return the middle of the largest circle inside."""
    assert isinstance(area, Polygon | MultiPolygon)
    x, y = shapely.maximum_inscribed_circle(area, tolerance=0.5).coords[0]
    return (x, y)


def grain_arrow(piece: Piece, *, both: bool, block: Block | None) -> tuple[Path, ...]:
    """Return an arrow along the grain (+x), clear of the text `block`; none if there is no room.

    Parameters
    ----------
    piece
        The part's piece.
    both
        A head at either end: the piece may lie upside down.
    block
        The text it must not cross.

    """
    return _grain_arrow(piece, both, block)


@lru_cache(maxsize=4096)
def _grain_arrow(piece: Piece, both: bool, block: Block | None) -> tuple[Path, ...]:
    area = piece_polygon(piece, chord=_CHORD).buffer(-_CLEAR / 2.0)
    free = area if block is None else area.difference(block.box.buffer(_CLEAR + 0.4 * block.height))
    beside = _arrow_in(_clear_of_marks(piece, free), both) if piece.marks else ()
    return beside or _arrow_in(free, both)


def _arrow_in(free: Area, both: bool) -> tuple[Path, ...]:
    """Return the arrow that an area has room for."""
    chord = _longest_chord(free)
    if chord is None:
        return ()
    x0, x1, y, room = chord
    length = min(0.7 * (x1 - x0), 120.0)
    side = min(0.08 * length, 2.4, max(room, 0.3))
    for _ in range(6):
        arrow = _arrow(((x0 + x1) / 2.0, y), length, side, both)
        if all(free.contains(LineString(path.points(_CHORD))) for path in arrow):
            return arrow
        length, side = 0.8 * length, 0.6 * side
    return ()


def _arrow(middle: Point, length: float, side: float, both: bool) -> tuple[Path, ...]:
    """Return an arrow along x: its shaft and its heads, which reach `side` off the shaft."""
    x, y = middle
    start, end = (x - length / 2.0, y), (x + length / 2.0, y)
    paths = [Path.polyline([start, end], closed=False), _head(end, -side)]
    if both:
        paths.append(_head(start, side))
    return tuple(paths)


def _head(tip: Point, side: float) -> Path:
    x, y = tip
    back = x + 2.5 * side
    return Path.polyline([(back, y + abs(side)), tip, (back, y - abs(side))], closed=False)


def _longest_chord(area: Area) -> tuple[float, float, float, float] | None:
    """Return a chord along x that is long, central, with room: x0, x1, y, room (mm)."""
    if area.is_empty:
        return None
    x0, y0, x1, y1 = area.bounds
    middle, best, best_score = area.centroid.y, None, 4.0
    for share in np.linspace(0.05, 0.95, 19):
        y = float(y0 + share * (y1 - y0))
        for part in shapely.get_parts(area.intersection(LineString([(x0, y), (x1, y)]))):
            if part.geom_type != "LineString" or part.is_empty:
                continue
            (a, _), (b, _) = part.coords[0], part.coords[-1]
            a, b = min(a, b), max(a, b)
            spots = [shapely.Point(a + f * (b - a), y) for f in (0.3, 0.5, 0.7)]
            room = min(area.boundary.distance(spot) for spot in spots)
            central = 1.0 - 0.5 * abs(y - middle) / (y1 - y0)
            score = min(b - a, 180.0) * min(1.0, room / 3.0) * central
            if score > best_score:
                best, best_score = (a, b, y, room), score
    return best
