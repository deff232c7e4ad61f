"""Outlines and lengths of a stored plan that are none, or lie beyond reason."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from nesting.errors import PatternError, PlanError
from nesting.limits import LONGEST, MOST_HOLES, MOST_MARKS
from nesting.material.material import Material
from nesting.pattern.outline import refuse_excess
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.quantity import Unit

__all__ = ["AGAIN", "goods_outlines", "refuse_bad_outline", "refuse_bad_piece", "refuse_long"]

AGAIN = "lay the job again"

_FAR = 4.0 * LONGEST
"""Points of a shape may lie so far off (mm): pieces are moved, turned and mirrored."""


@lru_cache(maxsize=4096)
def refuse_bad_piece(piece: Piece, field: str) -> None:
    """Refuse a piece of too many holes or marks, or with an outline that is none."""
    if len(piece.marks) > MOST_MARKS:
        raise PlanError(f"has {len(piece.marks):,} marks, at most {MOST_MARKS:,}", field=field)
    if len(piece.holes) > MOST_HOLES:
        raise PlanError(f"has {len(piece.holes):,} cut-outs, at most {MOST_HOLES:,}", field=field)
    for path in (piece.cut, *piece.holes, *([piece.sew] if piece.sew else [])):
        refuse_bad_outline(path, field)
    for mark in piece.marks:
        if mark.path is not None:
            _refuse_bad_path(mark.path, field)
        if mark.at is not None and not max(map(abs, mark.at)) <= _FAR:
            raise PlanError("a mark lies more than 1 km away", field=field, hint=AGAIN)
        refuse_long(mark.size, field)
        refuse_long(mark.width, field)


def goods_outlines(material: Material, where: str) -> Iterator[tuple[str, Path]]:
    """Yield each outline that is drawn of some goods, with its field."""
    field = "hides" if material.is_leather else "remnants"
    for i, one in enumerate(material.drawn):
        for path in one.paths:
            yield f"{where}.{field}.{i}", path
    if material.taken_in is Unit.SHEETS:
        refuse_long(material.length, f"{where}.length")
        refuse_long(material.width, f"{where}.width")


@lru_cache(maxsize=4096)
def refuse_bad_outline(path: Path, field: str) -> None:
    """Refuse an outline that is open or beyond reason."""
    _refuse_bad_path(path, field)
    for here, after in zip(path.segments, path.segments[1:] + path.segments[:1], strict=True):
        if math.dist(here.end, after.start) > 1e-6 * max(1.0, *map(abs, here.end)):
            raise PlanError("an outline has a gap or is open", field=field, hint=AGAIN)


def _refuse_bad_path(path: Path, field: str) -> None:
    if not path.segments:
        raise PlanError("an outline is empty", field=field, hint=AGAIN)
    try:
        refuse_excess(path)
    except PatternError as error:
        raise PlanError(error.what, field=field, hint=AGAIN) from error
    for segment in path.segments:
        if not max(map(abs, (*segment.start, *segment.end))) <= _FAR:
            raise PlanError("a point lies more than 1 km away", field=field, hint=AGAIN)


def refuse_long(value: float, field: str) -> None:
    """Refuse what is no length."""
    if not 0.0 <= value <= LONGEST:
        raise PlanError("is no length from 0 to 1 km", field=field, hint=AGAIN)
