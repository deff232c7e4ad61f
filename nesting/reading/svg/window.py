"""Windows of SVG: what a clip-path or a nested drawing's edge leaves to be seen."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from xml.etree.ElementTree import Element

from shapely import LineString, Polygon, prepare, unary_union
from shapely import Point as ShapelyPoint
from shapely.errors import GEOSException
from shapely.geometry.base import BaseGeometry

from nesting.errors import PatternError
from nesting.pattern.path import Affine, Path
from nesting.reading.items import Item
from nesting.reading.svg.file import local
from nesting.reading.svg.shapes import SHAPES, number, shape_paths
from nesting.reading.svg.style import Styles, geometry_set
from nesting.reading.svg.units import transform_of

__all__ = ["Window", "clip_window", "refuse_masks", "view_window"]

_URL = re.compile(r"""url\(\s*["']?#([^"')]+)["']?\s*\)""")
_MASKS = ("mask", "mask-image", "mask-border", "mask-border-source", "-webkit-mask")
_FINE = 1e-5
"""Shares of a window's size that count for nothing: rounding of exported numbers."""
_PLAIN = "export it without clips and masks, the outlines cut to what is to be seen"


@dataclass(frozen=True)
class Window:
    """An area (in the root's axes) outside of which nothing is seen, and what makes it."""

    area: BaseGeometry
    what: str

    @cached_property
    def _wide(self) -> BaseGeometry:
        x0, y0, x1, y1 = self.area.bounds
        wide: BaseGeometry = self.area.buffer(_FINE * max(x1 - x0, y1 - y0), join_style="mitre")
        prepare(wide)
        return wide

    def shows(self, item: Item) -> bool:
        """Tell whether an item is seen whole or not at all.

        Raises
        ------
        PatternError
            If a part of it is seen: nobody knows then what is to be cut.

        """
        if self.area.is_empty:
            return False
        wide = self._wide
        if item.path is None:
            return item.at is None or bool(wide.intersects(ShapelyPoint(item.at)))
        x0, y0, x1, y1 = wide.bounds
        points = item.path.points(_FINE * max(x1 - x0, y1 - y0))
        drawn = LineString(points if len(points) > 1 else [points[0], points[0]])
        if wide.contains(drawn):
            return True
        try:
            around = Polygon(points) if item.path.closed and len(points) > 3 else drawn
            seen = wide.intersects(drawn) or around.intersects(wide)
        except GEOSException:
            seen = True
        if seen:
            raise PatternError(f"{self.what} cuts off a part of what is drawn here", hint=_PLAIN)
        return False


def view_window(width: float, height: float, by: Affine) -> Window:
    """Return the window of a nested svg or a symbol, which hides what lies beyond its edge."""
    corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
    return Window(Polygon([by(corner) for corner in corners]), "the edge of a drawing within it")


def clip_window(
    value: str,
    *,
    by: Affine,
    by_id: Mapping[str, Element],
    styles: Styles,
    view: tuple[float, float],
) -> Window | None:
    """Return the window of a ``clip-path`` (CSS Masking 1, 5 and 6); None if there is none.

    Raises
    ------
    PatternError
        If it is more than shapes in user units.

    """
    if value.strip().lower() in ("", "none", "inherit", "initial", "unset"):
        return None
    match = _URL.fullmatch(value.strip())
    if match is None:
        raise PatternError(f"a clip-path {value[:30]!r} is not read", hint=_PLAIN)
    clip = by_id.get(match[1])
    if clip is None or local(clip) != "clipPath":
        return None  # what is not there clips nothing
    style = styles.of(clip)
    plain = clip.get("clipPathUnits", "userSpaceOnUse").strip() == "userSpaceOnUse"
    if not plain or style.get("clip-path", "none") != "none":
        raise PatternError(
            "a clip-path in shares of a box, or clipped itself, is not read", hint=_PLAIN
        )
    within = by.after(transform_of(style, view))
    areas = [area for child in clip for area in _areas(child, within, by_id, styles, view)]
    return Window(unary_union(areas), "a clip-path")


def _areas(
    element: Element,
    by: Affine,
    by_id: Mapping[str, Element],
    styles: Styles,
    view: tuple[float, float],
) -> list[BaseGeometry]:
    kind = local(element)
    style = styles.of(element)
    if kind in ("", "title", "desc") or style.get("display") == "none":
        return []
    element = geometry_set(element, style)
    by = by.after(transform_of(style, view))
    if kind == "use":
        href = element.get("href") or element.get("{http://www.w3.org/1999/xlink}href") or ""
        target = by_id.get(href.removeprefix("#"))
        at = Affine.move(number(element, "x", view[0]), number(element, "y", view[1]))
        if target is None or local(target) not in SHAPES:
            raise PatternError("a clip-path of more than shapes is not read", hint=_PLAIN)
        return _areas(target, by.after(at), by_id, styles, view)
    if kind not in SHAPES or style.get("clip-path", "none") != "none":
        raise PatternError("a clip-path of more than shapes is not read", hint=_PLAIN)
    return [
        _area(path.transformed(by)) for path in shape_paths(element, view=view) if path.segments
    ]


def _area(path: Path) -> BaseGeometry:
    rough = path.points(1e9)
    xs, ys = [p[0] for p in rough], [p[1] for p in rough]
    size = max(max(xs) - min(xs), max(ys) - min(ys), 1e-9)
    points = path.points(_FINE * size)
    area = Polygon(points) if len(points) > 2 else Polygon()
    if not area.is_valid:
        raise PatternError("a clip-path that crosses itself is not read", hint=_PLAIN)
    return area


def refuse_masks(style: Mapping[str, str]) -> None:
    """Refuse a mask: what it leaves to be seen depends on its colours."""
    for name in _MASKS:
        if style.get(name, "none").strip().lower() not in ("", "none", "initial", "unset"):
            raise PatternError("a mask hides a part of what is drawn here", hint=_PLAIN)
