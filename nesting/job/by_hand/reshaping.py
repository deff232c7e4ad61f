"""What a job file says of a drawn piece after points of its outline were changed by hand."""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from nesting.amounts import Amounts
from nesting.errors import JobError
from nesting.job.by_hand.drawn import Drawn
from nesting.job.shapes import path_data
from nesting.job.tables.fields import RECTANGLE_EDGES
from nesting.pattern.affine import Affine
from nesting.pattern.by_hand.reshape import (
    Reshaped,
    added_point,
    moved_point,
    outline_points,
    removed_point,
)
from nesting.pattern.measure import area, bounds
from nesting.pattern.path import Path, Point
from nesting.pattern.svg_path import format_path
from nesting.units import length

__all__ = ["SHAPES", "first_fold_back", "point_moved", "point_out", "point_put"]

Keys = dict[str, Any]

SHAPES = ("outline", "path_unit", "points", "rectangle", "corner_radius", "circle", "ellipse")
"""The keys of which a shape has some."""
_DIGITS = 5
"""Decimals of what is written, in the file's unit."""
_NUMBER = re.compile(r"-?\d+\.\d+(?:e-?\d+)?")


def point_moved(
    drawn: Drawn,
    table: Mapping[str, Any],
    number: int,
    *,
    amounts: Amounts,
    by: Point | None = None,
    to: Point | None = None,
) -> Keys:
    """Return what a piece's table says once a point of its outline is moved `by` so much or `to`.

    ``keys``: those of `SHAPES`, None where one goes; ``widths``: seam allowances by edges;
    ``fold``: the edge on the fold, ``sides``: for each mark the edge that it is measured from,
    all as edges are numbered then. What is not said there is left out. A place that was pointed
    at (`by`) is a whole one of the job's units.

    Raises
    ------
    PatternError, JobError
        There is no such point, or it can't go there.

    """
    points = outline_points(drawn.outline)
    if by is not None and 0 <= number < len(points):
        (x, y), (dx, dy) = points[number], by
        to = _pointed_at((x + dx, y + dy), amounts)
    return _told(table, moved_point(drawn.outline, number, to or (0.0, 0.0)), amounts)


def point_put(
    drawn: Drawn,
    table: Mapping[str, Any],
    at: Point,
    *,
    amounts: Amounts,
    to: Point | None = None,
) -> Keys:
    """Return the same once there is a point more, where the outline is nearest to `at`.

    `to`: it is pulled there.
    """
    made = added_point(drawn.outline, at)
    if to is not None:
        new = next(i for i, (a, b) in enumerate(pairwise(made.origins), 1) if a == b)
        moved = moved_point(made.outline, new, _pointed_at(to, amounts))
        made = Reshaped(drawn.outline, moved.outline, made.origins)
    return _told(table, made, amounts)


def point_out(drawn: Drawn, table: Mapping[str, Any], number: int, *, amounts: Amounts) -> Keys:
    """Return the same once a point is taken out."""
    return _told(table, removed_point(drawn.outline, number), amounts)


def _pointed_at(at: Point, amounts: Amounts) -> Point:
    return amounts.pointed_at(at[0]), amounts.pointed_at(at[1])


def _told(table: Mapping[str, Any], made: Reshaped, amounts: Amounts) -> Keys:
    said = {key: value for key, value in _renumbered(table, made).items() if value is not None}
    return {"keys": _shape_keys(table, made, unit=amounts.unit), **said}


def _shape_keys(table: Mapping[str, Any], made: Reshaped, *, unit: str) -> Keys:
    """Return the keys of `SHAPES` that give a changed outline; `at` stays.

    Corners of straight lines are `points` in the job's `unit`; what has curves is path data, in
    the unit of the path data that there was, with its cut-outs.
    """
    dx, dy = (length(one, unit=unit) for one in table.get("at", (0.0, 0.0)))
    outline = made.outline.transformed(Affine.move(-dx, -dy))
    keys: Keys = dict.fromkeys(SHAPES)
    held = [] if "outline" not in table else _others(str(table["outline"]))
    if outline.curved or held or "outline" in table:
        path_unit = table.get("path_unit")
        by = Affine.scale(1.0 / (1.0 if path_unit is None else length(1.0, unit=str(path_unit))))
        text = " ".join([format_path(outline, by), *map(format_path, held)])
        keys["outline"], keys["path_unit"] = _NUMBER.sub(_rounded, text), path_unit
        return keys
    one = length(1.0, unit=unit)
    keys["points"] = [[_plain(x / one), _plain(y / one)] for x, y in outline_points(outline)]
    return keys


def _plain(value: float) -> float | int:
    number = round(value, _DIGITS)
    return int(number) if number.is_integer() else number


def _others(data: str) -> list[Path]:
    """Return the outlines of path data but for the largest, in its own unit."""
    paths = path_data(data, None)
    largest = max(range(len(paths)), key=lambda i: area(paths[i]))
    return [path for i, path in enumerate(paths) if i != largest]


def _rounded(found: re.Match[str]) -> str:
    return f"{round(float(found[0]), _DIGITS):.12g}"


def _renumbered(table: Mapping[str, Any], made: Reshaped) -> Keys:
    """Return what a piece's table says by edges, for the edges as they are numbered now."""
    said, fold = table.get("seam_allowance"), table.get("fold_edge")
    marks = table.get("mark", [])
    return {
        "widths": _widths(said, made) if isinstance(said, Mapping) else None,
        "fold": None
        if fold is None or isinstance(fold, list)
        else _now(fold, made, what="the fold"),
        "sides": [
            _now(mark["edge"], made, what=f"a {mark.get('kind', 'mark')}")
            if isinstance(mark.get("edge"), int)
            else mark.get("edge")
            for mark in marks
        ],
    }


def _widths(said: Mapping[str, Any], made: Reshaped) -> Keys:
    old = {str(RECTANGLE_EDGES.get(str(key), key)): value for key, value in said.items()}
    every = {"all": old["all"]} if "all" in old else {}
    was = enumerate(made.edges_before, start=1)
    return every | {str(n): old[str(edge)] for n, edge in was if str(edge) in old}


def _now(edge: int | str, made: Reshaped, *, what: str) -> int:
    was = int(RECTANGLE_EDGES.get(str(edge), edge))
    for number, old in enumerate(made.edges_before, start=1):
        if old == was:
            return number
    raise JobError(f"{what} lies on an edge that would be gone", hint="change that first")


def first_fold_back(drawn: Drawn) -> tuple[Point, Point]:
    """Return a line across the middle of a piece, to begin with; what is above is left out."""
    x0, y0, x1, y1 = bounds(drawn.outline)
    middle = 0.5 * (y0 + y1)
    return (x0, middle), (x1, middle)
