"""Machine files read back by readers that are not ours, or were written here from the standard.

Sources: DXF by ezdxf; SVG paths by SVG 2, chapter 9 and appendix B.2.4 (arc
implementation notes); HP-GL by its published language (1 unit = 0.025 mm, clamped
integers of −32768…32767: the HP-GL chapter of a printer's manual). The worked cases of
kerf are those of two cutting services' public guides (snijlab.nl, spiritdesign.com.au).
"""

import math
import re
from dataclasses import replace
from itertools import groupby, pairwise
from pathlib import Path as FilePath
from xml.etree import ElementTree

import ezdxf
import pytest
from ezdxf.path import make_path
from shapely import Polygon

from nesting.errors import MachineError, WriteError
from nesting.marker.lay import Part
from nesting.material.material import SheetGoods
from nesting.pattern.measure import area, length
from nesting.pattern.path import Arc, Bezier, Line, Path
from nesting.pattern.piece import Piece
from nesting.writing.cautions import ALWAYS
from nesting.writing.machines.contour import circle
from nesting.writing.machines.files import write_machine_file
from nesting.writing.machines.formats import Format
from nesting.writing.machines.kerf import allow_for_kerf
from nesting.writing.machines.knife import starts_uncut
from nesting.writing.machines.load import prepare
from nesting.writing.machines.machine import Kind, Machine, Tool, read_machine
from nesting.writing.neutral.drawing import Drawing, Hole, Label, Operation, Role, Stroke

SHOPS = FilePath(__file__).parents[2] / "sample_markers" / "shops"
COTTON = SheetGoods(name="invented canvas", substance="cotton", length=900.0, width=600.0)


def box(x, y, w, h):
    return Path.polyline([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], closed=True)


def shape(x, y):
    """Return an outline with every kind of segment."""
    return Path(
        (
            Line((x, y), (x + 80, y)),
            Arc((x + 80, y + 20), (20, 0), (0, 20), -math.pi / 2, math.pi / 2),
            Line((x + 100, y + 20), (x + 100, y + 50)),
            Bezier((x + 100, y + 50), (x + 90, y + 90), (x + 40, y + 50), (x + 30, y + 80)),
            Line((x + 30, y + 80), (x, y + 80)),
            Line((x, y + 80), (x, y)),
        )
    )


def marker(columns=3, rows=2, *, step=120.0):
    strokes, holes, labels, parts = [], [], [], []
    for index in range(columns * rows):
        x, y = 5.0 + step * (index % columns), 5.0 + 100.0 * (index // columns)
        outline, bore = shape(x, y), circle((x + 30, y + 30), 12.0)
        notch = Path((Line((x, y + 40), (x + 5, y + 40)),))
        line = Path.polyline([(x + 50, y + 10), (x + 70, y + 30)], closed=False)
        strokes += [
            Stroke(operation=Operation.CUT, path=bore, part=index, inner=True),
            Stroke(operation=Operation.NOTCH, path=notch, part=index),
            Stroke(operation=Operation.MARK, path=line, part=index, name="pocket"),
            Stroke(operation=Operation.CUT, path=outline, part=index),
        ]
        holes += [
            Hole(at=(x + 60, y + 40), diameter=3.0, part=index),
            Hole(at=(x + 10, y + 60), diameter=0.0, part=index),
        ]
        labels.append(Label(text=f"part & <{index}> 100 %%d", at=(x + 40, y + 50), height=5.0))
        parts.append(Part(name=f"part {index}", piece=Piece(name="shape", cut=outline)))
    wide, high = step * columns, 100.0 * rows
    edge = Stroke(operation=Operation.EDGE, path=box(0, 0, wide, high), role=Role.USABLE)
    return Drawing(
        name="invented <marker>",
        length=wide,
        width=high,
        strokes=(edge, *strokes),
        holes=tuple(holes),
        labels=tuple(labels),
        parts=tuple(parts),
        notes=("The cloth lies with its wrong side up.",),
    )


def machine(form, **more):
    colours = {"cut": "#ff0000", "notch": "#ff8800", "drill": "#00aa00", "mark": "#0000ff"}
    colours["text"] = "#00ffff"
    given = {
        "name": "invented",
        "kind": Kind.OSCILLATING_KNIFE,
        "reads": (form,),
        "bed_length": 2000.0,
        "bed_width": 1000.0,
        "tools": tuple(
            Tool(operation=Operation(op), name=op, layer=f"{i}-{op}", pen=i, colour=colour)
            for i, (op, colour) in enumerate(colours.items(), 1)
        ),
        "curves": True,
    }
    return Machine(**(given | more))


def write(drawing, shop, tmp_path, **more):
    path = tmp_path / f"marker{shop.reads[0].suffix}"
    return write_machine_file(drawing, shop, path, material=COTTON, **more)


def expected(drawing, operation):
    """Return lengths and areas of what has to come back, sorted."""
    paths = [s.path for s in drawing.strokes if s.operation is operation]
    if operation is Operation.DRILL:
        paths = [circle(h.at, h.diameter) for h in drawing.holes if h.diameter]
    return sorted((length(p), area(p) if p.closed else 0.0) for p in paths)


# --- kerf: worked cases -------------------------------------------------------------------


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


# --- DXF ----------------------------------------------------------------------------------


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


# --- SVG ----------------------------------------------------------------------------------

NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"


def svg_arc(p, rx, ry, tilt, large, sweep, q):
    """Return points of an arc (SVG 2, appendix B.2.4), fine enough for 1e-7 mm."""
    phi = math.radians(tilt)
    c, s = math.cos(phi), math.sin(phi)
    dx, dy = (p[0] - q[0]) / 2, (p[1] - q[1]) / 2
    x1, y1 = c * dx + s * dy, c * dy - s * dx
    grow = math.sqrt(max(1.0, (x1 / rx) ** 2 + (y1 / ry) ** 2))
    rx, ry = rx * grow, ry * grow
    under = (rx * ry) ** 2 - (rx * y1) ** 2 - (ry * x1) ** 2
    k = math.sqrt(max(0.0, under / ((rx * y1) ** 2 + (ry * x1) ** 2)))
    k = -k if large == sweep else k
    cx1, cy1 = k * rx * y1 / ry, -k * ry * x1 / rx
    cx, cy = c * cx1 - s * cy1 + (p[0] + q[0]) / 2, s * cx1 + c * cy1 + (p[1] + q[1]) / 2
    a = math.atan2((y1 - cy1) / ry, (x1 - cx1) / rx)
    b = math.atan2((-y1 - cy1) / ry, (-x1 - cx1) / rx)
    turn = (b - a) % math.tau if sweep else -((a - b) % math.tau)
    n = 2000
    for i in range(1, n + 1):
        t = a + turn * i / n
        x, y = rx * math.cos(t), ry * math.sin(t)
        yield (c * x - s * y + cx, s * x + c * y + cy)


def svg_points(d):
    """Return the points of one subpath (commands M L C A Z, absolute)."""
    words = re.findall(rf"[A-Za-z]|{NUMBER}", d)
    points, i = [], 0
    while i < len(words):
        command, i = words[i], i + 1
        many = {"M": 2, "L": 2, "C": 6, "A": 7, "Z": 0}[command]
        a = [float(w) for w in words[i : i + many]]
        i += many
        if command in "ML":
            points.append((a[0], a[1]))
        elif command == "C":
            p, n = (points[-1], (a[0], a[1]), (a[2], a[3]), (a[4], a[5])), 2000
            for k in range(1, n + 1):
                t, u = k / n, 1 - k / n
                w = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
                points.append(tuple(sum(w[j] * p[j][m] for j in range(4)) for m in (0, 1)))
        elif command == "A":
            points += svg_arc(points[-1], a[0], a[1], a[2], a[3], a[4], (a[5], a[6]))
    return points, "Z" in words


def svg_root(file):
    return ElementTree.parse(file).getroot()


def svg_size(file):
    root = svg_root(file)
    assert root.get("width").endswith("mm")
    box = [float(v) for v in root.get("viewBox").split()]
    assert box[:2] == [0.0, 0.0]
    assert box[2:] == [float(root.get("width")[:-2]), float(root.get("height")[:-2])]
    return box[2:]


def svg_paths(file):
    """Return (group's id, stroke colour, points) of each path; closed ones repeat the first."""
    out = []
    for group in svg_root(file).iter("{http://www.w3.org/2000/svg}g"):
        for path in group.iter("{http://www.w3.org/2000/svg}path"):
            points, closed = svg_points(path.get("d"))
            if closed:
                points.append(points[0])
            out.append((group.get("id"), group.get("stroke"), points))
    return out


def test_svg_comes_back(tmp_path):
    drawing, shop = marker(), machine(Format.SVG)
    result = write(drawing, shop, tmp_path)
    (load,) = result.loads
    assert svg_size(result.files[0]) == [2000.0, 1000.0]
    paths = svg_paths(result.files[0])
    for tool in shop.tools:
        if tool.operation is Operation.TEXT:
            continue
        mine = [points for group, _, points in paths if group == tool.operation.value]
        assert {colour for g, colour, _ in paths if g == tool.operation.value} == {tool.colour}
        found = []
        for points in mine:
            size = sum(math.dist(p, q) for p, q in pairwise(points))
            closed = len(points) > 3 and points[0] == points[-1]
            found.append((size, Polygon(points).area if closed else 0.0))
        want = expected(drawing, tool.operation)
        if tool.operation is Operation.DRILL:
            want = sorted([*want, *[(0.0, 0.0)] * 6])
        # What the reader's own 2,000 chords leave: about 1e-7 of a length, 2e-6 of an area.
        assert len(found) == len(want)
        for got, true in zip(sorted(found), want, strict=True):
            assert got[0] == pytest.approx(true[0], abs=3e-5)
            assert got[1] == pytest.approx(true[1], abs=3e-3)
    order = [group for group, _, _ in paths]
    assert order == sorted(order, key=["mark", "text", "drill", "notch", "cut"].index)
    xs = [x for _, _, points in paths for x, _ in points]
    ys = [1000.0 - y for _, _, points in paths for _, y in points]
    assert (min(xs), min(ys)) == pytest.approx((5.0, 5.0), abs=1e-6)
    assert (max(xs), max(ys)) == pytest.approx((345.0, 185.0), abs=1e-6)
    assert load.place((0.0, 0.0)) == (0.0, 0.0)
    assert "part &amp; &lt;0&gt;" in result.files[0].read_text()


# --- HP-GL --------------------------------------------------------------------------------


def read_hpgl(text):
    """Return (pen, points in units) of every line drawn, as a plotter would, and the commands."""
    pen, down, last, used, drawn, current = 0, False, (0, 0), [], [], None
    for command in text.replace("\n", "").split(";"):
        if not command:
            continue
        name, numbers = command[:2], [int(n) for n in command[2:].split(",") if n]
        used.append(name)
        if name in ("PU", "PD"):
            down = name == "PD"
            for at in zip(numbers[::2], numbers[1::2], strict=True):
                assert all(-32768 <= n <= 2**30 - 1 for n in at)
                if down:
                    if current is None:
                        current = [last]
                        drawn.append((pen, current))
                    current.append(at)
                last = at
            if not down:
                current = None
        elif name == "SP":
            pen, current = int(numbers[0]), None
        elif name not in ("IN", "PA", "PG"):
            raise AssertionError(name)
    return drawn, used


def test_hpgl_comes_back_to_half_a_unit(tmp_path):
    drawing, shop = marker(), machine(Format.HPGL, chord=0.01)
    result = write(drawing, shop, tmp_path)
    text = result.files[0].read_bytes().decode("ascii")
    drawn, used = read_hpgl(text)
    assert used[:2] == ["IN", "PA"]
    assert used[-2:] == ["PU", "SP"]
    strokes = result.loads[0].ordered.drawing.strokes
    assert len(drawn) == len(strokes)
    assert sum(stroke.operation is not Operation.TEXT for stroke in strokes) == 36
    for (pen, points), stroke in zip(drawn, strokes, strict=True):
        assert pen == shop.tool(stroke.operation).pen
        true = list(stroke.path.points(0.01))
        true += [true[0]] if stroke.path.closed else []
        mm = [(x / 40.0, y / 40.0) for x, y in points]
        # Every vertex within half a unit (each axis), in order; vertices that fall on one are one.
        k = 0
        for p in true:
            while max(abs(p[0] - mm[k][0]), abs(p[1] - mm[k][1])) > 0.0125 + 1e-9:
                k += 1
        assert k >= len(mm) - 2
    pens = [pen for pen, _ in drawn]
    assert pens == sorted(pens, key=[4, 5, 3, 2, 1].index)


def test_a_coordinate_of_32767_is_written_and_one_more_is_refused(tmp_path):
    """32,767 units are 819.175 mm: the published range of a 16-bit coordinate."""
    shop = machine(Format.HPGL, bed_length=3000.0)
    for far, good in ((819.175, True), (819.2, False)):
        drawing = Drawing(
            name="t",
            length=900.0,
            width=50.0,
            strokes=(Stroke(operation=Operation.CUT, path=box(far - 40, 0, 40, 40), part=0),),
        )
        if good:
            drawn, _ = read_hpgl(write(drawing, shop, tmp_path).files[0].read_text())
            assert max(x for _, points in drawn for x, _ in points) == 32767
            continue
        with pytest.raises(MachineError, match=r"819\.2 mm is beyond the 819\.175 mm"):
            write(drawing, shop, tmp_path, overwrite=True)
        long = replace(shop, long_coordinates=True)
        drawn, _ = read_hpgl(write(drawing, long, tmp_path, overwrite=True).files[0].read_text())
        assert max(x for _, points in drawn for x, _ in points) == 32768


def test_a_long_lay_for_a_16_bit_plotter_is_split_never_wrapped(tmp_path):
    drawing = marker(columns=20)
    shop = machine(Format.HPGL, bed_length=5000.0, advances=True, chord=0.01)
    result = write(drawing, shop, tmp_path)
    texts = [file for file in result.files if file.suffix == ".plt"]
    assert [file.name for file in texts] == [f"marker-{i}-of-4.plt" for i in (1, 2, 3, 4)]
    outlines = []
    for file in texts:
        drawn, _ = read_hpgl(file.read_text())
        rings = [points for pen, points in drawn if pen == 1 and points[0] == points[-1]]
        outlines += [Polygon(p).area / 1600.0 for p in rings if Polygon(p).area > 1e6]
        flat = [n for _, points in drawn for p in points for n in p]
        assert min(flat) >= 0
        assert max(flat) <= 32767
    assert outlines == pytest.approx([area(shape(0, 0))] * 40, rel=1e-3)
    assert "register" in result.files[-1].read_text()


def test_hpgl_writes_the_names_as_lines(tmp_path):
    """HP-GL has no font that is the same everywhere: letters are drawn, one line after another."""
    drawing, shop = marker(), machine(Format.HPGL)
    drawn, _ = read_hpgl(write(drawing, shop, tmp_path).files[0].read_text())
    pen = shop.tool(Operation.TEXT).pen
    letters = [[(x / 40.0, y / 40.0) for x, y in points] for p, points in drawn if p == pen]
    around = [label.at for label in drawing.labels]
    nearest = [min(range(6), key=lambda k: math.dist(around[k], ring[0])) for ring in letters]
    assert set(nearest) == set(range(6))
    assert len([k for k, _ in groupby(nearest)]) == 6, "each line of text is drawn at one go"
    for k, label in enumerate(drawing.labels):
        points = [p for i, ring in zip(nearest, letters, strict=True) if i == k for p in ring]
        xs, ys = zip(*points, strict=True)
        assert (min(xs) + max(xs)) / 2.0 == pytest.approx(label.at[0], abs=1.0)
        # Capitals and figures are as high as asked for; the ampersand goes a little beyond.
        assert label.height <= max(ys) - label.at[1] + label.height / 2.0 <= 1.25 * label.height


# --- all formats --------------------------------------------------------------------------


@pytest.mark.parametrize("form", list(Format))
def test_every_file_goes_with_the_cautions_and_the_notes(tmp_path, form):
    result = write(marker(), machine(form), tmp_path)
    file, sheet = result.files
    said = sheet.read_text(encoding="utf-8")
    for text in (said,) if form is Format.HPGL else (said, file.read_text(encoding="utf-8")):
        assert "manual" in text
        assert "safety data sheet" in text
        assert "wrong side up" in text
    if form in (Format.DXF, Format.DXF_R12):
        comments = re.findall(r"^999\n(.*)$", file.read_text(encoding="utf-8"), re.MULTILINE)
        whole = " ".join(comments)
        assert all(re.sub(r"[^\x20-\x7e]", "?", line) in whole for line in ALWAYS)
        assert max(len(line) for line in comments) <= 200
    assert "power" not in said.replace("no power", "").replace("powered", "")


def test_several_sheets_are_loads_of_their_own(tmp_path):
    result = write([marker(), marker(columns=2)], machine(Format.SVG), tmp_path)
    assert [file.name for file in result.files] == [
        "marker-1-of-2.svg",
        "marker-2-of-2.svg",
        "marker-1-of-2.txt",
        "marker-2-of-2.txt",
    ]
    cut = [[g for g, _, _ in svg_paths(file)].count("cut") for file in result.files[:2]]
    assert cut == [12, 8]


def test_nothing_is_written_if_anything_is_there_or_wrong(tmp_path):
    (tmp_path / "marker.txt").write_text("mine")
    with pytest.raises(WriteError, match="exists"):
        write(marker(), machine(Format.SVG), tmp_path)
    assert [f.name for f in tmp_path.iterdir()] == ["marker.txt"]
    with pytest.raises(MachineError, match="does not read"):
        write(marker(), machine(Format.SVG), tmp_path, forms=[Format.HPGL])
    with pytest.raises(MachineError, match=r"bed\.width"):
        write(marker(), machine(Format.SVG, bed_width=100.0, bed_length=100.0), tmp_path)
    shears = machine(Format.SVG)
    shears = replace(shears, kind=Kind.SHEARS, reads=())
    with pytest.raises(MachineError, match="reads no file"):
        write_machine_file(marker(), shears, tmp_path / "x.svg", material=COTTON)
    assert [f.name for f in tmp_path.iterdir()] == ["marker.txt"]


def test_a_sheet_that_fits_only_turned_is_turned():
    shop = machine(Format.SVG, bed_length=250.0, bed_width=400.0)
    (load,), _ = prepare(marker(), shop, form=Format.SVG)
    xs, ys = zip(
        *(p for s in load.ordered.drawing.strokes for p in s.path.points(0.01)), strict=True
    )
    assert min(*xs, *ys) >= -1e-9
    assert max(xs) <= 250.0
    assert max(ys) <= 400.0
    assert math.dist(load.place((0, 0)), load.place((100, 0))) == pytest.approx(100.0)


def test_a_laser_grows_the_parts_by_its_kerf_and_stays_on_the_bed(tmp_path):
    shop = read_machine(SHOPS / "hobby_laser.toml")
    result = write(marker(), shop, tmp_path)
    outlines = [
        Polygon(points).area
        for group, _, points in svg_paths(result.files[0])
        if group == "cut" and len(points) > 4000
    ]
    assert len(outlines) == 12
    whole = Polygon(shape(0, 0).points(1e-4)).buffer(0.1, join_style="mitre").area
    bore = math.pi * 5.9**2
    assert sorted(outlines) == pytest.approx([bore] * 6 + [whole] * 6, abs=0.05)


def test_a_drag_knife_of_the_example_shop_cuts_the_tips_path_with_over_cut(tmp_path):
    shop = read_machine(SHOPS / "drag_knife.toml")
    result = write(marker(), shop, tmp_path)
    load = result.loads[0]
    for axis, tip in zip(load.ordered.drawing.strokes, load.before_blade.strokes, strict=True):
        if tip.operation is Operation.CUT:
            assert length(axis.path) > length(tip.path) + 1.0
        elif tip.operation is Operation.MARK:
            assert axis.path == tip.path
    read_hpgl(result.files[0].read_text())


def test_a_turned_marker_is_said_loudly_on_the_sheet_and_in_the_findings(tmp_path):
    shop = machine(Format.DXF_R12, bed_length=250.0, bed_width=400.0)
    result = write(marker(), shop, tmp_path)
    assert any("TURNED by 90°" in finding.text for finding in result.findings)
    said = result.files[-1].read_text()
    assert "TURNED BY 90 DEGREES. Load the material with its grain" in said
    assert "  y  ^" in said
    assert "TURNED BY 90 DEGREES" in result.files[0].read_text()
    straight = replace(shop, bed_length=400.0)
    result = write(marker(), straight, tmp_path, overwrite=True)
    assert "TURNED" not in "".join(file.read_text() for file in result.files)


def test_a_sheet_is_turned_on_an_advancing_bed_too():
    """What the planner takes for one load (it fits either way) is one load here."""
    shop = machine(Format.SVG, bed_length=250.0, bed_width=400.0, advances=True)
    (load,), _ = prepare(marker(), shop, form=Format.SVG, sheet=True)
    assert load.turned


def test_register_marks_of_all_windows_stand_at_one_height_whatever_the_blade_needs():
    """The second window's outline touches y = 0: its axis runs past, the first one's does not."""
    boxes = [box(10.0, 40.0, 300.0, 300.0), box(340.0, 0.0, 300.0, 340.0)]
    strokes = tuple(
        Stroke(operation=Operation.CUT, path=path, part=i) for i, path in enumerate(boxes)
    )
    lay = Drawing(name="two", length=640.0, width=400.0, strokes=strokes)
    shop = replace(
        read_machine(SHOPS / "drag_knife.toml"), bed_length=350.0, bed_width=500.0, blade_offset=0.8
    )
    loads, _ = prepare(lay, shop, form=Format.HPGL, rounds=0)
    heights = [
        {
            round(s.path.segments[0].at(0.5)[1], 6)
            for s in load.before_blade.strokes
            if s.role is Role.REGISTER
        }
        for load in loads
    ]
    assert len(loads) == 2
    assert heights[0] == heights[1]
    assert [load.place((0.0, 0.0))[1] for load in loads] == pytest.approx([0.8, 0.8])


def test_two_runs_of_a_dxf_are_the_same_to_the_byte(tmp_path):
    shop = machine(Format.DXF)
    files = []
    for name in ("one", "two"):
        folder = tmp_path / name
        folder.mkdir()
        files.append(write(marker(), shop, folder).files[0].read_bytes())
    assert files[0] == files[1]
    assert b"$TDCREATE" in files[0]


def test_over_cut_that_leaves_starts_uncut_is_told_and_the_told_length_closes_them():
    """Against the tractrix integrated in small steps (its defining equation)."""
    shop = replace(read_machine(SHOPS / "drag_knife.toml"), over_cut=1.0)
    (found,) = starts_uncut(marker(), shop)
    assert "over_cut is 1 mm" in found.text
    assert starts_uncut(marker(), replace(shop, over_cut=found.amount)) == ()
    angle, step = math.radians(170.0), 1e-4
    for _ in range(round(found.amount / step)):
        angle -= step * math.sin(angle) / shop.blade_offset
    assert shop.blade_offset * math.sin(angle) == pytest.approx(shop.chord, rel=0.01)
    assert starts_uncut(marker(), read_machine(SHOPS / "drag_knife.toml")) == ()
