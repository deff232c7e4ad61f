"""From the marks of a job file to marks."""

from __future__ import annotations

from typing import Any

from nesting.job.desk import Desk
from nesting.job.locate import Place
from nesting.job.placing import put, spot_of
from nesting.job.shapes import closed_shape, drawn_paths
from nesting.job.tables.piece_table import MarkTable, given
from nesting.pattern.outline import clean_path
from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import Face, Hand, Mark, MarkKind, NotchStyle

__all__ = ["mark_from"]

_TEXT_HEIGHT = 6.0
"""Height of text that states none (mm; own choice)."""


def mark_from(table: MarkTable, place: Place, desk: Desk, *, drawn: Path) -> Mark:
    """Return the mark that a table describes, on a piece whose outline was drawn so."""
    kind = MarkKind(table.kind)
    if table.copies is not None and any(copy < 1 for copy in table.copies):
        raise desk.error("copies are counted from 1", (*place, "copies"))
    common: dict[str, Any] = {
        "kind": kind,
        "name": table.name,
        "copies": _set(table.copies),
        "hands": None if table.hands is None else frozenset(Hand(h) for h in table.hands),
        "materials": _set(table.materials),
        "face": Face(table.face),
    }
    if kind in (MarkKind.LINE, MarkKind.OUTLINE):
        path = _drawn_mark(table, place, desk, closed=kind is MarkKind.OUTLINE)
        spot = spot_of(table, place, desk, drawn=drawn)
        return Mark(path=path if spot is None else put(path, spot), **common)
    if given(table):
        raise desk.error(f"a {kind} has a place, not a shape", place, hint='give at = ["x", "y"]')
    spot = spot_of(table, place, desk, drawn=drawn)
    if table.at is None and spot is None:
        raise desk.error(
            f"the {kind} has no place", place, hint='give at = ["3 cm", "5 cm"], or edge = "top"'
        )
    if kind is MarkKind.NOTCH and table.in_:
        raise desk.error("a notch lies on the edge", (*place, "in"), hint="leave it out")
    if kind is MarkKind.TEXT and not table.text.strip():
        raise desk.error("the text mark has no text", place, hint='give text = "…"')
    return Mark(
        at=table.at if spot is None else spot.at,
        size=table.size or (_TEXT_HEIGHT if kind is MarkKind.TEXT else 0.0),
        width=table.width,
        angle=table.angle if kind is not MarkKind.TEXT else table.angle or 0.0,
        style=NotchStyle(table.style),
        mirrored=table.mirrored,
        text=table.text,
        **common,
    )


def _set(items: list[Any] | None) -> frozenset[Any] | None:
    return None if items is None else frozenset(items)


def _drawn_mark(table: MarkTable, place: Place, desk: Desk, *, closed: bool) -> Path:
    if closed:
        return closed_shape(table, place, desk)
    if table.points is not None:
        if len(table.points) < 2:
            raise desk.error("a line needs two points", (*place, "points"))
        path = Path.polyline(table.points, closed=False)
        path = path.transformed(Affine.move(*(table.at or (0.0, 0.0))))
    else:
        paths = drawn_paths(table, place, desk)
        if len(paths) != 1:
            raise desk.error(
                f"the path data holds {len(paths)} lines instead of one", (*place, "outline")
            )
        path = paths[0]
    with desk.at((*place, given(table)[0])):
        return clean_path(path)
