"""Shapes of SVG as paths in user units, y downwards (SVG 2, chapters 9 and 10)."""

from __future__ import annotations

import math
import re
from xml.etree.ElementTree import Element

from nesting.errors import PatternError
from nesting.pattern.path import Arc, Line, Path, Point, Segment
from nesting.pattern.svg_path import parse_path
from nesting.reading.items import MAX_POINTS
from nesting.reading.svg.file import local
from nesting.reading.svg.units import parse_length

__all__ = ["SHAPES", "number", "shape_paths"]

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")

SHAPES = frozenset(("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"))


def shape_paths(element: Element, *, view: tuple[float, float]) -> list[Path]:
    """Return what a shape element draws; `view` is the size that shares are shares of."""
    kind = local(element)
    if kind == "path":
        d = element.get("d", "")
        if len(d) > 4 * MAX_POINTS and sum(1 for _ in _NUMBER.finditer(d)) > 6 * MAX_POINTS:
            raise PatternError(
                f"path data of {len(d):,} characters", hint=f"at most {MAX_POINTS:,} points"
            )
        return list(parse_path(d)) if d.strip() not in ("", "none") else []
    if kind in ("polyline", "polygon"):
        return _poly(element.get("points", ""), closed=kind == "polygon")
    if kind == "line":
        ends = [
            (number(element, f"x{i}", view[0]), number(element, f"y{i}", view[1])) for i in (1, 2)
        ]
        return [Path((Line(ends[0], ends[1]),))] if ends[0] != ends[1] else []
    if kind == "rect":
        return _rect(element, view)
    return _oval(element, view)


def number(element: Element, name: str, whole: float, *, default: float = 0.0) -> float:
    """Return a length attribute in user units."""
    text = element.get(name)
    if text is None or text.strip() in ("", "auto"):
        return default
    value = parse_length(text).px(whole=whole)
    assert value is not None
    return value


def _poly(text: str, *, closed: bool) -> list[Path]:
    if len(text) > 4 * MAX_POINTS and sum(1 for _ in _NUMBER.finditer(text)) > 2 * MAX_POINTS:
        raise PatternError(
            f"an outline of more than {MAX_POINTS:,} points", hint="draw it with fewer points"
        )
    if re.sub(r"[\s,]+", "", _NUMBER.sub("", text)):
        raise PatternError(
            "the points of a polygon are not numbers", hint="mend them, or draw it as a path"
        )
    values = [float(word) for word in _NUMBER.findall(text)]
    points = list(zip(values[0::2], values[1::2], strict=False))
    if closed and len(points) > 1 and points[0] == points[-1]:
        points.pop()
    if len(points) < 2:
        return []
    path = Path.polyline(points, closed=closed)
    return [path] if path.segments else []


def _rect(element: Element, view: tuple[float, float]) -> list[Path]:
    x, y = number(element, "x", view[0]), number(element, "y", view[1])
    w, h = number(element, "width", view[0]), number(element, "height", view[1])
    if not (w > 0.0 and h > 0.0):
        return []
    rx = number(element, "rx", view[0], default=-1.0)
    ry = number(element, "ry", view[1], default=-1.0)
    rx, ry = (rx if rx >= 0.0 else ry), (ry if ry >= 0.0 else rx)
    rx, ry = min(max(rx, 0.0), w / 2), min(max(ry, 0.0), h / 2)
    if rx == 0.0 or ry == 0.0:
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        return [Path.polyline(corners, closed=True)]
    segments: list[Segment] = []
    right, bottom = x + w, y + h
    sides: list[tuple[Point, Point, Point]] = [
        ((x + rx, y), (right - rx, y), (right - rx, y + ry)),
        ((right, y + ry), (right, bottom - ry), (right - rx, bottom - ry)),
        ((right - rx, bottom), (x + rx, bottom), (x + rx, bottom - ry)),
        ((x, bottom - ry), (x, y + ry), (x + rx, y + ry)),
    ]
    for i, (start, end, centre) in enumerate(sides):
        if math.dist(start, end) > 1e-9:
            segments.append(Line(start, end))
        begin = (i - 1) * math.pi / 2
        segments.append(Arc(centre, (rx, 0.0), (0.0, ry), begin, math.pi / 2))
    return [Path(tuple(segments))]


def _oval(element: Element, view: tuple[float, float]) -> list[Path]:
    diagonal = math.hypot(*view) / math.sqrt(2.0)
    centre = (number(element, "cx", view[0]), number(element, "cy", view[1]))
    if local(element) == "circle":
        rx = ry = number(element, "r", diagonal)
    else:
        rx = number(element, "rx", view[0], default=-1.0)
        ry = number(element, "ry", view[1], default=-1.0)
        rx, ry = (rx if rx >= 0.0 else ry), (ry if ry >= 0.0 else rx)
    if not (rx > 0.0 and ry > 0.0):
        return []
    halves = [Arc(centre, (rx, 0.0), (0.0, ry), begin, math.pi) for begin in (0.0, math.pi)]
    return [Path(tuple(halves))]
