"""From the shapes of a job file to outlines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
from shapely import STRtree, prepare

from nesting.errors import PatternError
from nesting.job.desk import Desk
from nesting.job.locate import Place
from nesting.job.tables.piece_table import Shape, ShapeTable, given
from nesting.limits import MOST_HOLES
from nesting.pattern.measure import area, bounds
from nesting.pattern.outline import clean_outline, refuse_excess
from nesting.pattern.path import Affine, Line, Path, Point
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import circle, ellipse, polygon_path, rectangle
from nesting.pattern.svg_path import parse_path
from nesting.units import LENGTH_UNITS, LONGEST

__all__ = [
    "closed_shape",
    "drawn_paths",
    "outline_with_holes",
    "path_data",
    "refuse_other_unit",
]

_MOST_REPEATS = 1000
"""Points that may repeat the one before: slips of a drawing program are fewer (own choice)."""


def closed_shape(shape: Shape, place: Place, desk: Desk, *, hole: bool = False) -> Path:
    """Return the closed outline that a shape gives, clean and counter-clockwise (a hole not)."""
    paths = drawn_paths(shape, place, desk)
    with desk.at((*place, given(shape)[0])):
        if len(paths) != 1:
            raise PatternError(
                f"the path data holds {len(paths)} outlines instead of one",
                hint="give each its own table",
            )
        return clean_outline(paths[0], hole=hole)


def outline_with_holes(
    shape: Shape, holes: Sequence[ShapeTable], place: Place, desk: Desk
) -> tuple[Path, tuple[Path, ...]]:
    """Return an outline and its cut-outs: those in its path data, and those in `holes`.

    Of several outlines in the path data the largest is the outline.
    """
    paths = drawn_paths(shape, place, desk)
    there = (*place, given(shape)[0])
    with desk.at(there):
        largest = max(range(len(paths)), key=lambda i: area(paths[i]))
        outline = clean_outline(paths[largest])
        if len(paths) - 1 + len(holes) > MOST_HOLES:
            many = f"{len(paths) - 1 + len(holes):,} cut-outs, at most {MOST_HOLES:,} are read"
            raise PatternError(f"it has {many}", hint="leave some out")
        inner = [(clean_outline(p, hole=True), there) for i, p in enumerate(paths) if i != largest]
    for i, hole in enumerate(holes):
        here = (*place, "hole", i)
        inner.append((closed_shape(hole, here, desk, hole=True), here))
    whole = polygon(outline)
    prepare(whole)
    for path, where in inner:
        if not whole.contains_properly(polygon(path)):
            raise desk.error("the cut-out is not inside the outline", where, hint="move it")
    areas = np.array([polygon(path) for path, _ in inner], dtype=object)
    for i, j in STRtree(areas).query(areas, predicate="intersects").T.tolist():
        if j < i:
            raise desk.error("two cut-outs overlap", inner[i][1], hint="draw them as one")
    return outline, tuple(path for path, _ in inner)


def drawn_paths(shape: Shape, place: Place, desk: Desk) -> tuple[Path, ...]:
    """Return the paths of a shape as drawn."""
    ways = given(shape)
    if len(ways) != 1:
        told = f"gives {' and '.join(ways)}" if ways else "has no shape"
        raise desk.error(
            f"it {told}", place, hint="give one of outline, points, rectangle, circle, ellipse"
        )
    way = ways[0]
    if shape.corner_radius and way != "rectangle":
        raise desk.error("only a rectangle has a corner radius", (*place, "corner_radius"))
    with desk.at((*place, way)):
        if shape.rectangle is not None:
            return (
                rectangle(*shape.rectangle, radius=shape.corner_radius, at=shape.at or (0.0, 0.0)),
            )
        if shape.circle is not None:
            return (circle(shape.circle, centre=shape.at or (0.0, 0.0)),)
        if shape.ellipse is not None:
            return (ellipse(*shape.ellipse, centre=shape.at or (0.0, 0.0)),)
        if shape.points is not None:
            _refuse_repeats(pairwise(shape.points))
            found: tuple[Path, ...] = (polygon_path(shape.points),)
        else:
            found = path_data(shape.outline or "", shape.path_unit)
            _refuse_repeats((s.start, s.end) for p in found for s in p.segments if type(s) is Line)
        if not found:
            raise PatternError("the path data draws nothing", hint="begin it with M x,y")
        _refuse_far(found)
        for path in found:
            refuse_excess(path)
        if any(not path.segments for path in found):
            raise PatternError("all its points are the same", hint="it needs three corners")
        by = Affine.move(*(shape.at or (0.0, 0.0)))
        return tuple(path.transformed(by) for path in found)


def path_data(data: str, unit: str | None) -> tuple[Path, ...]:
    """Return the paths of path data in a unit (mm if None)."""
    found = parse_path(data)
    return found if unit is None else tuple(p.transformed(_scale(unit)) for p in found)


def refuse_other_unit(
    shape: Shape, outline: Path, place: Place, desk: Desk, usual: tuple[float, float]
) -> None:
    """Refuse path data that is small in mm and would be as usual in the unit of the file.

    `usual`: the longer side, mm, from the least to the most.
    """
    unit = desk.own_unit
    if shape.outline is None or shape.path_unit is not None or unit == "mm":
        return
    x0, y0, x1, y1 = bounds(outline)
    small, factor = max(x1 - x0, y1 - y0), LENGTH_UNITS[unit]
    if small < usual[0] <= small * factor <= usual[1]:
        raise desk.error(
            f"path data is in mm, so it is {x1 - x0:.4g} by {y1 - y0:.4g} mm; read as"
            f" the other numbers of this file it would be {x1 - x0:.4g} by {y1 - y0:.4g} {unit}",
            (*place, "outline"),
            hint=f'say path_unit = "{unit}", or "mm"',
        )


def _scale(unit: str) -> Affine:
    return Affine.scale(LENGTH_UNITS[unit])


def _refuse_far(paths: Sequence[Path]) -> None:
    """Refuse points farther away than any pattern has."""
    ends = [value for path in paths for s in path.segments for p in (s.start, s.end) for value in p]
    if not all(abs(value) <= LONGEST for value in ends):
        raise PatternError("a point lies more than 1 km away", hint="give coordinates in mm")


def _refuse_repeats(steps: Iterable[tuple[Point, Point]]) -> None:
    """Refuse a drawing with crowds of points that repeat the one before: it is not as meant."""
    repeats = sum(start == end for start, end in steps)
    if repeats > _MOST_REPEATS:
        raise PatternError(
            f"{repeats} of its points repeat the point before", hint="give each corner once"
        )
