"""What drawn files hold, read by readers that are not the program's.

SVG by the standard library, DXF by ezdxf. mm, y upwards.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import shapely
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.ellipse import Ellipse
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline
from ezdxf.entities.spline import Spline
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from ..asked.shapes import Pt, arc_points, path_data
from ..asked.widening import largest

__all__ = ["Element", "dxf_elements", "dxf_points", "svg_elements", "svg_title"]

_SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Element:
    """Something drawn: on which layer, of which part, its points; a circle has a radius."""

    layer: str
    points: tuple[Pt, ...]
    part: str = ""
    name: str = ""
    text: str = ""
    radius: float = 0.0

    @property
    def under(self) -> bool:
        """Whether it belongs on the face that lies down."""
        return self.layer.endswith("-underside")

    @cached_property
    def line(self) -> BaseGeometry:
        """Its points joined."""
        several = len(set(self.points)) > 1
        return shapely.LineString(self.points) if several else shapely.Point(self.points[0])

    @cached_property
    def area(self) -> Polygon:
        """What it goes round; where rounding lets its ends cross by a hair, that is let go."""
        return largest(Polygon(self.points).buffer(0.0))

    def moved(self, dx: float, dy: float) -> Element:
        """Return it somewhere else."""
        points = tuple((x + dx, y + dy) for x, y in self.points)
        return Element(self.layer, points, self.part, self.name, self.text, self.radius)


def svg_title(path: Path) -> str:
    """Return the title of an SVG file."""
    return ElementTree.parse(path).getroot().findtext(f"{_SVG}title") or ""


def svg_elements(path: Path) -> list[Element]:
    """Return what an SVG file has, in mm from its lower left corner."""
    root = ElementTree.parse(path).getroot()
    sizes = [re.fullmatch(r"([\d.]+)mm", root.get(key, "")) for key in ("width", "height")]
    assert all(sizes), "width and height are not in mm"
    box = [float(v) for v in root.get("viewBox", "").split()]
    assert [float(m[1]) for m in sizes if m] == box[2:], "one unit is not one mm"
    found = []
    for group in root.findall(f"{_SVG}g"):
        layer = group.get("id", "")
        for node in group:
            found += list(_svg_element(layer, node))
    return found


def _svg_element(layer: str, node: ElementTree.Element) -> Iterator[Element]:
    part, name = node.get("data-part", ""), node.get("data-name", "")
    if node.tag == f"{_SVG}circle":
        at = (float(node.get("cx", 0)), -float(node.get("cy", 0)))
        yield Element(layer, (at,), part, name, radius=float(node.get("r", 0)))
    elif node.tag == f"{_SVG}text":
        at = (float(node.get("x", 0)), -float(node.get("y", 0)))
        yield Element(layer, (at,), part, name, text=node.text or "")
    elif node.tag == f"{_SVG}path":
        data = node.get("d", "")
        dot = re.fullmatch(r"M ([^, ]+)[, ]([^ ]+) h 0", data)
        if dot:
            yield Element(layer, ((float(dot[1]), -float(dot[2])),), part, name)
        for runs in path_data(data) if not dot else []:
            points = [p for run in runs for p in run[:-1]] + [runs[-1][-1]]
            yield Element(layer, tuple((x, -y) for x, y in points), part, name)


def dxf_elements(path: Path) -> list[Element]:
    """Return what a DXF file has."""
    document = ezdxf.readfile(path)  # type: ignore[attr-defined]
    assert document.header["$INSUNITS"] == 4, "its unit is not mm"
    found = []
    for entity in document.modelspace():
        layer, kind = entity.dxf.layer.lower(), entity.dxftype()
        if kind == "CIRCLE":
            at = (entity.dxf.center.x, entity.dxf.center.y)
            found.append(Element(layer, (at,), radius=entity.dxf.radius))
        elif kind == "POINT":
            found.append(Element(layer, ((entity.dxf.location.x, entity.dxf.location.y),)))
        elif kind == "TEXT":
            at = (entity.dxf.insert.x, entity.dxf.insert.y)
            found.append(Element(layer, (at,), text=entity.dxf.text))
        else:
            points = dxf_points(entity)
            kept = [p for k, p in enumerate(points) if not k or math.dist(p, points[k - 1]) > 1e-9]
            found.append(Element(layer, tuple(kept)))
    return found


def dxf_points(entity: DXFEntity) -> list[Pt]:
    """Return finely spaced points of a line or curve."""
    if isinstance(entity, LWPolyline | Polyline):
        if isinstance(entity, LWPolyline):
            vertices = [(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
            closed = entity.closed
        else:
            at = [(v.dxf.location, v.dxf.get("bulge", 0.0)) for v in entity.vertices]
            vertices, closed = [(p.x, p.y, bulge) for p, bulge in at], entity.is_closed
        ends = [*vertices[1:], vertices[0]] if closed else vertices[1:]
        points = [vertices[0][:2]]
        for (x, y, bulge), (u, v, _) in zip(vertices, ends, strict=False):
            points += _bulge((x, y), (u, v), bulge)
        return points
    if isinstance(entity, Spline):
        return [(p.x, p.y) for p in entity.construction_tool().flattening(0.002, segments=8)]
    assert isinstance(entity, Ellipse), entity
    return [(p.x, p.y) for p in entity.flattening(0.002)]


def _bulge(start: Pt, end: Pt, bulge: float) -> list[Pt]:
    """Return points of the arc from one vertex to the next: a quarter of its angle's tangent."""
    if not bulge:
        return [end]
    turn, chord = 4.0 * math.atan(bulge), math.dist(start, end)
    radius = chord / (2.0 * math.sin(turn / 2.0))  # negative: to the right
    away = radius * math.cos(turn / 2.0)
    ux, uy = (end[0] - start[0]) / chord, (end[1] - start[1]) / chord
    cx, cy = (start[0] + end[0]) / 2.0 - away * uy, (start[1] + end[1]) / 2.0 + away * ux
    begin = math.atan2(start[1] - cy, start[0] - cx)
    arc = arc_points((cx, cy), (abs(radius), abs(radius)), begin, turn)
    return [*arc[1:-1], end]
