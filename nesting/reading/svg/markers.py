"""Markers of SVG: what is drawn at the ends of a line (SVG 2, chapter 13)."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from xml.etree.ElementTree import Element

from nesting.errors import PatternError
from nesting.pattern.measure import bounds
from nesting.pattern.path import Affine, Path, Point
from nesting.reading.svg.file import local
from nesting.reading.svg.shapes import SHAPES, number, shape_paths
from nesting.reading.svg.style import Styles
from nesting.reading.svg.units import transform_of

__all__ = ["Markers", "arrowheads", "markers_of"]

_URL = re.compile(r"""url\(\s*["']?#([^"')]+)["']?\s*\)""")
_SIZE = 0.2
"""Share of its line's length at which a marker is drawn: only its shape tells something."""
_VIEW = (1.0, 1.0)

Markers = tuple[str, str]
"""What stands at the start and at the end of a line: ids, "" for none."""


def markers_of(style: Mapping[str, str], inherited: Markers) -> Markers:
    """Return the ids of the markers at start and end that hold for an element."""
    said = []
    for name, above in zip(("marker-start", "marker-end"), inherited, strict=True):
        text = style.get(name, style.get("marker", "inherit"))
        match = _URL.search(text)
        said.append(match[1] if match else above if text.strip() == "inherit" else "")
    return said[0], said[1]


def arrowheads(
    path: Path, markers: Markers, *, by_id: Mapping[str, Element], styles: Styles
) -> list[Path]:
    """Return what the markers of an open path draw, in the path's coordinates.

    They are drawn at one size, not at that of the stroke.
    """
    drawn: list[Path] = []
    long = math.dist(path.start, path.end)
    for name, starts in zip(markers, (True, False), strict=True):
        marker = by_id.get(name)
        if marker is None or local(marker) != "marker" or path.closed or long == 0.0:
            continue
        content = list(_content(marker, Affine(), styles))
        if not content:
            continue
        x0, y0, x1, y1 = (
            f(side) for f, side in zip(_ENDS, zip(*map(bounds, content), strict=True), strict=True)
        )
        size = max(x1 - x0, y1 - y0)
        if size <= 0.0:
            continue
        at, way = _end(path, starts=starts)
        turn = Affine.turn(_turn(marker.get("orient", "0"), way, starts=starts))
        reach = Affine.scale(_SIZE * long / size)
        back = Affine.move(-_place(marker, "refX"), -_place(marker, "refY"))
        by = Affine.move(*at).after(turn.after(reach.after(back)))
        drawn += [shape.transformed(by) for shape in content]
    return drawn


_ENDS = (min, min, max, max)


def _content(element: Element, by: Affine, styles: Styles) -> Iterator[Path]:
    for child in element:
        try:
            inner = by.after(transform_of(styles.of(child), _VIEW))
            if local(child) in SHAPES:
                yield from (path.transformed(inner) for path in shape_paths(child, view=_VIEW))
            elif local(child) == "g":
                yield from _content(child, inner, styles)
        except PatternError:  # a marker that can't be read points nowhere
            continue


def _end(path: Path, *, starts: bool) -> tuple[Point, float]:
    """Return an end of a path and the direction in degrees in which the path runs there."""
    segment = path.segments[0 if starts else -1]
    a, b = (segment.start, segment.at(0.02)) if starts else (segment.at(0.98), segment.end)
    way = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    return (path.start if starts else path.end), way


def _turn(orient: str, way: float, *, starts: bool) -> float:
    """Return by how many degrees a marker is turned."""
    word = orient.strip()
    if word == "auto-start-reverse":
        return way + 180.0 if starts else way
    if word == "auto":
        return way
    try:
        return float(word.removesuffix("deg"))
    except ValueError:
        return 0.0


def _place(marker: Element, name: str) -> float:
    try:
        return number(marker, name, 0.0)
    except PatternError:  # left, center, right
        return 0.0
