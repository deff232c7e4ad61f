"""Notches as files draw them: points with numbers, or short lines at the edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

from shapely import LinearRing, Polygon, distance
from shapely import Point as ShapelyPoint
from shapely import points as shapely_points

from nesting.pattern.nearest import inward, nearest
from nesting.pattern.path import Line, Path, Point
from nesting.pattern.piece import Mark, MarkKind, NotchStyle
from nesting.reading.items import Item
from nesting.reading.unit.speech import Speech
from nesting.tolerance import TOLERANCE

__all__ = ["LONGEST_NOTCH", "ON_SEWING_LINE", "Edge", "is_notch_line", "notch_mark"]

LONGEST_NOTCH = 15.0
"""A short line at the edge that is longer than this (mm) is no notch; common practice,
no source."""

ON_SEWING_LINE = "was drawn on the sewing line and is carried out to the edge"

_SQUARE = math.cos(math.radians(35.0))


class Edge:
    """A closed line that is asked many times how far away it is."""

    def __init__(self, path: Path) -> None:
        self.path = path

    @cached_property
    def _ring(self) -> LinearRing:
        return LinearRing(self.path.points(TOLERANCE.chord))

    @cached_property
    def _area(self) -> Polygon:
        return Polygon(self._ring)

    def off(self, point: Point) -> float:
        """Return the distance (mm) of a point, to `TOLERANCE.chord`."""
        return float(self._ring.distance(ShapelyPoint(point)))

    def farthest(self, points: Sequence[Point]) -> float:
        """Return the distance (mm) of the point that is farthest from the line."""
        return float(distance(self._ring, shapely_points(points)).max())

    def holds(self, point: Point) -> bool:
        """Tell whether a point lies inside."""
        return bool(self._area.contains(ShapelyPoint(point)))


def is_notch_line(path: Path, cut: Edge) -> bool:
    """Tell whether a line for drawing is a notch: short, straight, one end on the edge, square."""
    if len(path.segments) != 1 or not isinstance(path.segments[0], Line):
        return False
    length = math.dist(path.start, path.end)
    if not 0.5 <= length <= LONGEST_NOTCH:
        return False
    ends = sorted((path.start, path.end), key=cut.off)
    if cut.off(ends[0]) > TOLERANCE.close or cut.off(ends[1]) < 0.5 * length:
        return False
    dx, dy = (path.end[0] - path.start[0]) / length, (path.end[1] - path.start[1]) / length
    nx, ny = inward(cut.path, nearest(cut.path, ends[0]))
    return abs(dx * nx + dy * ny) >= _SQUARE


def notch_mark(item: Item, cut: Edge, sew: Edge | None, say: Speech) -> tuple[Mark | None, str]:
    """Return the notch as a mark on the cutting line, and what had to be done to it.

    The mark is None if the notch lies farther than `TOLERANCE.on_edge` from the cutting
    and the sewing line; one on the sewing line stays there. A direction that points out
    of the piece is turned round.
    """
    if item.path is not None:
        drawn = _from_path(item, item.path, cut)
        item = replace(
            drawn,
            angle=None if item.square else drawn.angle,
            size=item.size if item.told else drawn.size,
        )
    assert item.at is not None
    at, note = item.at, ""
    off = cut.off(at)
    if off > TOLERANCE.on_edge:
        if sew is None or sew.off(at) > TOLERANCE.on_edge:
            return None, f"is {say.length(off)} off the edge"
        note = ON_SEWING_LINE
    angle = item.angle
    if angle is not None and _points_out(cut, at, angle):
        angle, note = (angle + 180.0) % 360.0, note or "pointed out of the piece; turned round"
    style = item.style
    if style is NotchStyle.SLIT and item.width > 0.0:
        style = NotchStyle.V
    mark = Mark(
        kind=MarkKind.NOTCH,
        name=item.text,
        at=at,
        size=item.size,
        width=item.width,
        angle=angle,
        style=style,
    )
    return mark, note


def _points_out(cut: Edge, at: Point, angle: float) -> bool:
    """Tell whether a direction leads out of the piece where the opposite leads into it."""
    dx, dy = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    step = TOLERANCE.on_edge + 0.1
    ahead, behind = (at[0] + step * dx, at[1] + step * dy), (at[0] - step * dx, at[1] - step * dy)
    return cut.holds(behind) and not cut.holds(ahead)


def _from_path(item: Item, path: Path, cut: Edge) -> Item:
    """Read a drawn notch: a line in from the edge, or a V, U or box with both ends on it."""
    points = path.points(TOLERANCE.search_chord)
    if path.closed:
        tip, mouth = max(points, key=cut.off), min(points, key=cut.off)
        return _between(item, mouth, tip, item.width)
    ends = (path.start, path.end)
    if len(path.segments) > 1 and max(map(cut.off, ends)) <= TOLERANCE.on_edge:
        middle = ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
        return _between(item, middle, _deepest(points, middle), math.dist(*ends))
    mouth, tip = sorted(ends, key=cut.off)
    return _between(item, mouth, tip, item.width)


def _deepest(points: tuple[Point, ...], mouth: Point) -> Point:
    middle = points[1:-1]
    far = max(math.dist(p, mouth) for p in middle)
    deep = [p for p in middle if math.dist(p, mouth) >= far - 1e-3]
    return (sum(p[0] for p in deep) / len(deep), sum(p[1] for p in deep) / len(deep))


def _between(item: Item, mouth: Point, tip: Point, width: float) -> Item:
    depth = math.dist(mouth, tip)
    angle = math.degrees(math.atan2(tip[1] - mouth[1], tip[0] - mouth[0]))
    return replace(item, path=None, at=mouth, size=depth, width=width, angle=angle)
