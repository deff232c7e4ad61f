"""DXF for machines read back by ezdxf, and the kerf of worked cases.

The worked cases are those of two cutting services' public guides (snijlab.nl,
spiritdesign.com.au).
"""

import math
from itertools import pairwise

import ezdxf
import pytest
from ezdxf.path import make_path
from shapely import Polygon

from nesting.writing.machines.contour import circle
from nesting.writing.machines.formats import Format
from nesting.writing.machines.kerf import allow_for_kerf
from nesting.writing.neutral.drawing import Drawing, Operation, Stroke
from tests.published.machine_files import box, expected, machine, marker, write
from tests.published.test_machine_svg import svg_paths, svg_size


def kerfed(path, kerf, *, inner):
    stroke = Stroke(operation=Operation.CUT, path=path, part=0, inner=inner)
    drawing = Drawing(name="t", length=99.0, width=99.0, strokes=(stroke,))
    (moved,) = allow_for_kerf(drawing, kerf=kerf).drawing.strokes
    return moved.path


def size(path):
    x0, y0, x1, y1 = Polygon(path.points(1e-6)).bounds
    return pytest.approx((x1 - x0, y1 - y0), abs=1e-9)


def test_kerf_worked_case_one():
    """snijlab.nl: kerf 0.2; for a part of 2.0 × 4.0 draw 2.2 × 4.2, for that hole 1.8 × 3.8."""
    assert size(kerfed(box(5, 5, 2, 4), 0.2, inner=False)) == (2.2, 4.2)
    assert size(kerfed(box(5, 5, 2, 4), 0.2, inner=True)) == (1.8, 3.8)


def test_kerf_worked_case_two():
    """spiritdesign.com.au: kerf 0.2; a 10 mm hole: draw 9.8, a 20 × 10 part: 20.2 × 10.2."""
    (arc,) = kerfed(circle((20, 20), 10.0), 0.2, inner=True).segments
    assert arc.radius == pytest.approx(4.9)
    assert size(kerfed(box(0, 0, 20, 10), 0.2, inner=False)) == (20.2, 10.2)


def dxf_entities(file):
    document = ezdxf.readfile(file)
    assert not document.audit().errors
    return document, list(document.modelspace())


def measured(entity, chord=1e-4):
    """Return length and area of a DXF entity by ezdxf's own paths, flattened."""
    line = entity if entity.dxftype() == "SPLINE" else make_path(entity)
    points = [(p.x, p.y) for p in line.flattening(chord)]
    closed = math.dist(points[0], points[-1]) < 1e-6
    size = sum(math.dist(p, q) for p, q in pairwise(points))
    return size, abs(Polygon(points).area) if closed else 0.0


@pytest.mark.parametrize("form", [Format.DXF, Format.DXF_R12])
def test_dxf_comes_back(tmp_path, form):
    drawing, shop = marker(), machine(form)
    result = write(drawing, shop, tmp_path)
    document, entities = dxf_entities(result.files[0])
    assert document.dxfversion == ("AC1009" if form is Format.DXF_R12 else "AC1024")
    if form is Format.DXF_R12:
        assert "INSUNITS" not in result.files[0].read_text()
    else:
        assert document.header["$INSUNITS"] == 4
    near = 2e-3 if form is Format.DXF else 0.06
    for tool in shop.tools:
        layer = [e for e in entities if e.dxf.layer == tool.layer]
        lines = [e for e in layer if e.dxftype() not in ("TEXT", "POINT")]
        want = expected(drawing, tool.operation)
        if tool.operation is Operation.TEXT:
            assert [e.dxftype() for e in layer] == ["TEXT"] * 6
            continue
        found = sorted(measured(e) for e in lines)
        assert len(found) == len(want)
        for (got_length, got_area), (true_length, true_area) in zip(found, want, strict=True):
            assert got_length == pytest.approx(true_length, abs=near)
            assert got_area == pytest.approx(true_area, abs=near * true_length)
    points = sorted(
        (e.dxf.location.x, e.dxf.location.y) for e in entities if e.dxftype() == "POINT"
    )
    true = sorted(h.at for h in drawing.holes if not h.diameter)
    assert max(math.dist(p, q) for p, q in zip(points, true, strict=True)) < 1e-6
    used = {e.dxf.layer for e in entities}
    assert used == {tool.layer for tool in shop.tools}


def test_dxf_keeps_arcs_and_curves_or_not_as_the_shop_says(tmp_path):
    kinds = {}
    for curves in (True, False):
        folder = tmp_path / str(curves)
        folder.mkdir()
        result = write(marker(), machine(Format.DXF, curves=curves), folder)
        entities = [e for e in dxf_entities(result.files[0])[1] if e.dxf.layer == "1-cut"]
        kinds[curves] = {e.dxftype() for e in entities}
        bulges = [p[4] for e in entities if e.dxftype() == "LWPOLYLINE" for p in e]
        assert any(bulges) == curves
    assert kinds == {True: {"LWPOLYLINE", "SPLINE"}, False: {"LWPOLYLINE"}}


def test_straight_lines_come_back_to_a_millionth(tmp_path):
    boxes = [box(100.0 / 3.0 * i, math.pi * i, 30.0 + 1 / 7, 20.0 / 3.0) for i in range(9)]
    drawing = Drawing(
        name="t",
        length=400.0,
        width=60.0,
        strokes=tuple(Stroke(operation=Operation.CUT, path=p, part=i) for i, p in enumerate(boxes)),
    )
    want = sorted(sorted(p.points(1.0)) for p in boxes)
    for form in (Format.DXF, Format.DXF_R12, Format.SVG):
        result = write(drawing, machine(form), tmp_path, overwrite=True)
        if form is Format.SVG:
            height = svg_size(result.files[0])[1]
            rings = [
                [(x, height - y) for x, y in {(p[0], p[1]) for p in points}]
                for _, _, points in svg_paths(result.files[0])
            ]
        else:
            rings = [
                list({(v[0], v[1]) for v in make_path(e).control_vertices()})
                for e in dxf_entities(result.files[0])[1]
            ]
        # The entry point on an edge is a vertex more.
        for ring, true in zip(sorted(sorted(r) for r in rings), want, strict=True):
            assert len(ring) == 5
            assert all(min(math.dist(p, q) for q in ring) < 1e-6 for p in true)
