"""Where notches sit on the cutting line."""

from __future__ import annotations

from dataclasses import dataclass, replace

from nesting.errors import PatternError
from nesting.pattern.meeting import meeting
from nesting.pattern.nearest import Nearest, inward, nearest
from nesting.pattern.path import Affine, Line, Path, Point
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.tolerance import TOLERANCE

__all__ = [
    "NotchPlace",
    "first_hit",
    "notch_place",
    "settled_notches",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class NotchPlace:
    """A notch on the cutting line: its point there, and the unit direction into the piece."""

    at: Point
    into: Point
    segment: int
    t: float


def notch_place(mark: Mark, cut: Path) -> NotchPlace:
    """Return where a notch sits on a counter-clockwise cutting line.

    Its point is moved onto the line; its direction is square to the line unless the
    mark states one.

    Raises
    ------
    PatternError
        If it is farther than `TOLERANCE.on_edge` from the line.

    """
    place = nearest(cut, _at(mark))
    if place.distance > TOLERANCE.on_edge:
        raise _off_edge(mark, place)
    into = inward(cut, place)
    if mark.angle is not None:
        turn = Affine.turn(mark.angle)
        into = (turn.a, turn.c)
    return NotchPlace(at=place.point, into=into, segment=place.segment, t=place.t)


def _at(mark: Mark) -> Point:
    if mark.at is None:
        raise PatternError(f"{_named(mark)} has no point")
    return mark.at


def _named(mark: Mark) -> str:
    return f"notch {mark.name!r}" if mark.name else "a notch"


def _off_edge(mark: Mark, place: Nearest) -> PatternError:
    x, y = _at(mark)
    return PatternError(
        f"{_named(mark)} at ({x:.6g}, {y:.6g}) is off the edge by {place.distance:.4g} mm",
        hint=f"put it on the cutting or the sewing line, to {TOLERANCE.on_edge:g} mm",
    )


def settled_notches(piece: Piece) -> Piece:
    """Return the piece with its notches moved onto the cutting line.

    A notch drawn on the sewing line is carried out square to the sewing line.

    Raises
    ------
    PatternError
        If a notch is on neither line.

    """
    marks = tuple(
        _settled(mark, piece) if mark.kind is MarkKind.NOTCH else mark for mark in piece.marks
    )
    return replace(piece, marks=marks)


def _settled(mark: Mark, piece: Piece) -> Mark:
    at = _at(mark)
    on_cut = nearest(piece.cut, at)
    on_sew = None if piece.sew is None else nearest(piece.sew, at)
    if on_sew is None or on_cut.distance <= min(on_sew.distance, TOLERANCE.on_edge):
        if on_cut.distance > TOLERANCE.on_edge:
            raise _off_edge(mark, on_cut)
        return replace(mark, at=on_cut.point)
    if on_sew.distance > TOLERANCE.on_edge:
        raise _off_edge(mark, min(on_cut, on_sew, key=lambda place: place.distance))
    assert piece.sew is not None
    ix, iy = inward(piece.sew, on_sew)
    out = first_hit(piece.cut, on_sew.point, (-ix, -iy))
    return replace(mark, at=on_cut.point if out is None else out)


def first_hit(path: Path, start: Point, along: Point) -> Point | None:
    """Return where a ray first meets a path."""
    far = 1e4
    ray = Line(start, (start[0] + far * along[0], start[1] + far * along[1]))
    hits = [meeting(ray, segment)[0][0] for segment in path.segments if meeting(ray, segment)]
    return ray.at(min(hits)) if hits else None
