"""HP-GL read back by a reader written here from its published language.

1 unit = 0.025 mm, clamped integers of −32768…32767: the HP-GL chapter of a printer's manual.
"""

import math
from dataclasses import replace
from itertools import groupby

import pytest
from shapely import Polygon

from nesting.errors import MachineError
from nesting.pattern.measure import area
from nesting.writing.machines.formats import Format
from nesting.writing.neutral.drawing import Drawing, Operation, Stroke
from tests.published.machine_files import box, machine, marker, shape, write


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
    strokes = result.loads[0].sequence.drawing.strokes
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
