"""Markers written and read back: what a reader we did not write finds is what was laid.

DXF is read with ezdxf (its audit has to be clean), SVG with xml.etree and the formulas of
the SVG specification (SVG 1.1, appendix F.6, "Elliptical arc implementation notes").
Lengths and areas of both sides come from Gauss–Legendre quadrature of the curves as they
stand (numpy's nodes), not from the program's own measures.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from itertools import pairwise
from pathlib import Path as FilePath
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
from ezdxf.entities import DXFEntity
from ezdxf.math import bulge_to_arc

from nesting.marker.marker import Marker
from nesting.pattern.path import Arc, Bezier, Line, Path
from nesting.planning.plan import Plan
from nesting.writing.dxf import write_dxf
from nesting.writing.neutral.draw import draw, draw_entry
from nesting.writing.neutral.drawing import Drawing, Operation, Role
from nesting.writing.svg import write_svg

CLOSE = 1e-6
NODES, WEIGHTS = np.polynomial.legendre.leggauss(24)

# A curve: t in 0…1 (an array) → points (2 × n) and derivatives (2 × n).
Curve = Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]]


def line(start: Iterable[float], end: Iterable[float]) -> Curve:
    p, q = np.array(list(start))[:2, None], np.array(list(end))[:2, None]
    return lambda t: (p + (q - p) * t, (q - p) * np.ones_like(t))


def elliptic(
    centre: Iterable[float], u: Iterable[float], v: Iterable[float], begin: float, sweep: float
) -> Curve:
    c, a, b = (np.array(list(x), dtype=float)[:2, None] for x in (centre, u, v))

    def at(t: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        s = begin + sweep * t
        return c + a * np.cos(s) + b * np.sin(s), sweep * (b * np.cos(s) - a * np.sin(s))

    return at


def cubic(*points: Iterable[float]) -> Curve:
    p = [np.array(list(x), dtype=float)[:2, None] for x in points]

    def at(t: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        s = 1.0 - t
        value = s**3 * p[0] + 3 * s * s * t * p[1] + 3 * s * t * t * p[2] + t**3 * p[3]
        slope = 3 * (s * s * (p[1] - p[0]) + 2 * s * t * (p[2] - p[1]) + t * t * (p[3] - p[2]))
        return value, slope

    return at


def measures(curves: list[Curve]) -> tuple[float, float, float, float, float, float]:
    """Return |area|, perimeter and bounding box of a closed chain of curves."""
    area = length = 0.0
    box = [math.inf, math.inf, -math.inf, -math.inf]
    for curve in curves:
        for i in range(4):  # four quarters of each curve
            t = (i + (NODES + 1.0) / 2.0) / 4.0
            (x, y), (dx, dy) = curve(t)
            area += float(np.sum(WEIGHTS * (x * dy - y * dx))) / 16.0
            length += float(np.sum(WEIGHTS * np.hypot(dx, dy))) / 8.0
        for axis in (0, 1):
            low, high = extent(curve, axis)
            box[axis], box[axis + 2] = min(box[axis], low), max(box[axis + 2], high)
    return (abs(area), length, *box)


def extent(curve: Curve, axis: int) -> tuple[float, float]:
    """Return the least and greatest coordinate: sampled, then sampled finer about the best."""
    found = []
    for sign in (1.0, -1.0):
        low, high = 0.0, 1.0
        for _ in range(9):
            t = np.linspace(low, high, 33)
            best = int(np.argmin(sign * curve(t)[0][axis] * np.ones_like(t)))
            low, high = t[max(best - 1, 0)], t[min(best + 1, 32)]
        values = sign * curve(np.array([low, (low + high) / 2.0, high]))[0][axis]
        found.append(sign * float(values.min()))
    return found[0], found[1]


def source(path: Path) -> list[Curve]:
    curves: list[Curve] = []
    for s in path.segments:
        if isinstance(s, Line):
            curves.append(line(s.start, s.end))
        elif isinstance(s, Arc):
            curves.append(elliptic(s.centre, s.u, s.v, s.begin, s.sweep))
        elif isinstance(s, Bezier):
            curves.append(cubic(s.start, s.first, s.second, s.end))
    return curves


def from_dxf(entity: DXFEntity) -> list[Curve]:
    """Return an entity's curves by ezdxf's own tools."""
    if entity.dxftype() == "LWPOLYLINE":
        assert entity.closed
        points = list(entity.get_points("xyb"))
        curves = []
        for (x0, y0, bulge), (x1, y1, _) in zip(points, points[1:] + points[:1], strict=True):
            if bulge == 0.0:
                curves.append(line((x0, y0), (x1, y1)))
                continue
            centre, begin, end, radius = bulge_to_arc((x0, y0), (x1, y1), bulge)
            sweep = (end - begin) % math.tau
            arc = elliptic(centre, (radius, 0.0), (0.0, radius), begin, sweep)
            curves.append(arc if bulge > 0.0 else backwards(arc))
        return curves
    if entity.dxftype() == "ELLIPSE":
        tool = entity.construction_tool()
        assert tool.param_span == pytest.approx(math.tau)
        return [elliptic(tool.center, tool.major_axis, tool.minor_axis, 0.0, math.tau)]
    assert entity.dxftype() == "SPLINE"
    assert entity.closed
    tool = entity.construction_tool()
    spans = sorted(set(tool.knots()))

    def span(low: float, high: float) -> Curve:
        def at(t: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
            found = [tool.derivative(low + (high - low) * float(s), 1) for s in np.ravel(t)]
            points = np.array([(p.x, p.y) for p, _ in found]).T
            return points, (high - low) * np.array([(d.x, d.y) for _, d in found]).T

        return at

    inside = 1e-13  # at a knot ezdxf takes the next span's derivative
    return [span(a, b - inside) for a, b in pairwise(spans)]


def backwards(curve: Curve) -> Curve:
    def at(t: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        value, slope = curve(1.0 - t)
        return value, -slope

    return at


def svg_curves(d: str) -> list[Curve]:
    """Read path data of M, L, C, A and Z; arcs by SVG 1.1, F.6.5."""
    words = re.findall(r"[MLCAZ]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", d)
    curves: list[Curve] = []
    here = start = (0.0, 0.0)
    i, command = 0, ""
    counts = {"M": 2, "L": 2, "C": 6, "A": 7, "Z": 0}
    while i < len(words):
        if words[i] in counts:
            command, i = words[i], i + 1
        n = [float(word) for word in words[i : i + counts[command]]]
        i += counts[command]
        if command == "Z":
            if math.dist(here, start) > 0.0:
                curves.append(line(here, start))
            here = start
            continue
        end = (n[-2], n[-1])
        if command == "M":
            start = end
        elif command == "L":
            curves.append(line(here, end))
        elif command == "C":
            curves.append(cubic(here, n[0:2], n[2:4], end))
        else:
            curves.append(svg_arc(here, n, end))
        here = end
    return curves


def svg_arc(p: tuple[float, float], n: list[float], q: tuple[float, float]) -> Curve:
    rx, ry, phi, large, sweep = n[0], n[1], math.radians(n[2]), n[3] != 0.0, n[4] != 0.0
    c, s = math.cos(phi), math.sin(phi)
    hx, hy = (p[0] - q[0]) / 2.0, (p[1] - q[1]) / 2.0
    x1, y1 = c * hx + s * hy, -s * hx + c * hy
    top = rx**2 * ry**2 - rx**2 * y1**2 - ry**2 * x1**2
    root = math.sqrt(max(0.0, top / (rx**2 * y1**2 + ry**2 * x1**2)))
    root = -root if large == sweep else root
    cx, cy = root * rx * y1 / ry, -root * ry * x1 / rx
    centre = (c * cx - s * cy + (p[0] + q[0]) / 2.0, s * cx + c * cy + (p[1] + q[1]) / 2.0)
    begin = math.atan2((y1 - cy) / ry, (x1 - cx) / rx)
    end = math.atan2((-y1 - cy) / ry, (-x1 - cx) / rx)
    turn = (end - begin) % math.tau
    if not sweep:
        turn -= math.tau
    return elliptic(centre, (c * rx, s * rx), (-s * ry, c * ry), begin, turn)


def outlines(drawing: Drawing, *, inner: bool) -> list[tuple[float, ...]]:
    return sorted(
        measures(source(stroke.path))
        for stroke in drawing.strokes
        if stroke.operation is Operation.CUT and stroke.inner is inner
    )


def assert_same(found: list[tuple[float, ...]], wanted: list[tuple[float, ...]]) -> None:
    assert len(found) == len(wanted)
    left = list(found)
    for shape in wanted:
        nearest = min(left, key=lambda other: math.dist(other[2:], shape[2:]))
        left.remove(nearest)
        # An area's error is one of length times the perimeter.
        assert nearest[0] == pytest.approx(shape[0], abs=CLOSE * max(1.0, shape[1]))
        assert nearest[1:] == pytest.approx(shape[1:], abs=CLOSE)


@pytest.fixture(scope="module")
def drawings(hand_laid_plan: Plan) -> list[Drawing]:
    found = [drawing for entry in hand_laid_plan.entries for drawing in draw_entry(entry)]
    assert all(outlines(drawing, inner=False) for drawing in found)
    assert any(outlines(drawing, inner=True) for drawing in found)
    return found


def test_dxf_reads_back_the_same(drawings: list[Drawing], tmp_path: FilePath) -> None:
    for drawing in drawings:
        write_dxf(drawing, tmp_path / "m.dxf", overwrite=True)
        document = ezdxf.readfile(tmp_path / "m.dxf")
        audit = document.audit()
        assert not audit.errors
        assert not audit.fixes
        assert document.header["$INSUNITS"] == 4  # millimetres, DXF reference
        space = document.modelspace()
        for layer, inner in (("CUT", False), ("CUT-INNER", True)):
            found = [measures(from_dxf(e)) for e in space.query(f'*[layer=="{layer}"]')]
            assert_same(found, outlines(drawing, inner=inner))


def test_dxf_keeps_curves_as_curves(hand_laid_marker: Marker, tmp_path: FilePath) -> None:
    write_dxf(draw(hand_laid_marker), tmp_path / "m.dxf")
    kinds = {e.dxftype() for e in ezdxf.readfile(tmp_path / "m.dxf").modelspace()}
    assert {"LWPOLYLINE", "ELLIPSE", "SPLINE", "CIRCLE", "TEXT"} <= kinds
    assert "LINE" not in kinds


def svg_root(path: FilePath) -> tuple[ElementTree.Element, dict[str, list[ElementTree.Element]]]:
    root = ElementTree.parse(path).getroot()
    groups = {
        group.get("id", ""): list(group)
        for group in root
        if group.tag == "{http://www.w3.org/2000/svg}g"
    }
    return root, groups


def test_svg_reads_back_the_same(drawings: list[Drawing], tmp_path: FilePath) -> None:
    for drawing in drawings:
        write_svg(drawing, tmp_path / "m.svg", overwrite=True)
        _, groups = svg_root(tmp_path / "m.svg")
        # The ground of the drawing says where its (0, 0) lies in the file.
        ground = next(s for s in drawing.strokes if s.role in (Role.USABLE, Role.SHEET))
        there = next(e for e in groups["edge"] if e.get("data-name") in ("usable", "sheet"))
        wanted, got = measures(source(ground.path)), measures(svg_curves(there.get("d", "")))
        dx, dy = got[2] - wanted[2], got[3] + wanted[5]
        for group, inner in (("cut", False), ("cut-inner", True)):
            found = []
            for element in groups.get(group, []):
                a, p, x0, y0, x1, y1 = measures(svg_curves(element.get("d", "")))
                found.append((a, p, x0 - dx, dy - y1, x1 - dx, dy - y0))
            assert_same(found, outlines(drawing, inner=inner))


def test_svg_is_at_true_scale(drawings: list[Drawing], tmp_path: FilePath) -> None:
    """A viewBox as large as the size in mm makes 1 unit 1 mm (SVG 2, section 8.2)."""
    for drawing in drawings:
        write_svg(drawing, tmp_path / "m.svg", overwrite=True)
        root, groups = svg_root(tmp_path / "m.svg")
        x, y, width, height = (float(n) for n in root.get("viewBox", "").split())
        assert (x, y) == (0.0, 0.0)
        assert root.get("width", "").endswith("mm")
        assert float(root.get("width", "")[:-2]) == width
        assert float(root.get("height", "")[:-2]) == height
        assert not [e for e in root.iter() if "transform" in e.attrib and "text" not in e.tag]
        bar = next(e for e in groups["check"] if e.get("id") == "check-bar")
        assert measures(svg_curves(bar.get("d", "")))[1] == pytest.approx(100.0, abs=1e-9)


def test_svg_parts_say_what_they_are(hand_laid_marker: Marker, tmp_path: FilePath) -> None:
    write_svg(draw(hand_laid_marker), tmp_path / "m.svg")
    _, groups = svg_root(tmp_path / "m.svg")
    names = sorted(e.get("data-part", "") for e in groups["cut"])
    assert names == sorted(part.name for part in hand_laid_marker.lay.parts)
