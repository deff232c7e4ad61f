"""Pieces and marks mapped as a whole."""

from __future__ import annotations

import math
from dataclasses import replace

from nesting.errors import Finding, Severity
from nesting.pattern.measure import bounds, clockwise, counter_clockwise
from nesting.pattern.path import Affine, Point
from nesting.pattern.piece import Mark, MarkKind, Piece

__all__ = ["dropped_mark", "from_corner", "transformed", "transformed_mark"]


def transformed(piece: Piece, by: Affine) -> Piece:
    """Return the piece with everything on it mapped.

    Outlines keep their sense (counter-clockwise, holes clockwise) under a mirroring map
    too. Sizes of notches, drill holes and text do not change.
    """

    def line(ends: tuple[Point, Point] | None) -> tuple[Point, Point] | None:
        return None if ends is None else (by(ends[0]), by(ends[1]))

    fold_back = line(piece.fold_back)
    if fold_back is not None and by.mirrors:  # what lies on its left stays on its left
        fold_back = (fold_back[1], fold_back[0])
    return replace(
        piece,
        cut=counter_clockwise(piece.cut.transformed(by)),
        holes=tuple(clockwise(hole.transformed(by)) for hole in piece.holes),
        sew=None if piece.sew is None else counter_clockwise(piece.sew.transformed(by)),
        grain=_turned(piece.grain, by),
        marks=tuple(transformed_mark(mark, by) for mark in piece.marks),
        fold=line(piece.fold),
        fold_back=fold_back,
        motif=None if piece.motif is None else by(piece.motif),
        points=tuple((name, by(point)) for name, point in piece.points),
    )


def from_corner(piece: Piece) -> Piece:
    """Return the piece with everything on it measured from its own lower left corner."""
    x0, y0, _, _ = bounds(piece.cut)
    return piece if (x0, y0) == (0.0, 0.0) else transformed(piece, Affine.move(-x0, -y0))


def transformed_mark(mark: Mark, by: Affine) -> Mark:
    """Return a mark mapped; text stays readable, a one-sided notch changes its side."""
    angle = mark.angle
    if angle is None and mark.kind is MarkKind.TEXT:
        angle = 0.0
    return replace(
        mark,
        at=None if mark.at is None else by(mark.at),
        path=None if mark.path is None else mark.path.transformed(by),
        angle=None if angle is None else _turned(angle, by),
        mirrored=mark.mirrored != by.mirrors,
    )


def _turned(angle: float, by: Affine) -> float:
    """Return the direction (degrees, -180…180) that a direction is mapped to."""
    turn = Affine.turn(angle)
    x, y = by.vector((turn.a, turn.c))
    return math.degrees(math.atan2(y, x))


def dropped_mark(piece: Piece, mark: Mark, why: str) -> Finding:
    """Return the note that a mark is left out of a variant."""
    name = f" {mark.name!r}" if mark.name else ""
    return Finding(
        kind="mark-dropped",
        text=f"{piece.name}: {mark.kind.value}{name} {why}; it is left out",
        severity=Severity.NOTE,
        parts=(piece.name,),
        at=mark.at if mark.at is not None else mark.path.start if mark.path is not None else None,
    )
