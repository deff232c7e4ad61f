"""The variants in which a piece is cut, and pieces mapped as a whole."""

from __future__ import annotations

from dataclasses import replace

from shapely import Point as ShapelyPoint

from nesting.errors import Finding, PatternError
from nesting.pattern.marks.marked import beyond
from nesting.pattern.parallel.allowance import add_allowance, inset
from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import Hand, Mark, MarkKind, Piece
from nesting.pattern.polygon import polygon
from nesting.pattern.variants.transform import dropped_mark, transformed

__all__ = [
    "marks_for",
    "mirrored",
    "rough_cut",
    "stretched",
    "trimmed",
    "upright",
]

INSIDE = 1e-6
"""A mark this far (mm) outside an outline still belongs to it."""


def upright(piece: Piece) -> Piece:
    """Return the piece turned about the origin so that its grain runs along +x."""
    return replace(transformed(piece, Affine.turn(-piece.grain)), grain=0.0)


def mirrored(piece: Piece) -> Piece:
    """Return the piece reflected in its grain line (through the origin): right becomes left."""
    if piece.grain % 180.0 == 0.0:
        across = Affine.mirror()
    else:
        turn = Affine.turn(piece.grain)
        across = turn.after(Affine.mirror()).after(Affine.turn(-piece.grain))
    return replace(transformed(piece, across), grain=piece.grain)


def trimmed(piece: Piece, gap: float = 0.0) -> tuple[Piece, tuple[Finding, ...]]:
    """Return the piece cut on its sewing line, a further `gap` (mm) inside if asked.

    For stabiliser that must stay out of the seams. Corners are mitred. Marks in the
    allowance go; they and any narrow bits lost are told.

    Raises
    ------
    PatternError
        If the piece has no sewing line, nothing is left of it, or a cut-out would
        run into its edge.

    """
    if piece.sew is None:
        raise PatternError(
            f"piece {piece.name!r} can't be trimmed: it has no sewing line",
            hint="give its seam allowance or its sewing line",
        )
    try:
        cut, lost = inset(piece.sew, gap)
    except PatternError as error:
        raise PatternError(f"piece {piece.name!r}: {error.what}", hint=error.hint) from None
    inside = polygon(cut)
    for hole in piece.holes:
        if not inside.contains(polygon(hole)):
            raise PatternError(
                f"piece {piece.name!r}: a cut-out runs into the edge once the allowance is trimmed"
            )
    kept, dropped = _split_marks(piece, cut)
    out = replace(piece, cut=cut, sew=None, marks=kept)
    named = tuple(
        replace(finding, text=f"{piece.name}: {finding.text}", parts=(piece.name,))
        for finding in lost
    )
    return out, (*named, *dropped)


def _split_marks(piece: Piece, outline: Path) -> tuple[tuple[Mark, ...], tuple[Finding, ...]]:
    """Return the marks within an outline, and a note for each other one."""
    trimmed_to = replace(piece, cut=outline)
    inside = polygon(outline).buffer(INSIDE)
    kept, dropped = [], []
    for mark in piece.marks:
        points = mark.path.points(0.1) if mark.path is not None else ()
        points = points or ((mark.at,) if mark.at is not None else ())
        there = all(inside.covers(ShapelyPoint(point)) for point in points)
        if there and (mark.kind is MarkKind.NOTCH or not beyond(mark, trimmed_to)):
            kept.append(mark)
        else:
            dropped.append(dropped_mark(piece, mark, "lies in the seam allowance that is trimmed"))
    return tuple(kept), tuple(dropped)


def rough_cut(piece: Piece, by: float) -> Piece:
    """Return the piece cut roughly `by` (mm) larger all round, corners mitred.

    For block fusing: it is cut fine afterwards, so cut-outs, sewing line and all marks
    but text go.
    """
    return replace(
        piece,
        cut=add_allowance(piece.cut, by),
        holes=(),
        sew=None,
        marks=tuple(mark for mark in piece.marks if mark.kind is MarkKind.TEXT),
    )


def stretched(piece: Piece, *, along: float = 0.0, across: float = 0.0) -> Piece:
    """Return the piece cut larger, so that it shrinks to size.

    `along`, `across`: shares lost along and across the grain; the factors are
    1/(1 − share), as cloth is bought (Definition of shrinkage: (before − after)/before).
    """
    for share in (along, across):
        if not 0.0 <= share < 1.0:
            raise PatternError(f"shrinkage has to be from 0 to less than 1, got {share:g}")
    grow = Affine(1.0 / (1.0 - along), 0.0, 0.0, 1.0 / (1.0 - across))
    turn, back = Affine.turn(piece.grain), Affine.turn(-piece.grain)
    return replace(transformed(piece, turn.after(grow).after(back)), grain=piece.grain)


def marks_for(
    piece: Piece, *, material: str, copy: int = 1, hand: Hand = Hand.RIGHT
) -> tuple[Mark, ...]:
    """Return the marks that a cut carries: of this material, copy (from 1) and hand."""
    return tuple(
        mark
        for mark in piece.marks
        if (mark.materials is None or material in mark.materials)
        and (mark.copies is None or copy in mark.copies)
        and (mark.hands is None or hand in mark.hands)
    )
