"""Pieces of a job file as they are drawn: what is cut, what is sewn, what is marked."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, cast

import numpy as np
import shapely
from shapely import Polygon

from .amounts import Units, direction
from .shapes import Outline, Pt, drawn, holes_of, path_data
from .widening import largest, narrowed, widened

__all__ = ["Mark", "Piece", "Way", "mirror_in", "piece_of"]

Way = Callable[[Pt], Pt]

_SIDES = {"bottom": 1, "right": 2, "top": 3, "left": 4}
_ALLOWANCE = 10.0
"""Of a sewing line that says none (FORMAT.md)."""


@dataclass(frozen=True)
class Mark:
    """What is to be transferred: a place or a line (mm), and which cuts carry it."""

    kind: str
    at: Pt | None = None
    line: tuple[Pt, ...] = ()
    size: float = 0.0
    text: str = ""
    face: str = "right"
    copies: frozenset[int] | None = None
    hands: frozenset[str] | None = None
    materials: frozenset[str] | None = None

    def moved(self, way: Way) -> Mark:
        """Return the mark where a map puts it."""
        at = None if self.at is None else way(self.at)
        return replace(self, at=at, line=tuple(way(p) for p in self.line))

    def on(self, other: Mark) -> bool:
        """Whether it falls on another mark of its kind that the same cuts carry."""
        mine = (self.kind, self.face, self.size, self.copies, self.hands, self.materials)
        its = (other.kind, other.face, other.size, other.copies, other.hands, other.materials)
        if mine != its or (self.at is None) != (other.at is None):
            return False
        if self.at is not None and other.at is not None:
            return math.dist(self.at, other.at) <= 0.01
        far: float = shapely.hausdorff_distance(
            shapely.LineString(self.line), shapely.LineString(other.line)
        )
        return far <= 0.02


@dataclass(frozen=True)
class Piece:
    """A piece as drawn (mm): `cut` with its cut-outs, `sew` without."""

    name: str
    cut: Polygon
    sew: Polygon | None
    grain: float
    up_known: bool
    fold: tuple[Pt, Pt] | None
    fold_back: tuple[Pt, Pt] | None
    motif: Pt | None
    points: dict[str, Pt] = field(default_factory=dict)
    marks: tuple[Mark, ...] = ()


def mirror_in(axis: tuple[Pt, Pt]) -> Way:
    """Return the reflection in a line."""
    (x0, y0), (x1, y1) = axis
    ux, uy = (x1 - x0) / math.dist(*axis), (y1 - y0) / math.dist(*axis)

    def way(p: Pt) -> Pt:
        dx, dy = p[0] - x0, p[1] - y0
        along, off = dx * ux + dy * uy, dx * uy - dy * ux
        return x0 + along * ux - off * uy, y0 + along * uy + off * ux

    return way


def piece_of(table: dict[str, Any], units: Units) -> Piece:
    """Return the piece that a table describes."""
    if "strap" in table or "binding" in table:
        return _strip(table, units)
    outlines = sorted(drawn(table, units), key=lambda one: -one.area.area)
    outline, inner = outlines[0], [one.area for one in outlines[1:]]
    fold_edge = _fold_edge(table, outline, units)
    cut, sew = _lines(table, outline, fold_edge, units)
    cut = cast(Polygon, cut.difference(shapely.union_all([*inner, *holes_of(table, units)])))
    axis = _line(table, "fold_axis", units)
    marks = tuple(_settled(_mark(one, units), cut, sew) for one in table.get("mark", []))
    if fold_edge is not None:
        axis = _axis(outline, fold_edge)
        cut = _opened(cut, axis)
        sew = None if sew is None else Polygon(_opened(sew, axis).exterior)
        marks = tuple(both for mark in marks for both in _doubled(mark, axis))
    return Piece(
        name=table["name"],
        cut=cut,
        sew=sew,
        grain=direction(table.get("grain", 0)),
        up_known=table.get("up_known", True),
        fold=axis,
        fold_back=_line(table, "fold_back", units),
        motif=units.point(table["motif"]) if "motif" in table else None,
        points={name: units.point(p) for name, p in table.get("named_points", {}).items()},
        marks=marks,
    )


def _line(table: dict[str, Any], key: str, units: Units) -> tuple[Pt, Pt] | None:
    if key not in table:
        return None
    first, second = (units.point(p) for p in table[key])
    return first, second


def _strip(table: dict[str, Any], units: Units) -> Piece:
    """Return a strap folded in four, or the square of a bias binding."""
    said = table.get("seam_allowance", 0)
    seam = units.mm(said.get("all", 0) if isinstance(said, dict) else said)
    marks = [_mark(one, units) for one in table.get("mark", [])]
    if "strap" in table:
        length, width = units.point(table["strap"])
        box = shapely.box(0.0, 0.0, length + 2.0 * seam, 4.0 * width)
        folds = [((0.0, k * width), (length + 2.0 * seam, k * width)) for k in (1, 2, 3)]
        marks = [*(Mark(kind="line", line=fold) for fold in folds), *marks]
    else:  # the area of the strip as a square, up to a whole mm, and a seam allowance
        length, width = units.point(table["binding"])
        side = math.ceil(math.sqrt(length * width) + seam - 1e-3)
        box = shapely.box(0.0, 0.0, side, side)
    grain, known = direction(table.get("grain", 0)), table.get("up_known", True)
    return Piece(table["name"], box, None, grain, known, None, None, None, {}, tuple(marks))


def _lines(
    table: dict[str, Any], outline: Outline, fold_edge: int | None, units: Units
) -> tuple[Polygon, Polygon | None]:
    """Return what lies within the cutting and within the sewing line."""
    if "sewing_line" in table:
        runs = path_data(table["sewing_line"])[0]
        return outline.area, Polygon([p for run in runs for p in run[:-1]])
    sewn, said = table.get("line") == "sewing", table.get("seam_allowance")
    if said is None and not sewn:
        return outline.area, None
    by = _allowances(said, outline, fold_edge, units)
    if sewn:
        return widened(outline, by), outline.area
    return outline.area, narrowed(outline, by)


def _allowances(said: Any, outline: Outline, fold_edge: int | None, units: Units) -> list[float]:
    """Return the allowance of each segment of an outline; what lies on the fold has none."""
    each: dict[int, float] = {}
    everywhere = _ALLOWANCE
    if isinstance(said, dict):
        everywhere = units.mm(said.get("all", 0))
        each = {_SIDES.get(k) or int(k): units.mm(v) for k, v in said.items() if k != "all"}
    elif said is not None:
        everywhere = units.mm(said)
    if fold_edge is not None:
        each[fold_edge] = 0.0
    return [each.get(edge, everywhere) for edge in outline.edges()]


def _fold_edge(table: dict[str, Any], outline: Outline, units: Units) -> int | None:
    said = table.get("fold_edge")
    if said is None or isinstance(said, int):
        return said
    if isinstance(said, str):
        return _SIDES[said]
    (x0, y0), (x1, y1) = (units.point(p) for p in said)
    middle = shapely.Point((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    ring = [*outline.ring, outline.ring[0]]
    far = [shapely.LineString(pair).distance(middle) for pair in itertools.pairwise(ring)]
    return outline.edges()[far.index(min(far))]


def _axis(outline: Outline, edge: int) -> tuple[Pt, Pt]:
    """Return the ends of a straight edge."""
    edges, n = outline.edges(), len(outline.ring)
    first = next(k for k in range(n) if edges[k] == edge and edges[k - 1] != edge)
    last = first
    while edges[(last + 1) % n] == edge:
        last = (last + 1) % n
    return outline.ring[first], outline.ring[(last + 1) % n]


def _opened(half: Polygon, axis: tuple[Pt, Pt]) -> Polygon:
    """Return a half and its mirror image as one; a hair between them is closed."""
    way = mirror_in(axis)
    image = shapely.transform(half, lambda points: np.array([way((x, y)) for x, y in points]))
    both = shapely.union_all([half.buffer(1e-6, join_style="mitre"), image])
    return largest(both)


def _doubled(mark: Mark, axis: tuple[Pt, Pt]) -> tuple[Mark, ...]:
    """Return a mark of a half on both halves; text, and what lies on the fold, once."""
    image = mark.moved(mirror_in(axis))
    places = [mark.at] if mark.at is not None else list(mark.line)
    images = [image.at] if image.at is not None else list(image.line)
    still = all(
        p is not None and q is not None and math.dist(p, q) <= 0.02
        for p, q in zip(places, images, strict=True)
    )
    return (mark,) if mark.kind == "text" or still else (mark, image)


def _mark(table: dict[str, Any], units: Units) -> Mark:
    kind = table["kind"]
    line: tuple[Pt, ...] = ()
    at = units.point(table["at"]) if "at" in table else None
    if kind in ("line", "outline"):
        if kind == "line" and "points" in table:
            line = tuple(units.point(p) for p in table["points"])
        elif kind == "line":
            runs = path_data(table["outline"])[0]
            line = tuple([p for run in runs for p in run[:-1]] + [runs[-1][-1]])
        else:
            ring = drawn(table, units)[0].ring
            line = (*ring, ring[0])
        at = None
    return Mark(
        kind=kind,
        at=at,
        line=line,
        size=units.mm(table.get("size", 0)),
        text=table.get("text", ""),
        face=table.get("face", "right"),
        copies=_some(table.get("copies")),
        hands=_some(table.get("hands")),
        materials=_some(table.get("materials")),
    )


def _settled(mark: Mark, cut: Polygon, sew: Polygon | None) -> Mark:
    """Return a notch moved from the sewing line out to the cutting line, square to it."""
    if mark.kind != "notch" or mark.at is None:
        return mark
    at = shapely.Point(mark.at)
    if sew is None or cut.exterior.distance(at) <= min(sew.exterior.distance(at), 1.0):
        return mark
    there = shapely.shortest_line(at, cut.exterior).coords[-1]
    return replace(mark, at=(there[0], there[1]))


def _some(said: Any) -> frozenset[Any] | None:
    if said is None:
        return None
    return frozenset(said if isinstance(said, list) else [said])
