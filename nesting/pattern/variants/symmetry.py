"""Symmetries of a piece, so that no turn is searched twice."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely

from nesting.pattern.measure import bounds
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.polygon import piece_polygon

__all__ = ["ALIKE", "distinct_turns", "is_mirror_symmetric", "maps_on_itself", "same_shape"]

ALIKE = 0.005
"""Outlines nowhere farther apart than this (mm) count as the same (own choice)."""


def same_shape(piece: Piece, by: Affine, *, marks: bool = False, within: float = ALIKE) -> bool:
    """Whether the piece, mapped and then moved as it needs, lies on itself (to `within` mm).

    Centres of area are laid on each other. With `marks` its marks have to fall on marks
    of the same kind and style too; text is left aside.
    """
    here = piece_polygon(piece)
    there = piece_polygon(piece, by=by)
    a, b = here.centroid, there.centroid
    placed = Affine.move(a.x - b.x, a.y - b.y).after(by)
    if not _close(here.bounds, piece_polygon(piece, by=placed).bounds, within):
        return False
    back = _inverse(placed)
    same = _on_edges(here, placed, within) and _on_edges(here, back, within)
    return same and (not marks or _marks_alike(piece.marks, placed, within))


def _close(a: Iterable[float], b: Iterable[float], within: float) -> bool:
    return all(abs(x - y) <= within for x, y in zip(a, b, strict=True))


def _on_edges(area: shapely.Polygon, by: Affine, within: float) -> bool:
    """Whether every vertex, mapped, lies on an edge."""
    edge = area.boundary
    xy = shapely.get_coordinates(edge)
    moved = xy @ np.array([[by.a, by.c], [by.b, by.d]]) + np.array([by.e, by.f])
    shapely.prepare(edge)
    return bool(shapely.dwithin(edge, shapely.points(moved), within).all())


def _inverse(by: Affine) -> Affine:
    det = by.a * by.d - by.b * by.c
    a, b, c, d = by.d / det, -by.b / det, -by.c / det, by.a / det
    return Affine(a, b, c, d, -(a * by.e + b * by.f), -(c * by.e + d * by.f))


def maps_on_itself(piece: Piece, angle: float, *, marks: bool = False) -> bool:
    """Whether a turn by `angle` (degrees) leaves the piece as it is."""
    return same_shape(piece, Affine.turn(angle), marks=marks)


def distinct_turns(
    piece: Piece, angles: Iterable[float], *, marks: bool = False
) -> tuple[float, ...]:
    """Return those angles (degrees, in their order) at which the piece lies differently."""
    kept: list[float] = []
    for angle in angles:
        if not any(
            (angle - other) % 360.0 == 0.0 or maps_on_itself(piece, angle - other, marks=marks)
            for other in kept
        ):
            kept.append(angle)
    return tuple(kept)


def is_mirror_symmetric(
    piece: Piece, *, turns: Iterable[float] = (0.0,), marks: bool = False
) -> bool:
    """Whether the piece reflected in the x axis, then turned by one of `turns`, is itself.

    With the grain along +x and turns 0 (and 180 if the goods allow it) a mirrored pair
    of such a piece is two of the same.
    """
    return any(
        same_shape(piece, Affine.turn(angle).after(Affine.mirror()), marks=marks) for angle in turns
    )


def _marks_alike(marks: tuple[Mark, ...], by: Affine, within: float) -> bool:
    """Whether the mapped marks fall on marks of the same kind, one to one."""
    left = [mark for mark in marks if mark.kind is not MarkKind.TEXT]
    for mark in list(left):
        found = next((other for other in left if _mark_on(mark, other, by, within)), None)
        if found is None:
            return False
        left.remove(found)
    return True


def _mark_on(mark: Mark, other: Mark, by: Affine, within: float) -> bool:
    same = (
        mark.kind is other.kind
        and mark.style is other.style
        and mark.face is other.face
        and mark.size == other.size
        and mark.width == other.width
        and mark.copies == other.copies
        and mark.hands == other.hands
        and mark.materials == other.materials
    )
    if not same or (mark.at is None) != (other.at is None):
        return False
    if mark.at is not None and other.at is not None and not _near(by(mark.at), other.at, within):
        return False
    if (mark.path is None) != (other.path is None):
        return False
    return (
        mark.path is None or other.path is None or _paths_alike(mark.path, other.path, by, within)
    )


def _paths_alike(path: Path, other: Path, by: Affine, within: float) -> bool:
    moved = path.transformed(by)
    if not _close(bounds(moved), bounds(other), within):
        return False
    a = shapely.LineString([*moved.points(within / 5), moved.end])
    b = shapely.LineString([*other.points(within / 5), other.end])
    return bool(shapely.hausdorff_distance(a, b) <= within)


def _near(p: Point, q: Point, within: float) -> bool:
    return abs(p[0] - q[0]) <= within and abs(p[1] - q[1]) <= within
