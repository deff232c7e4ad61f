"""Notches as files draw them: points with numbers, or short lines at the edge."""

from __future__ import annotations

import math
from dataclasses import replace

from nesting.pattern.measure import Nearest, inward, nearest
from nesting.pattern.path import Line, Path, Point
from nesting.pattern.piece import Mark, MarkKind, NotchStyle
from nesting.reading.items import Item
from nesting.tolerance import TOLERANCE

__all__ = ["LONGEST_NOTCH", "is_notch_line", "notch_mark"]

LONGEST_NOTCH = 15.0
"""A short line at the edge that is longer than this (mm) is no notch; common practice,
no source."""

_SQUARE = math.cos(math.radians(35.0))


def is_notch_line(path: Path, cut: Path) -> bool:
    """Tell whether a line for drawing is a notch: short, straight, one end on the edge, square."""
    if len(path.segments) != 1 or not isinstance(path.segments[0], Line):
        return False
    length = math.dist(path.start, path.end)
    if not 0.5 <= length <= LONGEST_NOTCH:
        return False
    ends = sorted((nearest(cut, p) for p in (path.start, path.end)), key=lambda n: n.distance)
    if ends[0].distance > TOLERANCE.close or ends[1].distance < 0.5 * length:
        return False
    dx, dy = (path.end[0] - path.start[0]) / length, (path.end[1] - path.start[1]) / length
    nx, ny = inward(cut, ends[0])
    return abs(dx * nx + dy * ny) >= _SQUARE


def notch_mark(item: Item, cut: Path, sew: Path | None) -> tuple[Mark | None, str]:
    """Return the notch as a mark on the cutting line, and what had to be done to it.

    The mark is None if the notch lies farther than `TOLERANCE.on_edge` from the cutting
    and the sewing line. A direction that points out of the piece is turned round.
    """
    if item.path is not None:
        item = _from_path(item, item.path, cut)
    assert item.at is not None
    place = nearest(cut, item.at)
    note = ""
    at = item.at
    if place.distance > TOLERANCE.on_edge:
        if sew is None or nearest(sew, at).distance > TOLERANCE.on_edge:
            return None, f"is {place.distance:.3g} mm off the edge"
        at, note = place.point, "was drawn on the sewing line and is moved out to the edge"
    angle = item.angle
    if angle is not None:
        nx, ny = inward(cut, place)
        turn = math.radians(angle)
        if math.cos(turn) * nx + math.sin(turn) * ny < -1e-9:
            angle, note = (angle + 180.0) % 360.0, note or "pointed out of the piece"
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


def _from_path(item: Item, path: Path, cut: Path) -> Item:
    """Read a drawn notch: a line in from the edge, or a V, U or box with both ends on it."""
    ends = [nearest(cut, path.start), nearest(cut, path.end)]
    points = path.points(TOLERANCE.search_chord)
    if len(path.segments) > 1 and max(end.distance for end in ends) <= TOLERANCE.on_edge:
        mouth = ((path.start[0] + path.end[0]) / 2, (path.start[1] + path.end[1]) / 2)
        width = math.dist(path.start, path.end)
        return _between(item, nearest(cut, mouth), _deepest(points, mouth), width)
    near, far = sorted(ends, key=lambda end: end.distance)
    tip = path.end if near is ends[0] else path.start
    if path.closed:
        tip = max(points, key=lambda p: nearest(cut, p).distance)
        near = nearest(cut, min(points, key=lambda p: nearest(cut, p).distance))
    del far
    return _between(item, near, tip, item.width)


def _deepest(points: tuple[Point, ...], mouth: Point) -> Point:
    middle = points[1:-1]
    far = max(math.dist(p, mouth) for p in middle)
    deep = [p for p in middle if math.dist(p, mouth) >= far - 1e-3]
    return (sum(p[0] for p in deep) / len(deep), sum(p[1] for p in deep) / len(deep))


def _between(item: Item, edge: Nearest, tip: Point, width: float) -> Item:
    depth = math.dist(edge.point, tip)
    angle = math.degrees(math.atan2(tip[1] - edge.point[1], tip[0] - edge.point[0]))
    return replace(item, path=None, at=edge.point, size=depth, width=width, angle=angle)
