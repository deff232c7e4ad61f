"""Templates: every piece once, at its size, with what it is cut from."""

import ctypes
import math
from dataclasses import replace

import pypdfium2
import pypdfium2.raw as pdfium_c
import pytest
from pypdf import PdfReader
from shapely import LineString, box

from nesting import parse_job
from nesting.job.job import Bag, Cut, Job
from nesting.marker.lay import Part
from nesting.material.material import Cloth, Width
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.writing.neutral.drawing import Operation
from nesting.writing.paper.papers import PAPERS, roll
from nesting.writing.paper.print_pdf import print_drawings
from nesting.writing.paper.templates import templates
from tests.published.pages_back import rect


def piece(name, w, h, *, grain=0.0):
    return Piece(
        name=name,
        cut=rect(0, 0, w, h),
        sew=rect(10, 10, w - 20, h - 20),
        grain=grain,
        marks=(Mark(kind=MarkKind.DRILL, at=(w / 2, h / 3), size=3.0),),
    )


def test_templates_hold_every_piece_once_at_size_and_small_ones_share_sheets(tmp_path):
    pieces = [
        piece("front", 450, 320),
        piece("strap", 250, 30),
        piece("side", 30, 260, grain=90.0),
        piece("tab", 40, 60),
        piece("flap", 120, 80),
        piece("tall", 180, 270),
    ]
    cuts = tuple(Cut(piece=p.name, material="canvas", copies=2) for p in pieces)
    cloth = Cloth(name="canvas", widths=(Width(booked=1400.0, usable=1380.0),))
    bag = Bag(name="Bag", pieces=tuple(pieces), cuts=cuts)
    drawings = templates(Job(name="Bag", bags=(bag,), materials=(cloth,)))
    names = sorted(part.name for d in drawings for part in d.parts)
    assert names == sorted(p.name for p in pieces)
    assert len(drawings) == 3
    for d in drawings:
        for stroke in d.strokes:
            assert stroke.operation is not Operation.EDGE
        sizes = {
            d.parts[s.part].name: LineString(s.path.points(0.1)).bounds
            for s in d.strokes
            if s.operation is Operation.CUT
        }
        for name, (x0, y0, x1, y1) in sizes.items():
            true = next(p for p in pieces if p.name == name)
            size = LineString(true.cut.points(0.1)).bounds[2:]
            assert (x1 - x0, y1 - y0) == pytest.approx(size[::-1] if true.grain else size)
        shapes = [box(*bounds) for bounds in sizes.values()]
        for i, a in enumerate(shapes):
            assert all(a.distance(b) > 4.9 for b in shapes[i + 1 :])
    tilings = print_drawings(drawings, tmp_path / "t.pdf")
    assert [len(t.tiles) for t in tilings][1:] == [1, 1]
    assert isinstance(drawings[0].parts[0], Part)


HANDLE = """
[job]
name = "Loop"
[[piece]]
name = "key loop"
strap = [140, 12]
[[piece]]
name = "pocket"
rectangle = [150, 120]
fold_back = [[0, 80], [150, 80]]
[[piece]]
name = "long strap"
strap = [900, 20]
[[cloth]]
name = "outer"
width = 1400
nap = "one-way"
[[cloth]]
name = "lining"
width = 1400
[[cut]]
piece = "key loop"
material = "outer"
copies = 2
[[cut]]
piece = "pocket"
material = "outer"
[[cut]]
piece = "pocket"
material = "lining"
pairs = true
folded_back = true
[[cut]]
piece = "long strap"
material = "lining"
"""


def _line_styles(page) -> set[tuple[bool, float]]:
    """Return (dashed, width) of every drawn line of a page, read back by pypdfium2."""
    found = set()
    for one in page.get_objects(max_depth=10):
        if one.type != pdfium_c.FPDF_PAGEOBJ_PATH:
            continue
        width = ctypes.c_float()
        pdfium_c.FPDFPageObj_GetStrokeWidth(one, width)
        dashed = pdfium_c.FPDFPageObj_GetDashCount(one) > 0
        matrix = one.get_matrix()
        found.add((dashed, round(width.value * math.hypot(matrix.a, matrix.b) * 25.4 / 72, 2)))
    return found


def test_only_what_is_cut_is_a_thick_solid_line(tmp_path):
    """A strap's folds printed solid would be cut: the loop would fall into strips."""
    drawings = templates(parse_job(HANDLE), only=["outer"])
    folds = [s for d in drawings for s in d.strokes if s.name in ("fold", "fold back here")]
    assert len(folds) == 3 + 1
    assert {s.operation for s in folds} == {Operation.MARK}
    print_drawings(drawings, tmp_path / "t.pdf")
    pdf = pypdfium2.PdfDocument(tmp_path / "t.pdf")
    styles = set().union(*(_line_styles(page) for page in list(pdf)[2:]))
    assert {style for style in styles if style[1] >= 0.4} == {(False, 0.5)}
    assert (True, 0.25) in styles


def test_a_template_says_from_what_and_how_often_it_is_cut() -> None:
    drawings = templates(parse_job(HANDLE))
    texts = " ".join(label.text for d in drawings for label in d.labels)
    for said in ("cut 2 from outer", "cut 1 + 1 reversed from lining, folded back"):
        assert said in texts
    parts = {part.piece.name: part for d in drawings for part in d.parts}
    assert set(parts) == {"key loop", "pocket"}
    # which end is up matters on cloth with a one-way nap
    assert parts["key loop"].one_way
    (told,) = [note for d in drawings for note in d.notes if "long strap" in note]
    assert "90.0 cm along the grain × 8.0 cm" in told
    every = templates(parse_job(HANDLE), rectangles=True)
    assert {part.piece.name for d in every for part in d.parts} == {*parts, "long strap"}
    lining = templates(parse_job(HANDLE), only=["lining"])
    assert {part.piece.name for d in lining for part in d.parts} == {"pocket"}


@pytest.mark.parametrize("paper", [PAPERS["a4"], roll(914.0)], ids=["a4", "roll"])
def test_where_all_are_large_rectangles_their_sizes_are_printed(tmp_path, paper):
    job = parse_job(HANDLE.replace("pairs = true\nfolded_back = true\n", ""))
    bag = job.bags[0]
    alone = replace(bag, cuts=tuple(c for c in bag.cuts if c.piece == "long strap"))
    drawings = templates(replace(job, bags=(alone,)), paper=PAPERS["a4"])
    file = tmp_path / "t.pdf"
    (tiling,) = print_drawings(drawings, file, paper=paper)
    assert tiling.tiles == ()
    (page,) = PdfReader(file).pages
    text = " ".join(page.extract_text().split())
    assert "To be drawn on the material with a ruler (not printed):" in text
    assert "long strap: 90.0 cm along the grain × 8.0 cm; cut 1 from lining; 3 lines" in text
    # There is nothing to measure, to cut out or to join.
    for words in ("100 mm", "Measure", "thick solid lines", "overlap", "Map"):
        assert words not in text


def test_what_only_some_copies_carry_is_on_the_template_and_said(tmp_path):
    """A template is for every copy: a snap of the left one alone was on no paper at all."""
    marks = """
[[piece.mark]]
kind = "drill"
at = [30, 40]
size = 4
hands = "left"
[[piece.mark]]
kind = "outline"
rectangle = [8, 5]
at = [90, 20]
materials = "lining"
[[piece]]
name = "long strap"
"""
    job = parse_job(HANDLE.replace('[[piece]]\nname = "long strap"\n', marks.lstrip()))
    drawings = templates(job)
    (page,) = (d for d in drawings if any(p.piece.name == "pocket" for p in d.parts))
    (index,) = (i for i, p in enumerate(page.parts) if p.piece.name == "pocket")
    assert [hole.part for hole in page.holes] == [index]
    closed = [s for s in page.strokes if s.operation is Operation.MARK and s.path.closed]
    assert [stroke.part for stroke in closed] == [index]
    said = "mark not everywhere: drill hole (left only); outline (lining only)"
    assert said in page.keys.titles[page.keys.place_of(page.parts[index])]


def test_a_spread_says_of_which_bag_its_piece_is():
    """Two bags may have pieces of one name: their sheets must not be mixed up."""
    job = parse_job("""
[job]
name = "Two"
[[cloth]]
name = "canvas"
width = 1400
[[bag]]
name = "tote"
[[bag.piece]]
name = "front"
rectangle = [400, 300]
corner_radius = 20
[[bag.cut]]
piece = "front"
material = "canvas"
[[bag]]
name = "pouch"
[[bag.piece]]
name = "front"
rectangle = [250, 200]
corner_radius = 20
[[bag.cut]]
piece = "front"
material = "canvas"
""")
    names = [drawing.name for drawing in templates(job)]
    assert names == ["Template: front of tote", "Template: front of pouch"]
