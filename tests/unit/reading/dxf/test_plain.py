"""Files are written by ezdxf, and lengths and areas compared with what it says of them."""

from __future__ import annotations

import math

import ezdxf
import pytest
from ezdxf import path as ezpath
from ezdxf.math import BSpline
from shapely import Polygon

from nesting.errors import PatternError
from nesting.job.desk import Request
from nesting.pattern.measure import area, bounds, length
from nesting.pattern.path import Arc, Bezier
from nesting.pattern.piece import MarkKind
from nesting.reading.read import Reference, pattern_for, read_pattern


@pytest.fixture
def drawing():
    doc = ezdxf.new("R2010", units=4)
    return doc, doc.modelspace()


def read(doc, tmp_path, **options):
    path = tmp_path / "plain.dxf"
    doc.saveas(path)
    return read_pattern(path, **options)


def flattened_area(entity) -> float:
    """Return the area by ezdxf's own arcs; its paths would be Bézier curves and less exact."""
    parts = entity.virtual_entities() if entity.dxftype() == "LWPOLYLINE" else [entity]
    points = []
    for part in parts:
        if part.dxftype() == "LINE":
            run = [part.dxf.start, part.dxf.end]
        else:
            run = list(part.flattening(1e-5))
        near = points and math.dist(points[-1], (run[0].x, run[0].y)) < 1e-6
        points += [(p.x, p.y) for p in (run if near or not points else run[::-1])]
    return Polygon(points).area


def test_a_polyline_with_bulges(drawing, tmp_path):
    doc, space = drawing
    ring = [(0, 0, 0), (200, 0, 0.5), (200, 100, 0), (0, 100, -0.3)]
    entity = space.add_lwpolyline(ring, format="xyb", close=True)
    pattern = read(doc, tmp_path)
    (piece,) = pattern.pieces
    assert pattern.kind == "plain DXF"
    assert area(piece.cut) == pytest.approx(flattened_area(entity), abs=0.02)
    assert sum(isinstance(s, Arc) for s in piece.cut.segments) == 2
    # bulge = tan(quarter of the angle): chord 100, so the radius is (DXF reference)
    arc = next(s for s in piece.cut.segments if isinstance(s, Arc))
    assert abs(arc.sweep) == pytest.approx(4 * math.atan(0.5))


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_an_old_polyline_with_bulges(version, tmp_path):
    doc = ezdxf.new(version)
    ring = [(0, 0, 0, 0, 0), (200, 0, 0, 0, 1.0), (200, 100, 0, 0, 0), (0, 100, 0, 0, 0)]
    doc.modelspace().add_polyline2d(ring, format="xyseb", close=True)
    (piece,) = read(doc, tmp_path, unit="mm").pieces
    assert area(piece.cut) == pytest.approx(200 * 100 + math.pi * 50**2 / 2)


def test_circle_ellipse_and_arcs(drawing, tmp_path):
    doc, space = drawing
    space.add_circle((0, 0), 50, dxfattribs={"layer": "round"})
    space.add_ellipse((300, 0), (100, 20), ratio=0.5, dxfattribs={"layer": "oval"})
    pattern = read(doc, tmp_path)
    assert [piece.name for piece in pattern.pieces] == ["round", "oval"]
    first, second = pattern.pieces
    assert area(first.cut) == pytest.approx(math.pi * 2500)
    assert area(second.cut) == pytest.approx(math.pi * (100**2 + 20**2) * 0.5)


def test_an_elliptical_arc_closed_by_a_line(drawing, tmp_path):
    doc, space = drawing
    ellipse = space.add_ellipse((0, 0), (100, 0), 0.4, start_param=0.3, end_param=2.5)
    start, end = ellipse.start_point, ellipse.end_point
    space.add_line(end, start)
    (piece,) = read(doc, tmp_path).pieces
    assert area(piece.cut) == pytest.approx(flattened_area(ellipse), abs=0.02)


def test_entities_drawn_from_behind(drawing, tmp_path):
    """Extrusion (0, 0, -1): ezdxf turns them into the drawing's axes, and so do we."""
    doc, space = drawing
    behind = {"extrusion": (0, 0, -1)}
    ring = [(0, 0, 0.4), (200, 0, 0), (150, 100, 0)]
    entity = space.add_lwpolyline(ring, format="xyb", close=True, dxfattribs=behind)
    (piece,) = read(doc, tmp_path).pieces
    x0, y0, x1, y1 = bounds(piece.cut)
    box = ezpath.make_path(entity).flattening(1e-4)
    xs, ys = zip(*((p.x, p.y) for p in box), strict=True)
    assert (x0, y0, x1, y1) == pytest.approx((min(xs), min(ys), max(xs), max(ys)), abs=1e-3)


CONTROL = [(0, 0), (50, 120), (150, 130), (220, 20), (300, 60), (280, -60), (100, -80)]


@pytest.mark.parametrize("degree", [1, 2, 3])
def test_splines_up_to_degree_3_are_exact(drawing, tmp_path, degree):
    doc, space = drawing
    curve = BSpline(CONTROL, order=degree + 1)
    space.add_spline(degree=degree).apply_construction_tool(curve)
    space.add_line(CONTROL[-1], CONTROL[0])
    (piece,) = read(doc, tmp_path).pieces
    runs = [s for s in piece.cut.segments if degree == 1 or isinstance(s, Bezier)]
    assert runs
    for t in (0.13, 0.5, 0.9):
        point = curve.point(t * curve.max_t)
        near = min(math.dist(s.at(i / 4000), (point.x, point.y)) for s in runs for i in range(4001))
        assert near < 0.05
    knots = sorted(set(curve.knots()))
    ends = {(round(s.start[0], 9), round(s.start[1], 9)) for s in piece.cut.segments}
    for t in knots[:-1]:
        point = curve.point(t)
        assert (round(point.x, 9), round(point.y, 9)) in ends


def test_an_unclamped_spline(drawing, tmp_path):
    doc, space = drawing
    curve = BSpline(CONTROL, order=4, knots=[float(i) for i in range(len(CONTROL) + 4)])
    space.add_spline(degree=3).apply_construction_tool(curve)
    start, end = curve.point(3.0), curve.point(float(len(CONTROL)))
    space.add_line(end, start)
    (piece,) = read(doc, tmp_path).pieces
    points = [(p.x, p.y) for p in curve.approximate(4000)]
    inside = [(p.x, p.y) for p in curve.points([3 + 4 * i / 4000 for i in range(4001)])]
    assert len(points) > 1
    assert area(piece.cut) == pytest.approx(Polygon(inside).area, rel=1e-5)


def test_a_rational_spline_that_is_a_circle(drawing, tmp_path):
    doc, space = drawing
    arc = ezdxf.math.rational_bspline_from_arc(center=(0, 0), radius=100, end_angle=180)
    space.add_spline().apply_construction_tool(arc)
    space.add_line((-100, 0), (100, 0))
    (piece,) = read(doc, tmp_path).pieces
    assert area(piece.cut) == pytest.approx(math.pi * 5000, rel=1e-7)
    assert length(piece.cut) == pytest.approx(math.pi * 100 + 200, rel=1e-7)


def test_a_spline_given_by_the_points_it_goes_through(drawing, tmp_path):
    doc, space = drawing
    through = [(0, 0), (100, 60), (200, 10), (300, 90)]
    space.add_spline(fit_points=through)
    for start, end in [((300, 90), (300, -100)), ((300, -100), (0, -100)), ((0, -100), (0, 0))]:
        space.add_line(start, end)
    (piece,) = read(doc, tmp_path).pieces
    ends = [segment.start for segment in piece.cut.segments]
    for point in through:
        assert min(math.dist(point, end) for end in ends) < 1e-6


def test_cut_outs_and_pieces_within_cut_outs(drawing, tmp_path):
    doc, space = drawing
    space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
    space.add_lwpolyline([(50, 50), (250, 50), (250, 150), (50, 150)], close=True)
    space.add_circle((150, 100), 20)
    pattern = read(doc, tmp_path)
    outer, inner = pattern.pieces
    assert (len(outer.holes), len(inner.holes)) == (1, 0)
    assert any(f.kind == "cut-out" for f in pattern.findings)


@pytest.mark.parametrize("dashed", [False, True])
def test_a_seam_line_drawn_inside_the_outline_is_no_cut_out(drawing, tmp_path, dashed):
    doc, space = drawing
    doc.linetypes.add("DASHED", [6.0, 4.0, -2.0])
    look = {"linetype": "DASHED"} if dashed else {}
    space.add_lwpolyline([(0, 0), (300, 0), (260, 200), (0, 200)], close=True)
    outer = Polygon([(0, 0), (300, 0), (260, 200), (0, 200)])
    seam = outer.buffer(-10, join_style="mitre")  # shapely's inset: an even 10 mm
    space.add_lwpolyline(list(seam.exterior.coords)[:-1], close=True, dxfattribs=look)
    space.add_circle((100, 100), 20)
    space.add_text("Pocket", dxfattribs={"height": 8}).set_placement((180, 100))
    pattern = read(doc, tmp_path)
    (piece,) = pattern.pieces
    assert piece.name == "Pocket"
    assert piece.sew is not None
    assert area(piece.sew) == pytest.approx(seam.area)
    assert len(piece.holes) == 1
    assert any(f.kind == "sew" and "10 mm inside" in f.text for f in pattern.findings)


def test_a_contour_that_may_be_sewn_or_cut_is_asked_about(drawing, tmp_path):
    doc, space = drawing
    space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
    # a hem of 30 mm and allowances of 10: as even as a window that is off the middle
    space.add_lwpolyline([(10, 30), (290, 30), (290, 190), (10, 190)], close=True)
    with pytest.raises(PatternError, match=r"10 mm to 3 cm inside .* sewing line or a cut-out"):
        read(doc, tmp_path)


def test_a_seam_line_around_a_hole_is_asked_about(drawing, tmp_path):
    doc, space = drawing
    space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
    space.add_circle((150, 100), 40)
    space.add_circle((150, 100), 30)
    with pytest.raises(PatternError, match="10 mm inside a cut-out"):
        read(doc, tmp_path)


def test_an_arrow_in_one_polyline_has_the_direction_of_its_shaft(drawing, tmp_path):
    doc, space = drawing
    space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
    arrow = [(50, 50), (150, 150), (150, 135), (150, 150), (135, 150)]
    space.add_lwpolyline(arrow, dxfattribs={"layer": "grain"})
    (found,) = read(doc, tmp_path).found
    assert found.piece.grain == pytest.approx(45.0)
    assert found.up_known


def test_a_contour_said_to_be_a_hole_is_cut_out(drawing, tmp_path):
    doc, space = drawing
    space.add_lwpolyline([(0, 0), (100, 0), (100, 70), (0, 70)], close=True)
    window = [(10, 10), (90, 10), (90, 60), (10, 60)]
    space.add_lwpolyline(window, close=True, dxfattribs={"layer": "hole"})
    (piece,) = read(doc, tmp_path).pieces
    assert (len(piece.holes), piece.sew) == (1, None)


def test_layers_named_for_what_is_done(drawing, tmp_path):
    doc, space = drawing
    ring = [(0, 0), (300, 0), (300, 200), (0, 200)]
    space.add_lwpolyline(ring, close=True, dxfattribs={"layer": "CUT"})
    inner = [(10, 10), (290, 10), (290, 190), (10, 190)]
    space.add_lwpolyline(inner, close=True, dxfattribs={"layer": "Seam line"})
    space.add_line((100, 50), (100, 150), dxfattribs={"layer": "grain"})
    space.add_circle((50, 50), 2, dxfattribs={"layer": "DRILL"})
    pocket = [(100, 60), (200, 60), (200, 140), (100, 140)]
    space.add_lwpolyline(pocket, close=True, dxfattribs={"layer": "mark"})
    space.add_line((150, 0), (150, 5), dxfattribs={"layer": "notch"})
    space.add_text("Front", height=10, dxfattribs={"insert": (50, 100), "layer": "text"})
    frame = [(-50, -50), (900, -50), (900, 900), (-50, 900)]
    space.add_lwpolyline(frame, close=True, dxfattribs={"layer": "Guides"})
    (piece,) = read(doc, tmp_path).pieces
    assert piece.name == "Front"
    assert piece.sew is not None
    assert piece.grain == pytest.approx(90)
    assert sorted(mark.kind for mark in piece.marks) == ["drill", "notch", "outline", "text"]
    drill = next(mark for mark in piece.marks if mark.kind is MarkKind.DRILL)
    assert drill.size == pytest.approx(4.0, abs=0.01)


def test_the_user_says_what_layers_are_for(drawing, tmp_path):
    doc, space = drawing
    ring = [(0, 0), (300, 0), (300, 200), (0, 200)]
    space.add_lwpolyline(ring, close=True, dxfattribs={"layer": "RED"})
    pocket = [(100, 60), (200, 60), (200, 140), (100, 140)]
    space.add_lwpolyline(pocket, close=True, dxfattribs={"layer": "BLUE"})
    (piece,) = read(doc, tmp_path, roles={"red": "cut", "BLUE": "line"}).pieces
    assert piece.holes == ()
    assert [mark.kind for mark in piece.marks] == [MarkKind.OUTLINE]
    with pytest.raises(PatternError, match="unknown role 'saw'"):
        read(doc, tmp_path, roles={"RED": "saw"})


def test_blocks_are_pieces_and_insertions_are_counted(drawing, tmp_path):
    doc, space = drawing
    block = doc.blocks.new("Strap")
    block.add_lwpolyline([(0, 0), (200, 0), (220, 30), (0, 30)], close=True)
    for x in (0, 300, 600):
        space.add_blockref("Strap", (x, 0))
    space.add_blockref("Strap", (1200, 0), dxfattribs={"xscale": -1})
    (found,) = read(doc, tmp_path).found
    assert (found.piece.name, found.right, found.left) == ("Strap", 3, 1)


def test_blocks_within_blocks(drawing, tmp_path):
    doc, space = drawing
    hole = doc.blocks.new("Eyelet", base_point=(5, 5))
    hole.add_circle((5, 5), 4)
    panel = doc.blocks.new("Panel")
    panel.add_lwpolyline([(0, 0), (200, 0), (200, 100), (0, 100)], close=True)
    panel.add_blockref("Eyelet", (50, 50), dxfattribs={"xscale": 2, "yscale": 2})
    space.add_blockref("Panel", (1000, 0), dxfattribs={"rotation": 90})
    (piece,) = read(doc, tmp_path).pieces
    (hole_path,) = piece.holes
    assert area(hole_path) == pytest.approx(math.pi * 64)
    assert bounds(hole_path) == pytest.approx((942, 42, 958, 58))


def test_rows_and_columns_of_a_block(drawing, tmp_path):
    doc, space = drawing
    block = doc.blocks.new("Dot")
    block.add_circle((0, 0), 3)
    plate = doc.blocks.new("Plate")
    plate.add_lwpolyline([(-10, -10), (200, -10), (200, 100), (-10, 100)], close=True)
    plate.add_blockref("Dot", (0, 0)).grid(size=(2, 3), spacing=(40, 50))
    space.add_blockref("Plate", (0, 0))
    (piece,) = read(doc, tmp_path).pieces
    assert len(piece.holes) == 6


def test_hidden_layers_are_not_read(drawing, tmp_path):
    doc, space = drawing
    doc.layers.add("construction").off()
    space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
    space.add_circle((100, 100), 20, dxfattribs={"layer": "construction"})
    pattern = read(doc, tmp_path)
    assert pattern.pieces[0].holes == ()
    assert any("1 hidden" in f.text for f in pattern.findings)


def test_mtext_and_paper_space(drawing, tmp_path):
    doc, space = drawing
    space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
    space.add_mtext("{\\fArial|b1;Base}\\Ptwo", dxfattribs={"insert": (50, 50), "char_height": 8})
    doc.layout("Layout1").add_circle((0, 0), 500)
    pattern = read(doc, tmp_path)
    (piece,) = pattern.pieces
    assert piece.name == "Base"
    assert [mark.text for mark in piece.marks] == ["Base", "two"]


@pytest.mark.parametrize(("code", "unit"), [(1, "in"), (4, "mm"), (5, "cm"), (6, "m"), (14, "dm")])
def test_insunits(code, unit, tmp_path):
    doc = ezdxf.new("R2000", units=code)
    factor = {"in": 25.4, "mm": 1, "cm": 10, "m": 1000, "dm": 100}[unit]
    ring = [(x / factor, y / factor) for x, y in [(0, 0), (300, 0), (300, 200), (0, 200)]]
    doc.modelspace().add_lwpolyline(ring, close=True)
    pattern = read(doc, tmp_path)
    assert pattern.scale.unit == unit
    assert pattern.largest == pytest.approx((300, 200))


def test_binary_dxf(drawing, tmp_path):
    doc, space = drawing
    space.add_lwpolyline([(0, 0, 0), (200, 0, 0.5), (200, 100, 0)], format="xyb", close=True)
    space.add_text("Träger", height=8, dxfattribs={"insert": (50, 20)})
    path = tmp_path / "binary.dxf"
    doc.saveas(path, fmt="bin")
    pattern = read_pattern(path)
    doc.saveas(tmp_path / "text.dxf")
    other = read_pattern(tmp_path / "text.dxf")
    assert [p.name for p in pattern.pieces] == ["Träger"]
    assert area(pattern.pieces[0].cut) == pytest.approx(area(other.pieces[0].cut))


def test_a_reference_line_of_known_length(drawing, tmp_path):
    doc, space = drawing
    space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
    space.add_line((0, -50), (132.29166667, -50), dxfattribs={"layer": "reference"})
    pattern = read(doc, tmp_path, reference=Reference(length=500.0))
    assert pattern.largest == pytest.approx((300 * 96 / 25.4, 200 * 96 / 25.4))
    assert any("px (1/96 in)" in f.text for f in pattern.findings)
    with pytest.raises(PatternError, match="no line, square, layer or text 'ruler'"):
        read(doc, tmp_path, reference=Reference(length=500.0, name="ruler"))


def test_a_file_is_read_once_for_all_its_pieces_until_it_changes(drawing, tmp_path):
    doc, space = drawing
    ring = [(0, 0), (300, 0), (300, 200), (0, 200)]
    space.add_lwpolyline(ring, close=True, dxfattribs={"layer": "front"})
    path = tmp_path / "one.dxf"
    doc.saveas(path)
    front, other = (Request(file=path, piece=name) for name in ("Front", "frunt"))
    pattern = pattern_for(front)
    assert pattern_for(other) is pattern
    assert pattern.piece("Front").name == "front"
    with pytest.raises(PatternError, match=r"no piece 'frunt' in it \(did you mean 'front'\?\)"):
        pattern.piece("frunt")
    space.add_lwpolyline([(x + 400, y) for x, y in ring], close=True)
    doc.saveas(path)
    assert len(pattern_for(front).pieces) == 2


def test_a_frame_around_everything_is_told(drawing, tmp_path):
    doc, space = drawing
    space.add_lwpolyline([(-50, -50), (900, -50), (900, 500), (-50, 500)], close=True)
    for x in (0, 400):
        space.add_lwpolyline([(x, 0), (x + 300, 0), (x + 250, 300)], close=True)
    pattern = read(doc, tmp_path)
    assert len(pattern.pieces) == 1
    assert any(f.kind == "frame" for f in pattern.findings)


def test_an_aligned_text_stands_at_its_second_point(drawing, tmp_path):
    doc, space = drawing
    for x in (0, 400):
        space.add_lwpolyline([(x, 0), (x + 300, 0), (x + 300, 200), (x, 200)], close=True)
    middle = ezdxf.enums.TextEntityAlignment.MIDDLE_CENTER
    for x, name in ((150, "one"), (550, "two")):
        space.add_text(name, height=20).set_placement((x, 100), align=middle)
    assert [piece.name for piece in read(doc, tmp_path).pieces] == ["one", "two"]


def test_nothing_of_a_file_reaches_the_terminal_raw(drawing, tmp_path):
    doc, space = drawing
    ring = [(0, 0), (300, 0), (300, 200), (0, 200)]
    space.add_lwpolyline(ring, close=True)
    space.add_text("a\x1b[31mb", height=5, dxfattribs={"insert": (50, 50)})
    pattern = read(doc, tmp_path)
    assert pattern.pieces[0].name.isprintable()
    assert all(finding.text.isprintable() for finding in pattern.findings)
