"""Lines, arcs, curves and points of DXF entities (DXF reference, ENTITIES section)."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from ezdxf.math import OCS, bulge_center

from nesting.errors import PatternError
from nesting.pattern.path import Affine, Arc, Line, Point, Segment
from nesting.reading.dxf.splines import spline
from nesting.reading.dxf.tags import Entity
from nesting.reading.items import MAX_POINTS

__all__ = ["SHAPES", "flat"]


def flat(entity: Entity) -> Affine | None:
    """Return the map from the entity's own axes to the drawing's; None if it is tilted.

    Old plan entities carry an extrusion direction; (0, 0, −1) is drawn from behind, so
    that x runs the other way (DXF reference, "Arbitrary axis algorithm").
    """
    z = (entity.number(210), entity.number(220), entity.number(230, 1.0))
    size = math.hypot(*z)
    if size == 0.0 or math.hypot(z[0], z[1]) > 1e-6 * size:
        return None
    if z[2] > 0.0:
        return Affine()
    x, y = OCS((0, 0, -1)).to_wcs((1, 0, 0)), OCS((0, 0, -1)).to_wcs((0, 1, 0))
    return Affine(x.x, y.x, x.y, y.y)


def _line(entity: Entity) -> list[Segment]:
    start = (entity.number(10), entity.number(20))
    return [Line(start, (entity.number(11), entity.number(21)))]


def _solid(entity: Entity) -> list[Segment]:
    """Return the rim of a filled triangle or quadrilateral, whose last two corners are swapped."""
    corners = [(entity.number(10 + i), entity.number(20 + i)) for i in (0, 1, 2)]
    if entity.raw(13) is not None:
        corners.insert(2, (entity.number(13), entity.number(23)))
    return [Line(a, b) for a, b in pairwise([*corners, corners[0]]) if a != b]


def _arc(entity: Entity) -> list[Segment]:
    begin, end = entity.number(50), entity.number(51, 360.0)
    sweep = (end - begin) % 360.0 or 360.0
    return [_circular(entity, math.radians(begin), math.radians(sweep))]


def _circle(entity: Entity) -> list[Segment]:
    return [_circular(entity, 0.0, math.tau)]


def _circular(entity: Entity, begin: float, sweep: float) -> Arc:
    radius = abs(entity.number(40))
    return Arc((entity.number(10), entity.number(20)), (radius, 0.0), (0.0, radius), begin, sweep)


def _ellipse(entity: Entity) -> list[Segment]:
    u = (entity.number(11), entity.number(21))
    ratio = entity.number(40, 1.0) * (-1.0 if entity.number(230, 1.0) < 0.0 else 1.0)
    begin, end = entity.number(41), entity.number(42, math.tau)
    sweep = (end - begin) % math.tau
    if sweep < 1e-12 or abs(end - begin) >= math.tau - 1e-12:
        sweep = math.tau
    v = (-u[1] * ratio, u[0] * ratio)
    return [Arc((entity.number(10), entity.number(20)), u, v, begin, sweep)]


def _lwpolyline(entity: Entity) -> list[Segment]:
    count = (entity.end - entity.begin) // 2
    if count > 3 * MAX_POINTS:
        raise _too_long(entity.integer(90, count), entity.line)
    vertices: list[tuple[float, float, float]] = []
    for code, value in entity.tags():
        if code == 10:
            vertices.append((entity.as_number(value), 0.0, 0.0))
        elif code in (20, 42) and vertices:
            x, y, bulge = vertices[-1]
            number = entity.as_number(value)
            vertices[-1] = (x, number, bulge) if code == 20 else (x, y, number)
    return _bulged(vertices, closed=bool(entity.integer(70) & 1), line=entity.line)


def _polyline(entity: Entity) -> list[Segment]:
    flags = entity.integer(70)
    if flags & (16 | 64):
        raise PatternError(
            "a mesh is not a pattern piece", line=entity.line, hint="draw the outline as a polyline"
        )
    if len(entity.parts) > MAX_POINTS:
        raise _too_long(len(entity.parts), entity.line)
    vertices = [
        (part.number(10), part.number(20), part.number(42))
        for part in entity.parts
        if part.raw(70) is None or not part.integer(70) & 16  # the frame of a fitted spline
    ]
    return _bulged(vertices, closed=bool(flags & 1), line=entity.line)


def _too_long(count: int, line: int) -> PatternError:
    hint = f"at most {MAX_POINTS:,}"
    return PatternError(f"an outline of {count:,} points", line=line, hint=hint)


def _bulged(
    vertices: Sequence[tuple[float, float, float]], *, closed: bool, line: int
) -> list[Segment]:
    """Return straight and circular segments; bulge = tan(quarter of the arc's angle)."""
    if len(vertices) > MAX_POINTS:
        raise _too_long(len(vertices), line)
    ring = [*vertices, vertices[0]] if closed and vertices else vertices
    out: list[Segment] = []
    for (x0, y0, bulge), (x1, y1, _) in pairwise(ring):
        start, end = (x0, y0), (x1, y1)
        if start == end:
            continue
        out.append(_bulge(start, end, bulge) if abs(bulge) > 1e-9 else Line(start, end))
    return out


def _bulge(start: Point, end: Point, bulge: float) -> Arc:
    middle = bulge_center(start, end, bulge)
    radius = math.dist((middle.x, middle.y), start)
    begin = math.atan2(start[1] - middle.y, start[0] - middle.x)
    return Arc((middle.x, middle.y), (radius, 0.0), (0.0, radius), begin, 4.0 * math.atan(bulge))


SHAPES: dict[str, Callable[[Entity], list[Segment]]] = {
    "LINE": _line,
    "SOLID": _solid,
    "ARC": _arc,
    "CIRCLE": _circle,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "SPLINE": spline,
}
"""What each entity that can be drawn becomes, in its own axes."""
