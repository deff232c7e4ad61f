"""Prints read back by a PDF library, put together by their join marks, and rasterised.

Sources: PDF units of 1/72 in and the limit of 14,400 of them (ISO 32000-1, annex C);
A4 and A3 by ISO 216, Letter 8½ × 11 in; number of sheets ceil((L − o)/(p − o)).
"""

import math
from dataclasses import replace
from itertools import pairwise

import pypdfium2
import pytest
from pypdf import PdfReader
from shapely import LineString, box, unary_union

from nesting.amounts import Amounts
from nesting.errors import WriteError
from nesting.writing.neutral.drawing import Drawing, Operation, Stroke
from nesting.writing.paper.papers import PAPERS, roll
from nesting.writing.paper.print_pdf import LAYERS, print_drawings
from nesting.writing.paper.tiles import tiled
from tests.published.pages_back import BIG, assembled, drawing, is_the_line, lozenges, read, rect


@pytest.mark.parametrize("size", [(5e5, 3e3), (1e6, 1e6)], ids=["crowds", "a field"])
def test_a_drawing_of_more_sheets_than_anybody_tapes_is_refused(size):
    with pytest.raises(WriteError, match=r"at most 2,000 are printed .*on a roll"):
        tiled(drawing(rect(0, 0, *size)), PAPERS["a4"])


@pytest.mark.parametrize(
    ("paper", "overlap"),
    [("a4", 10.0), ("a4", 0.0), ("letter", 15.0), ("a3", 10.0), ("a4-letter", 0.0)],
)
def test_sheets_put_together_by_their_marks_are_the_marker(tmp_path, paper, overlap):
    file = tmp_path / "p.pdf"
    (tiling,) = print_drawings([BIG], file, paper=PAPERS[paper], overlap=overlap)
    _, pages = read(file)
    pages = pages[2:]
    assert len(pages) == len(tiling.tiles) > 3
    moves = assembled(pages)
    assert len(moves) == len(pages)
    x0, y0 = tiling.tiles[0].x, tiling.tiles[0].y
    margin = pages[0].clips[0][:2]
    for stroke in BIG.strokes:
        true = LineString([*stroke.path.points(1e-3), stroke.path.start])
        shown = []
        for i, page in enumerate(pages):
            dx, dy = moves[i][0] + x0 - margin[0], moves[i][1] + y0 - margin[1]
            cx0, cy0, cx1, cy1 = page.clips[0]
            frame = box(cx0 + dx, cy0 + dy, cx1 + dx, cy1 + dy)
            for layer, points in page.paths:
                line = [(x + dx, y + dy) for x, y in points]
                if layer == "cut" and is_the_line(stroke.path, line):
                    shown.append(frame)
        # Every bit of the line is in the frame of a page that draws it, to a millionth of a mm.
        assert true.difference(unary_union(shown).buffer(1e-6)).is_empty


def test_overlapping_sheets_show_the_same_and_butt_sheets_halves_of_the_marks(tmp_path):
    for overlap in (20.0, 0.0):
        file = tmp_path / f"{overlap}.pdf"
        (tiling,) = print_drawings([BIG], file, overlap=overlap)
        assert len(tiling.tiles) > 1
        for tile, page in zip(tiling.tiles, read(file)[1][2:], strict=True):
            cx0, cy0, cx1, cy1 = page.clips[0]
            assert (cx1 - cx0, cy1 - cy0) == pytest.approx((tile.width, tile.height))
            assert lozenges(page)
            for middle in lozenges(page).values():
                off = min(middle[0] - cx0, cx1 - middle[0], middle[1] - cy0, cy1 - middle[1])
                assert off == pytest.approx(overlap / 2, abs=1e-6)


def test_the_first_page_is_the_check_squares_and_nothing_else(tmp_path):
    for paper in (paper for name, paper in PAPERS.items() if name != "a0"):
        file = tmp_path / "p.pdf"
        print_drawings([BIG], file, paper=paper, overwrite=True)
        page = read(file)[1][0]
        assert len(page.paths) == 2
        sides = [
            {round(math.dist(p, q), 6) for p, q in pairwise(points)} for _, points in page.paths
        ]
        assert sides == [{100.0}, {101.6}]
        assert all(
            0.0 < v < size
            for _, points in page.paths
            for p in points
            for v, size in zip(p, page.size, strict=True)
        )
        assert {text for text, _ in page.text} <= {
            "100 mm",
            "4 in",
            "Print at 100 %, “actual size”. Measure this square first.",
        }


def test_the_check_squares_measured_in_the_picture(tmp_path):
    """Rasterised at 508 dpi (0.05 mm a dot): the lines lie 100 and 101.6 mm apart, to 0.1 mm."""
    file = tmp_path / "p.pdf"
    print_drawings([BIG], file)
    picture = pypdfium2.PdfDocument(file)[0].render(scale=508 / 72).to_numpy()
    dark = picture.min(axis=2) < 128
    runs = []
    # Rows in the lower quarter of each square, clear of the writing in its middle.
    for mm in (20.0, 130.0):
        row = dark[dark.shape[0] - round((mm + 10.0) / 0.05)]
        ink = [i for i, on in enumerate(row) if on]
        edges = [ink[0], *(b for a, b in pairwise(ink) if b > a + 1)]
        ends = [*(a for a, b in pairwise(ink) if b > a + 1), ink[-1]]
        assert len(edges) == 2
        middles = [(a + b) / 2 for a, b in zip(edges, ends, strict=True)]
        runs.append((middles[1] - middles[0]) * 0.05)
    assert runs == pytest.approx([100.0, 101.6], abs=0.1)


def test_papers_are_what_the_standards_say_and_the_common_one_prints_on_both(tmp_path):
    sizes = {"a4": (210, 297), "letter": (215.9, 279.4), "a3": (297, 420), "a0": (841, 1189)}
    for name, size in sizes.items():
        assert (PAPERS[name].width, PAPERS[name].height) == size
    both = PAPERS["a4-letter"]
    assert (both.frame_width, both.frame_height) == (190.0, 254.0)
    assert both.width == min(210.0, 215.9)
    assert both.height == min(297.0, 279.4)
    file = tmp_path / "p.pdf"
    print_drawings([drawing(rect(0, 0, 50, 50))], file)
    assert [round(float(v), 3) for v in PdfReader(file).pages[0].mediabox[2:]] == [595.276, 841.89]


@pytest.mark.parametrize(
    ("length", "width", "overlap"), [(500, 700, 10), (1000, 400, 0), (188, 275, 10), (189, 275, 10)]
)
def test_the_number_of_sheets(length, width, overlap):
    """ceil((L − o)/(p − o)) each way, L with 1 mm around for the width of the lines."""
    tiling = tiled(drawing(rect(0, 0, length, width)), PAPERS["a4"], overlap=overlap)

    def sheets(w, h):
        return math.ceil((length + 2 - overlap) / (w - overlap)) * math.ceil(
            (width + 2 - overlap) / (h - overlap)
        )

    assert len(tiling.tiles) == min(sheets(190, 277), sheets(277, 190))


def test_empty_sheets_are_left_out_but_not_those_inside_a_part():
    frame = drawing(rect(0, 0, 900, 900))
    assert len(tiled(frame, PAPERS["a4"]).tiles) == 20
    corners = drawing(*(rect(x, y, 50, 50) for x in (0, 850) for y in (0, 850)))
    tiling = tiled(corners, PAPERS["a4"])
    assert len(tiling.tiles) == 4
    assert tiling.joins == ()
    assert {tile.name for tile in tiling.tiles} == {"1A", "1E", "4A", "4E"}
    edge = Stroke(operation=Operation.EDGE, path=rect(0, 0, 900, 900))
    with_edge = replace(corners, strokes=(*corners.strokes, edge))
    assert tiled(with_edge, PAPERS["a4"]).tiles == tiling.tiles


def on_cloth(shown: Drawing) -> Drawing:
    """Return a drawing as a marker has it, with the cloth's edge."""
    edge = Stroke(operation=Operation.EDGE, path=rect(0, 0, shown.length, shown.width))
    return replace(shown, strokes=(*shown.strokes, edge))


def test_a_roll_is_one_page_below_the_limit_or_split(tmp_path):
    for length, pages in ((4000.0, 1), (5050.0, 1), (5100.0, 2)):
        file = tmp_path / "p.pdf"
        long = on_cloth(drawing(rect(0, 0, length, 800)))
        print_drawings([long], file, paper=roll(914.0), overwrite=True)
        reader = PdfReader(file)
        assert len(reader.pages) == 1 + pages
        for page in reader.pages:
            assert max(float(v) for v in page.mediabox[2:]) <= 14400
    with pytest.raises(WriteError, match=r"of 100 mm is too narrow .* \(more than 13 cm; say"):
        roll(100.0)
    with pytest.raises(WriteError, match=r"of 4 in is too narrow to print on \(more than 5 1/8 in"):
        roll(101.6, amounts=Amounts("in"))
    with pytest.raises(WriteError, match="of 36000 mm is wider than a page can be"):
        roll(36000.0)


def test_sheets_of_a_job_in_inches_are_told_in_inches(tmp_path):
    file, inches = tmp_path / "p.pdf", Amounts("in")
    print_drawings([BIG], file, overlap=9.525, amounts=inches)
    text = " ".join(" ".join(p.extract_text() for p in PdfReader(file).pages).split())
    assert "overlap by 3/8 in: trim" in text
    long = drawing(rect(0, 0, 6000.0, 800))
    print_drawings([long], file, paper=roll(914.4, amounts=inches), amounts=inches, overwrite=True)
    text = " ".join(" ".join(p.extract_text() for p in PdfReader(file).pages).split())
    assert "2 of roll 36 in in 1 rows" in text
    with pytest.raises(WriteError, match=r"of 3 in can't be \(0 to 2 1/4 in; 3/8 in is usual\)"):
        print_drawings([BIG], file, overlap=76.2, amounts=inches)


def test_what_goes_before_the_sheets_takes_one_short_strip_of_a_roll(tmp_path):
    """Both squares, the words and the maps of three markers on 0.23 m of a roll 0.914 m wide."""
    file = tmp_path / "p.pdf"
    long = drawing(rect(0, 0, 6000.0, 800), notes=("wrong side up",))
    shown = [on_cloth(one) for one in (BIG, long, replace(BIG, notes=("a note",)))]
    print_drawings(shown, file, paper=roll(914.0))
    pages = read(file)[1]
    assert len(pages) == 1 + 1 + 2 + 1
    strip = pages[0]
    assert min(strip.size) < 235.0
    assert max(strip.size) == pytest.approx(914.0)
    closed = [points for _, points in strip.paths if len(points) == 5]
    sides = [{round(math.dist(p, q), 6) for p, q in pairwise(points)} for points in closed[:2]]
    assert sides == [{100.0}, {101.6}]
    said = " ".join(text for text, _ in strip.text)
    assert "wrong side up" in said
    assert "a note" in said
    for _, points in strip.paths:
        assert all(0.0 < v < size for p in points for v, size in zip(p, strip.size, strict=True))


def test_no_sheet_is_called_as_a_paper_is():
    names = {tile.name for tile in tiled(drawing(rect(0, 0, 1500, 1500)), PAPERS["a4"]).tiles}
    assert len(names) > 30
    assert not names & {f"{letter}{number}" for letter in "ABC" for number in range(11)}


def test_a_wide_marker_is_turned_on_the_roll():
    tiling = tiled(drawing(rect(0, 0, 600, 1400)), roll(914.0))
    assert len(tiling.tiles) == 1
    assert tiling.paper.width == 914.0


def test_layers_can_be_switched(tmp_path):
    file = tmp_path / "p.pdf"
    sewn = Stroke(operation=Operation.SEW, path=rect(20, 20, 100, 100), part=0)
    mark = Stroke(operation=Operation.MARK, path=rect(30, 30, 20, 20), part=0)
    print_drawings([replace(BIG, strokes=(*BIG.strokes, sewn, mark))], file, paper=PAPERS["a3"])
    reader, pages = read(file)
    properties = reader.root_object["/OCProperties"]
    assert tuple(group.get_object()["/Name"] for group in properties["/OCGs"]) == LAYERS
    drawn = {layer for page in pages for layer, _ in page.paths if layer}
    assert drawn == {"cut", "sew", "marks"}


def test_text_can_be_read_and_searched(tmp_path):
    file = tmp_path / "p.pdf"
    print_drawings([replace(BIG, notes=("A note about the nap.",))], file, paper=PAPERS["a3"])
    text = " ".join(page.extract_text() for page in PdfReader(file).pages)
    assert "Zażółć gęślą" in text
    assert "A note about the nap." in text
    assert "Map of the sheets" in text
    assert "safety data sheet" in text


def test_nothing_to_print_and_files_that_are_there_are_refused(tmp_path):
    file = tmp_path / "p.pdf"
    with pytest.raises(WriteError, match="nothing to print"):
        print_drawings([Drawing(name="t", length=1.0, width=1.0)], file)
    with pytest.raises(WriteError, match="overlap"):
        print_drawings([BIG], file, overlap=-1.0)
    file.write_text("mine")
    with pytest.raises(WriteError, match="exists"):
        print_drawings([BIG], file)
    assert file.read_text() == "mine"


def test_the_same_file_every_time(tmp_path):
    for name in ("a.pdf", "b.pdf"):
        print_drawings([BIG], tmp_path / name)
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()
