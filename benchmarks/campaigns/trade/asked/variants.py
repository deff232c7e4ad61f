"""Pieces as a line of the cutting list has them: folded back, trimmed, upright, mirrored."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from .amounts import Units, direction
from .goods import Goods
from .pattern import Mark, Piece, Way
from .shapes import Pt
from .widening import largest

__all__ = ["Variant", "mapped", "placed", "ready", "same", "words"]

_JAG = 3e-5
"""Corners that stick out no farther (mm) are of sampling, and must not be mitred."""


@dataclass(frozen=True)
class Variant:
    """A piece ready to cut (mm): its grain along x, the side up that is to be cut from.

    `motif`: what a print is centred on. `fold`: where it lies on the fold of folded cloth.
    """

    cut: Polygon
    motif: Pt
    points: dict[str, Pt]
    marks: tuple[Mark, ...]
    fold: tuple[Pt, Pt] | None
    sewn: bool


def mapped(area: BaseGeometry, way: Way) -> Polygon:
    """Return an area where a map puts it."""

    def moved(points: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.array([way((x, y)) for x, y in points])

    return cast(Polygon, shapely.transform(area, moved))


def turned(degrees: float) -> Way:
    """Return the turn about the origin, counter-clockwise."""
    quarters, rest = divmod(degrees % 360.0, 90.0)
    if rest == 0.0:
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarters) % 4]
    else:
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return lambda p: (c * p[0] - s * p[1], s * p[0] + c * p[1])


def placed(x: float, y: float, angle: float, flipped: bool) -> Way:
    """Return the map of a placement: reflected in the x axis, turned, moved."""
    turn = turned(angle)

    def way(p: Pt) -> Pt:
        u, v = turn((p[0], -p[1] if flipped else p[1]))
        return u + x, v + y

    return way


def ready(piece: Piece, cut: dict[str, Any], goods: Goods, hand: str, units: Units) -> Variant:
    """Return a piece as a line of the cutting list has it."""
    area, sew = piece.cut, piece.sew
    marks, points, motif = piece.marks, piece.points, piece.motif
    fold = piece.fold
    if cut.get("folded_back"):
        assert piece.fold_back is not None
        keep = _right_of(piece.fold_back)
        area = largest(area.intersection(keep))
        sew = None if sew is None else largest(sew.intersection(keep))
        close = keep.buffer(0.02)
        points = {name: p for name, p in points.items() if close.covers(Point(p))}
        motif = motif if motif is not None and close.covers(Point(motif)) else None
        marks = tuple(kept for mark in marks if (kept := _on(mark, area.buffer(0.02))))
        fold = fold if fold is not None and _square(fold, piece.fold_back) else None
    if cut.get("trimmed"):
        assert sew is not None
        inner = _wider(sew, -units.mm(cut.get("gap", 0)))
        holes = [Polygon(ring) for ring in area.interiors]
        area = largest(inner.difference(shapely.union_all(holes)))
        sew = None
        marks = tuple(mark for mark in marks if _on(mark, area.buffer(0.03), whole=True))
    if rough := units.mm(cut.get("rough_margin", 0)):
        area, sew = Polygon(_wider(Polygon(area.exterior), rough).exterior), None
        marks = tuple(mark for mark in marks if mark.kind == "text")
    turn = turned(-(piece.grain + direction(cut.get("grain", 0))))
    grow_x, grow_y = goods.larger
    mirror = -1.0 if (hand == "left") != goods.wrong_side_up else 1.0

    def way(p: Pt) -> Pt:
        u, v = turn(p)
        return u * grow_x, v * grow_y * mirror

    seen = mapped(area if sew is None else sew, way)
    x0, y0, x1, y1 = seen.bounds
    return Variant(
        cut=mapped(area, way),
        motif=way(motif) if motif is not None else ((x0 + x1) / 2.0, (y0 + y1) / 2.0),
        points={name: way(p) for name, p in points.items()},
        marks=tuple(mark.moved(way) for mark in marks),
        fold=None if fold is None else (way(fold[0]), way(fold[1])),
        sewn=sew is not None,
    )


def _wider(area: Polygon, by: float) -> Polygon:
    """Return an area so much (mm) larger all round, or smaller; corners mitred."""
    smooth = area.simplify(_JAG)
    return largest(smooth.buffer(by, join_style="mitre", mitre_limit=4.0))


def _right_of(line: tuple[Pt, Pt]) -> Polygon:
    """Return what lies on the right of a line, as far as any piece goes."""
    (x0, y0), (x1, y1) = line
    far = 1e5 / math.dist(*line)
    ux, uy = (x1 - x0) * far, (y1 - y0) * far
    a, b = (x0 - ux, y0 - uy), (x1 + ux, y1 + uy)
    return Polygon([a, b, (b[0] + uy, b[1] - ux), (a[0] + uy, a[1] - ux)])


def _square(one: tuple[Pt, Pt], other: tuple[Pt, Pt]) -> bool:
    ax, ay = one[1][0] - one[0][0], one[1][1] - one[0][1]
    bx, by = other[1][0] - other[0][0], other[1][1] - other[0][1]
    return abs(ax * bx + ay * by) <= 1e-6 * math.dist(*one) * math.dist(*other)


def _on(mark: Mark, area: BaseGeometry, *, whole: bool = False) -> Mark | None:
    """Return what of a mark lies in an area; `whole`: all of it or nothing."""
    if mark.line:
        line = shapely.LineString(mark.line)
        if area.covers(line):
            return mark
        inside = line.intersection(area)
        if whole or inside.length <= 0.05:
            return None
        runs = getattr(shapely.line_merge(inside), "geoms", [shapely.line_merge(inside)])
        longest = max(runs, key=lambda run: run.length)
        return Mark("line", None, tuple(longest.coords), 0.0, "", mark.face, mark.copies,
                    mark.hands, mark.materials)  # fmt: skip
    made: BaseGeometry = Point(mark.at or (math.inf, math.inf))
    if mark.kind == "drill" and mark.size:
        made = made.buffer(mark.size / 2.0)
    return mark if area.covers(made) else None


def words(cut: dict[str, Any]) -> str:
    """Say the variant of a line of the cutting list as labels do."""
    said = ["reversed"] if cut.get("reversed") else []
    said += ["folded back"] if cut.get("folded_back") else []
    said += ["trimmed"] if cut.get("trimmed") else []
    said += ["rough cut"] if cut.get("rough_margin") else []
    if grain := direction(cut.get("grain", 0)):
        said.append({90.0: "across", 45.0: "bias"}.get(grain, f"grain {grain:g}°"))
    return ", ".join(said)


def same(one: BaseGeometry, other: BaseGeometry, *, within: float = 0.02) -> bool:
    """Whether two areas are the same but for `within` mm along their edges."""
    off: float = one.symmetric_difference(other).area
    return off <= within * (one.length + 1.0)
