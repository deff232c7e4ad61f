"""Where lines of text fit inside a piece."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry as Area

from nesting.pattern.marks.notch_shapes import notch_paths
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.polygon import piece_polygon
from nesting.writing.neutral.font import DROP, LEADING, RISE, text_width

__all__ = [
    "TEXT_HEIGHT",
    "UP",
    "Block",
    "Lettering",
    "fit",
    "fit_in",
    "free_of_marks",
    "ink_box",
    "raised",
    "text_box",
    "widest",
]

TEXT_HEIGHT = 4.0
"""Height (mm) of the capitals of texts to transfer that have none of their own."""

_CHORD = 0.1  # mm: for finding room, not for cutting
_LEAST = 0.7  # of what is readable: a key alone may be so small


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettering:
    """How large the names of parts are written: capitals' height in mm of the drawing.

    Below `readable`, an abbreviation is written, the key alone down to 0.7 of it, and else
    beside the part. `clear`: between text and anything else. What is that much on paper is
    more on a drawing that is shown smaller: see `shown`. `names`: write them at all. `arrows`: draw
    the grain. `leaders`: write beside parts that have no room. `breaks`: x at which the drawing is
    broken into rows.
    `joins_x`, `joins_y`: where sheets of it are joined; nothing is written across. `on_end`: it is
    shown turned by a right angle, and what is written across the grain is read the best.
    """

    tallest: float = 10.0
    readable: float = 2.5
    clear: float = 1.0
    names: bool = True
    arrows: bool = True
    leaders: bool = True
    see_through: bool = True
    breaks: tuple[float, ...] = ()
    joins_x: tuple[float, ...] = ()
    joins_y: tuple[float, ...] = ()
    on_end: bool = False

    @classmethod
    def shown(
        cls,
        scale: float,
        *,
        readable: float,
        clear: float = 0.6,
        breaks: Sequence[float] = (),
        on_end: bool = False,
    ) -> Lettering:
        """Return lettering for a drawing of which 1 mm is `scale` mm (or whatever) of paper."""
        return cls(
            tallest=2.0 * readable / scale,
            readable=readable / scale,
            clear=clear / scale,
            see_through=False,
            breaks=tuple(breaks),
            on_end=on_end,
        )

    def joins(self, box: tuple[float, float, float, float]) -> list[LineString]:
        """Return the lines at which sheets are joined, as far as they cross a box (mm)."""
        x0, y0, x1, y1 = box
        upright = [LineString([(x, y0), (x, y1)]) for x in self.joins_x]
        return upright + [LineString([(x0, y), (x1, y)]) for y in self.joins_y]

    @property
    def least(self) -> float:
        """How small a key may be (mm)."""
        return _LEAST * self.readable


@dataclass(frozen=True, slots=True)
class Block:
    """Room for lines of text: the middle of their ink, direction, capitals' height (mm).

    `option`: which of the texts offered fits there. `width`: of the longest line (mm).
    """

    option: int
    at: Point
    angle: float
    height: float
    width: float
    lines: int

    @property
    def box(self) -> Polygon:
        """The rectangle that the ink takes (mm)."""
        return _box(self.at, self.angle, width=self.width, height=_tall(self.lines) * self.height)


def _box(at: Point, angle: float, *, width: float, height: float) -> Polygon:
    """Return a rectangle about `at`, its width in the direction of `angle` (degrees)."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    upright = shapely.box(-width / 2.0, -height / 2.0, width / 2.0, height / 2.0)
    return affine_transform(upright, (c, -s, s, c, *at))


def _tall(lines: int) -> float:
    return 1.0 + RISE + DROP + LEADING * (lines - 1)


def raised(at: Point, angle: float, by: float) -> Point:
    """Return a point `by` (mm) above another, for text along `angle` (degrees)."""
    turn = math.radians(angle)
    return (at[0] - by * math.sin(turn), at[1] + by * math.cos(turn))


UP = (DROP - RISE) / 2.0
"""How far the middle of a line's capitals lies above that of its ink, in heights of capitals."""


def ink_box(text: str, at: Point, *, height: float, angle: float = 0.0) -> Polygon:
    """Return the box of a line whose ink has its middle at `at` (mm)."""
    return _box(at, angle, width=text_width(text) * height, height=_tall(1) * height)


def text_box(text: str, at: Point, *, height: float, angle: float = 0.0) -> Polygon:
    """Return the box of a line's ink (mm); `at` is the middle of its capitals."""
    return ink_box(text, raised(at, angle, -UP * height), height=height, angle=angle)


Texts = tuple[tuple[str, ...], ...]


def fit(
    piece: Piece,
    texts: Texts,
    *,
    short: Texts = (),
    lettering: Lettering,
    avoid: Sequence[Area] = (),
    rather: Sequence[Area] = (),
) -> Block | None:
    """Return where one of `texts` fits best in the piece, or one of `short` if none can be read.

    Parameters
    ----------
    piece
        The part's piece; its outline, cut-outs and marks are kept clear of.
    texts, short
        Ways to say it, each some lines, the best first; and abbreviations, of which the
        last is the key alone.
    lettering
        Heights of capitals not to exceed, and to be reached; what to keep clear.
    avoid, rather
        What else (mm, in the piece's coordinates) must not, and should not, be written on;
        the seam line is of the latter.

    Returns
    -------
    Block or None
        None if nothing fits; `Block.option` counts through `texts`, then `short`.

    """
    shapes = tuple(
        (len(lines), max(text_width(line) for line in lines)) for lines in (*texts, *short)
    )
    return _fit(piece, shapes, len(texts), lettering, tuple(avoid), tuple(rather))


_Shape = tuple[int, float]
"""Of a text: lines, width at height 1."""


@lru_cache(maxsize=4096)
def _fit(
    piece: Piece,
    shapes: tuple[_Shape, ...],
    full: int,
    lettering: Lettering,
    avoid: tuple[Area, ...],
    rather: tuple[Area, ...],
) -> Block | None:
    clear = lettering.clear
    room = free_of_marks(piece, clear=clear)
    if avoid:
        room = room.difference(shapely.union_all(avoid).buffer(clear))
    soft = list(rather)
    if piece.sew is not None:
        soft.append(LineString(_round(piece.sew)))
    inner = room.difference(shapely.union_all(soft).buffer(clear)) if soft else room
    rooms = [inner, room] if soft else [room]
    key = len(shapes) - 1
    trials = [(range(full), area, lettering.readable) for area in rooms]
    trials += [(range(full, key), area, lettering.readable) for area in rooms]
    trials += [(range(key, key + 1), area, lettering.least) for area in rooms]
    for options, area, least in trials:
        block = fit_in(
            area,
            {i: shapes[i] for i in options},
            lettering=lettering,
            least=least,
            angles=_across_first(area) if lettering.on_end else None,
        )
        if block is not None:
            return block
    return None


@lru_cache(maxsize=4096)
def free_of_marks(piece: Piece, *, clear: float) -> Area:
    """Return what of a piece is `clear` (mm) of its outline and of all that is drawn on it."""
    whole = piece_polygon(piece, chord=_CHORD)
    inside = whole.buffer(-clear)
    marks = [shape for mark in piece.marks for shape in _drawn(mark, piece.cut)]
    return inside.difference(shapely.union_all(marks).buffer(clear)) if marks else inside


def _drawn(mark: Mark, cut: Path) -> list[Area]:
    """Return what a mark looks like."""
    if mark.kind is MarkKind.NOTCH:
        return [LineString(_round(path)) for path in notch_paths(mark, cut)]
    if mark.path is not None:
        return [LineString(_round(mark.path))]
    if mark.at is None:
        return []
    if mark.kind is MarkKind.TEXT:
        size, angle = mark.size or TEXT_HEIGHT, mark.angle or 0.0
        return [text_box(mark.text or "", mark.at, height=size, angle=angle)]
    return [shapely.Point(mark.at).buffer(max(mark.size / 2.0, 0.5))]


def _round(path: Path) -> list[Point]:
    points = list(path.points(_CHORD))
    return [*points, points[0]] if path.closed or len(points) == 1 else points


def fit_in(
    area: Area,
    shapes: dict[int, _Shape],
    *,
    lettering: Lettering,
    least: float,
    angles: Sequence[float] | None = None,
) -> Block | None:
    """Return the best of some texts that fits an area at `least` (mm) high, if one does.

    `shapes`: lines and width at height 1, by option. `angles`: directions to try (degrees).
    """
    if area.area <= 0.0 or not shapes:
        return None
    shapely.prepare(area)
    x, y, radius = widest(area)
    middles = sorted(_middles(area, (x, y)), key=lambda at: math.dist(at, (x, y)))
    turned = _directions(area) if angles is None else angles
    trials = [(at, angle) for angle in turned for at in middles]
    best: Block | None = None
    for option, (lines, width) in shapes.items():
        # half the breadth is left for the grain arrow
        cap = min(lettering.tallest, max(lettering.readable, radius / _tall(lines)))
        if not trials or cap < least:
            continue
        floor = least if best is None else max(least, 1.25 * best.height)
        heights = _heights(area, trials, (width, _tall(lines)), cap, floor=floor)
        i = max(range(len(trials)), key=lambda i: (round(heights[i], 2), -i))
        if heights[i] >= least and (best is None or heights[i] > 1.25 * best.height):
            best = Block(option, *trials[i], heights[i], width * heights[i], lines)
    return best


_SAME = 0.011  # mm: heights may be as much apart that are the same once rounded


def _heights(
    area: Area,
    trials: list[tuple[Point, float]],
    size: tuple[float, float],
    cap: float,
    *,
    floor: float = 0.0,
) -> list[float]:
    """Return how tall (mm) text can grow about each middle and direction, by bisection.

    `size`: of its box at height 1. Where it stays lower than elsewhere, or than `floor`, it is
    not followed to the end: what is returned is then too little.
    """
    at = np.array([point for point, _ in trials]).reshape(-1, 1, 2)
    turn = np.radians([angle for _, angle in trials])
    along = np.stack((np.cos(turn), np.sin(turn)), axis=-1)[:, None] * size[0] / 2.0
    up = np.stack((-np.sin(turn), np.cos(turn)), axis=-1)[:, None] * size[1] / 2.0
    unit = np.concatenate((-along - up, along - up, along + up, up - along), axis=1)
    low, high = np.zeros(len(trials)), np.full(len(trials), cap)
    open_ = np.arange(len(trials))
    for step in range(8):
        middle = high[open_] if step == 0 else (low[open_] + high[open_]) / 2.0
        boxes = shapely.polygons(at[open_] + unit[open_] * middle[:, None, None])
        good = shapely.contains(area, boxes)
        low[open_], high[open_] = (
            np.where(good, middle, low[open_]),
            np.where(good, high[open_], middle),
        )
        if step == 0 and good.any():
            break  # nothing can be taller
        open_ = open_[high[open_] > max(floor, low.max()) - _SAME]
        if not len(open_):
            break
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


def _across_first(area: Area) -> list[float]:
    """Return the directions of text, those nearest to square to the grain first."""
    return sorted({90.0, *_directions(area)}, key=lambda angle: abs(angle - 90.0))


def _middles(area: Area, middle: Point) -> list[Point]:
    """Return likely middles of text: the widest place of each part of the area, long chords."""
    points = [middle, (area.centroid.x, area.centroid.y)]
    largest = sorted(shapely.get_parts(area), key=lambda part: -part.area)[:6]
    largest = [part for part in largest if part.area > 0.0]
    for part in largest:
        points.append(widest(part)[:2])
        points += _chord_middles(part)
    inside = shapely.contains_xy(area, np.array(points))
    return list(dict.fromkeys(point for point, good in zip(points, inside, strict=True) if good))


def _chord_middles(part: Area) -> list[Point]:
    """Return the middle of the longest stretch of some chords along and across an area."""
    x0, y0, x1, y1 = part.bounds
    chords = []
    for share in (0.5, 0.35, 0.65, 0.2, 0.8):
        y, x = y0 + share * (y1 - y0), x0 + share * (x1 - x0)
        chords += [[(x0, y), (x1, y)], [(x, y0), (x, y1)]]
    # All chords at once: one by one, most of the time went into the calls.
    pieces, chord = shapely.get_parts(
        shapely.intersection(part, shapely.linestrings(chords)), return_index=True
    )
    length = np.where(shapely.is_empty(pieces), -1.0, shapely.length(pieces))
    longest = [
        max(of, key=lambda i: length[i])
        for k in range(len(chords))
        if len(of := np.flatnonzero((chord == k) & (length >= 0.0)))
    ]
    return [(x, y) for x, y in shapely.get_coordinates(shapely.centroid(pieces[longest])).tolist()]


def widest(area: Area) -> tuple[float, float, float]:
    """Return the middle of the largest circle inside an area (mm), and its radius."""
    areas = [part for part in shapely.get_parts(area) if isinstance(part, Polygon)]
    tolerance = max(0.05, math.sqrt(area.area) / 100.0)
    spoke = shapely.maximum_inscribed_circle(MultiPolygon(areas), tolerance=tolerance)
    x, y = spoke.coords[0]
    return (x, y, spoke.length)
