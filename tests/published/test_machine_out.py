"""What machine files have whatever their format: cautions, loads, turns, kerf, over-cut."""

import math
import re
from dataclasses import replace

import pytest
from shapely import Polygon

from nesting.errors import MachineError, WriteError
from nesting.pattern.measure import length
from nesting.writing.cautions import ALWAYS
from nesting.writing.machines.files import write_machine_file
from nesting.writing.machines.formats import Format
from nesting.writing.machines.knife import starts_uncut
from nesting.writing.machines.load import prepare
from nesting.writing.machines.machine import Kind, read_machine
from nesting.writing.neutral.drawing import Drawing, Operation, Role, Stroke
from tests.published.machine_files import COTTON, SHOPS, box, machine, marker, shape, write
from tests.published.test_machine_hpgl import read_hpgl
from tests.published.test_machine_svg import svg_paths


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
        *(p for s in load.sequence.drawing.strokes for p in s.path.points(0.01)), strict=True
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
    for axis, tip in zip(load.sequence.drawing.strokes, load.before_blade.strokes, strict=True):
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
