"""Prints read back by a PDF library, put together by their join marks, and rasterised.

Sources: PDF units of 1/72 in and the limit of 14,400 of them (ISO 32000-1, annex C);
A4 and A3 by ISO 216, Letter 8½ × 11 in; number of sheets ceil((L − o)/(p − o)).
"""

import ctypes
import math
from dataclasses import replace
from itertools import pairwise

import pypdfium2
import pypdfium2.raw as pdfium_c
import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream
from shapely import LineString, box, unary_union

from nesting import parse_job
from nesting.amounts import Amounts
from nesting.errors import WriteError
from nesting.job.job import Bag, Cut, Job
from nesting.marker.lay import Part
from nesting.material.material import Cloth, Width
from nesting.pattern.path import Arc, Bezier, Line, Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.writing.neutral.drawing import Drawing, Hole, Label, Operation, Stroke
from nesting.writing.paper.papers import PAPERS, roll
from nesting.writing.paper.print_pdf import LAYERS, print_drawings
from nesting.writing.paper.templates import templates
from nesting.writing.paper.tiles import tiled

MM = 25.4 / 72.0


def rect(x, y, w, h):
    return Path.polyline([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], closed=True)


def drawing(*paths, **more):
    strokes = tuple(
        Stroke(operation=Operation.CUT, path=path, part=i) for i, path in enumerate(paths)
    )
    xs, ys = zip(*(p for path in paths for p in path.points(0.01)), strict=True)
    given = {"name": "invented", "length": max(xs), "width": max(ys), "strokes": strokes}
    return Drawing(**(given | more))


BAG = Path(
    (
        Line((3, 1 / 3), (400, 0)),
        Bezier((400, 0), (480, 150), (380, 300), (450, 420)),
        Line((450, 420), (200, 415)),
        Arc((100, 415), (100, 0), (0, 100), 0.0, -math.pi),
        Line((0, 415), (3, 1 / 3)),
    )
)
BIG = drawing(
    BAG,
    rect(480, 60, 20 + 1 / 7, 700),
    length=510.0,
    width=760.0,
    labels=(Label(text="Zażółć gęślą", at=(200, 200), height=8.0, angle=30.0),),
    holes=(Hole(at=(300, 100), diameter=4.0), Hole(at=(320, 100), diameter=0.0)),
)


@pytest.mark.parametrize("size", [(5e5, 3e3), (1e6, 1e6)], ids=["crowds", "a field"])
def test_a_drawing_of_more_sheets_than_anybody_tapes_is_refused(size):
    with pytest.raises(WriteError, match=r"at most 2,000 are printed .*on a roll"):
        tiled(drawing(rect(0, 0, *size)), PAPERS["a4"])


class Page:
    """One page: its size and what is drawn on it, in mm on the page."""

    def __init__(self, page, reader):
        self.size = tuple(float(v) * MM for v in page.mediabox[2:])
        self.paths, self.clips = [], []
        self.text = []
        names = {
            key[1:]: group.get_object()["/Name"]
            for key, group in page["/Resources"].get("/Properties", {}).items()
        }
        self._read(page, reader, names)
        page.extract_text(visitor_text=self._write)

    def _write(self, text, matrix, text_matrix, font, size):
        if text.strip():
            e, f = text_matrix[4:]
            x = e * matrix[0] + f * matrix[2] + matrix[4]
            y = e * matrix[1] + f * matrix[3] + matrix[5]
            self.text.append((text.strip(), (x * MM, y * MM)))

    def _read(self, page, reader, names):
        matrix, stack, points, layer = (1, 0, 0, 1, 0, 0), [], [], ""

        def at(x, y):
            a, b, c, d, e, f = matrix
            return ((a * x + c * y + e) * MM, (b * x + d * y + f) * MM)

        for operands, operator in ContentStream(page.get_contents(), reader).operations:
            numbers = (
                [float(v) for v in operands if not isinstance(v, (str, list))]
                if (operator in (b"cm", b"m", b"l", b"c", b"re"))
                else []
            )
            if operator == b"q":
                stack.append(matrix)
            elif operator == b"Q":
                matrix = stack.pop()
            elif operator == b"cm":
                a, b, c, d, e, f = numbers
                m = matrix
                matrix = (
                    a * m[0] + b * m[2],
                    a * m[1] + b * m[3],
                    c * m[0] + d * m[2],
                    c * m[1] + d * m[3],
                    e * m[0] + f * m[2] + m[4],
                    e * m[1] + f * m[3] + m[5],
                )
            elif operator == b"re":
                x, y, w, h = numbers
                self.clips.append((*at(x, y), *at(x + w, y + h)))
            elif operator == b"m":
                points = [at(*numbers)]
            elif operator == b"l":
                points.append(at(*numbers))
            elif operator == b"c":
                p = (points[-1], at(*numbers[:2]), at(*numbers[2:4]), at(*numbers[4:]))
                for k in range(1, 21):
                    t, u = k / 20, 1 - k / 20
                    w = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
                    points.append(tuple(sum(w[j] * p[j][m] for j in range(4)) for m in (0, 1)))
            elif operator in (b"s", b"S"):
                self.paths.append((layer, points + ([points[0]] if operator == b"s" else [])))
            elif operator == b"BDC":
                layer = names[operands[1][1:]]
            elif operator == b"EMC":
                layer = ""


def read(file):
    reader = PdfReader(file)
    return reader, [Page(page, reader) for page in reader.pages]


def lozenges(page):
    """Return the join marks of a page: (first name, second name, number of the two) → middle."""
    found = {}
    for layer, points in page.paths:
        if layer or len(points) != 5:
            continue
        xs, ys = zip(*points[:4], strict=True)
        w, h = max(xs) - min(xs), max(ys) - min(ys)
        if abs(w - 12.0) > 1e-3 or min(abs(h - 8.0), abs(h - 12.0)) > 1e-3:
            continue
        middle = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2)
        upright = h < 10.0
        names = sorted(
            (
                (x if upright else -y, text)
                for text, (x, y) in page.text
                if abs(x - middle[0]) < 5 and abs(y - middle[1]) < 4
            ),
        )
        names = tuple(text for _, text in names)
        found.setdefault(names, []).append(middle)
    return {
        (*names, k): middle
        for names, middles in found.items()
        for k, middle in enumerate(sorted(middles))
    }


def assembled(pages):
    """Lay sheets together mark on mark; return for each page how far it is moved."""
    marks = [lozenges(page) for page in pages]
    moves, open_ = {0: (0.0, 0.0)}, [0]
    while open_:
        i = open_.pop()
        for j, other in enumerate(marks):
            shared = marks[i].keys() & other.keys()
            if not shared or j == i:
                continue
            assert len(shared) == 2
            steps = [
                tuple(moves[i][k] + marks[i][key][k] - other[key][k] for k in (0, 1))
                for key in shared
            ]
            assert math.dist(*steps) < 1e-6
            if j in moves:
                assert math.dist(moves[j], steps[0]) < 1e-5
            else:
                moves[j] = steps[0]
                open_.append(j)
    return moves


def is_the_line(path, points):
    """Whether points read from a page are a path's, to a millionth of a mm."""
    if math.dist(points[0], path.start) > 1e-6:
        return False
    at = 1
    for segment in path.segments:
        n = 1 if isinstance(segment, Line) else 20
        if isinstance(segment, Arc):
            n *= math.ceil(abs(segment.sweep) / (math.pi / 16) - 1e-9)
        read = points[at : at + n]
        at += n
        if len(read) < n or math.dist(read[-1], segment.end) > 1e-6:
            return False
        if isinstance(segment, Bezier):
            true = [segment.at(k / n) for k in range(1, n + 1)]
            if max(math.dist(p, q) for p, q in zip(read, true, strict=True)) > 1e-6:
                return False
        if isinstance(segment, Arc):
            off = [abs(math.dist(p, segment.centre) - segment.radius) for p in read]
            if max(off) > 1e-6:
                return False
    return True


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
    for paper in PAPERS.values():
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
    sizes = {"a4": (210, 297), "letter": (215.9, 279.4), "a3": (297, 420)}
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


def test_a_roll_is_one_page_below_the_limit_or_split(tmp_path):
    for length, pages in ((4000.0, 1), (5050.0, 1), (5100.0, 2)):
        file = tmp_path / "p.pdf"
        print_drawings([drawing(rect(0, 0, length, 800))], file, paper=roll(914.0), overwrite=True)
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
    """Both squares, the words and the maps of three drawings on 0.23 m of a roll 0.914 m wide."""
    file = tmp_path / "p.pdf"
    long = drawing(rect(0, 0, 6000.0, 800), notes=("wrong side up",))
    print_drawings([BIG, long, replace(BIG, notes=("a note",))], file, paper=roll(914.0))
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
