"""Marks of a job file put and moved by hand: what their keys are then, lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nesting.amounts import Amounts
from nesting.job.by_hand.drawn import Drawn
from nesting.job.tables.piece_table import MarkTable
from nesting.pattern.by_hand.snap import on_edge, to_edge
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Mark
from nesting.pattern.sides import centre, from_edge
from nesting.pattern.svg_path import format_path

__all__ = ["mark_table", "moved", "put_at", "taken_over", "worded"]

Keys = dict[str, Any]


def put_at(outline: Path, kind: str, at: Point, *, end: Point | None = None) -> Keys:
    """Return the keys that put a mark at a point of a piece whose outline was drawn so.

    A notch goes to the nearest edge; a line goes on to its `end`.
    """
    if kind == "notch":
        edge, along = on_edge(outline, at)
        return {"edge": edge, "along": along}
    if kind == "line":
        return {"points": [list(at), list(end or at)]}
    if kind == "outline":
        (x, y), (cx, cy) = at, centre(outline)
        return {"from_centre": [x - cx, y - cy]}
    return {"at": list(at)}


def moved(drawn: Drawn, index: int, table: MarkTable, by: Point) -> Keys:
    """Return the keys of a piece's mark that say where it is, after it was moved by so much.

    It stays measured from what it was measured from; a notch slides along the edges.
    """
    mark, (dx, dy), outline = drawn.marks[index], by, drawn.outline
    if mark.path is None and mark.at is not None:
        at = (mark.at[0] + dx, mark.at[1] + dy)
        if table.kind == "notch":
            return put_at(outline, "notch", at)
        if table.edge is not None:
            along, inwards = to_edge(outline, table.edge, at)
            return {"edge": table.edge, "along": along, "in": max(inwards, 0.0)}
    if table.edge is not None:
        return _along(outline, table, by)
    if table.from_centre is not None:
        x, y = table.from_centre
        return {"from_centre": [x + dx, y + dy]}
    x, y = table.at or (0.0, 0.0)
    return {"at": [x + dx, y + dy]}


def _along(outline: Path, table: MarkTable, by: Point) -> Keys:
    """Return the same for a shape that is measured from an edge."""
    assert table.edge is not None
    spot = from_edge(outline, table.edge, along=table.along)
    along, _ = to_edge(outline, table.edge, spot.at)
    aside = by[0] * spot.along[0] + by[1] * spot.along[1]
    inwards = (table.in_ or 0.0) + by[0] * spot.inward[0] + by[1] * spot.inward[1]
    return {"edge": table.edge, "along": max(along + aside, 0.0), "in": max(inwards, 0.0)}


def mark_table(keys: Mapping[str, Any], *, unit: str) -> MarkTable:
    """Return a mark's keys as they stand in a job file, lengths in mm; `unit`: of plain numbers."""
    return MarkTable.model_validate(dict(keys), context={"unit": unit})


def taken_over(mark: Mark) -> Keys:
    """Return the keys of a mark of a pattern file as one of the job file: it is the same mark."""
    keys: Keys = {"kind": mark.kind.value, "name": mark.name, "text": mark.text}
    if mark.path is not None:
        keys["outline"] = format_path(mark.path)
    elif mark.at is not None:
        keys["at"] = [_exact(number) for number in mark.at]
        keys["size"] = _exact(mark.size) if mark.size else None
        keys["width"] = _exact(mark.width) if mark.width else None
        keys["style"], keys["angle"] = mark.style.value, mark.angle
        keys["mirrored"] = mark.mirrored or None
    keys["copies"] = None if mark.copies is None else sorted(mark.copies)
    keys["hands"] = None if mark.hands is None else sorted(hand.value for hand in mark.hands)
    keys["materials"] = None if mark.materials is None else sorted(mark.materials)
    keys["face"] = mark.face.value
    return keys


def _exact(mm: float) -> str:
    return f"{round(mm, 6):.10g} mm"


def worded(keys: Mapping[str, Any], amounts: Amounts) -> Keys:
    """Return keys with their lengths as a hand writes them, in the job's units."""

    def said(value: Any) -> Any:
        if isinstance(value, list):
            return [said(one) for one in value]
        return amounts.by_hand(value) if isinstance(value, float) else value

    return {key: said(value) for key, value in keys.items()}
