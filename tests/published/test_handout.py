"""What is handed out with a pattern, checked against tables of the trade and by other readers.

Yardage of rectangles: tables of quilters (each named below). Sizes of paper: ISO 216, and
8½ × 11 in. Embedding: ISO 32000-1, 9.9, as poppler's pdffonts sees it. Text over text: where
poppler's pdftotext finds words. Pages are opened by PDFium, poppler and Ghostscript.
"""

from __future__ import annotations

import html
import math
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, count, pairwise
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pypdfium2
import pytest

from nesting.job.file import parse_job
from nesting.marker.check import check
from nesting.pattern.measure import area
from nesting.planning.handout.needed import Needs, needs
from nesting.planning.plan_file import load_plan
from nesting.writing.handout.numbered import numbered
from nesting.writing.handout.pattern_pieces import cut_pieces
from nesting.writing.handout.projector import GRIDS
from nesting.writing.handout.words import yards
from nesting.writing.handout.write import write_handout
from nesting.writing.paper.papers import PAPERS, roll
from nesting.writing.paper.print_pdf import print_drawings
from nesting.writing.paper.templates import templates

SQUARES = """
[job]
name = "Squares"
unit = "in"
[[cloth]]
name = "quilting cotton"
width = 42
selvedge = 0
spacing = 0
ends = 0
shrinkage = 0
step = "1/8 yd"
[[piece]]
name = "square"
rectangle = [9.5, 9.5]
[[cut]]
piece = "square"
material = "quilting cotton"
copies = 63
"""

CASE = """
[job]
name = "Invented case"
UNIT

[[cloth]]
name = "outer"
width = "112 cm"
selvedge = "1 cm"
spacing = "3 mm"
ends = "10 mm"

[[sheet]]
name = "foam"
size = ["50 cm", "50 cm"]
nap = "any"

[[piece]]
name = "body"
outline = "M 0,0 L 300,0 L 300,200 A 30,30 0 0 1 270,230 L 30,230 A 30,30 0 0 1 0,200 Z"
line = "cutting"
seam_allowance = "10 mm"
grain = "across"
path_unit = "mm"

[[piece]]
name = "tab"
outline = "M 0,0 L 60,0 L 70,90 L 10,90 Z"
line = "cutting"
grain = "across"
path_unit = "mm"

[[piece]]
name = "strap"
rectangle = ["400 mm", "80 mm"]
line = "cutting"
grain = "along"

    [[piece.mark]]
    kind = "line"
    name = "fold"
    points = [["0 mm", "40 mm"], ["400 mm", "40 mm"]]

[[cut]]
piece = "body"
material = "outer"
copies = 2

[[cut]]
piece = "body"
material = "foam"
trimmed = true

[[cut]]
piece = "tab"
material = "outer"
pairs = true

[[cut]]
piece = "strap"
material = "outer"
"""
MM = 25.4 / 72.0


def laid(text: str, *, margin: float = 0.0, widths: tuple[float, ...] | None = None) -> Needs:
    job = parse_job(text)
    return needs(job, widths=widths, margin=margin, seconds=None, rounds=1, workers=1)


def tool(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        if os.environ.get("CI"):
            pytest.fail(f"{name} is not installed")
        pytest.skip(f"{name} is not installed")
    return found


def told(*words: str | Path) -> str:
    order = [tool(str(words[0])), *words[1:]]
    return subprocess.run(order, check=True, timeout=60, capture_output=True, text=True).stdout


@pytest.fixture(scope="module")
def metric(tmp_path_factory: pytest.TempPathFactory) -> tuple[Needs, Path]:
    found, folder = laid(CASE.replace("UNIT", ""), widths=(1120.0,)), tmp_path_factory.mktemp("m")
    papers = {key: PAPERS[key] for key in ("a4", "letter", "a0")} | {"roll": roll(914.4)}
    write_handout(found, folder, papers=papers)
    return found, folder


@pytest.fixture(scope="module")
def inches(tmp_path_factory: pytest.TempPathFactory) -> tuple[Needs, Path]:
    text = CASE.replace("UNIT", 'unit = "in"')
    found, folder = laid(text, margin=0.05, widths=(200.0, 1117.6)), tmp_path_factory.mktemp("i")
    write_handout(found, folder, papers={"letter": PAPERS["letter"]}, rectangles=True)
    return found, folder


@pytest.mark.parametrize(
    ("width", "side", "copies", "inches", "said"),
    [
        (42, "9.5, 9.5", 63, 152.0, "4 1/4 yd"),  # quiltingboard.com: 4.222 yd
        (44, "3.5, 3.5", 100, 31.5, "7/8 yd"),  # harriger.com: 31½ in, exactly ⅞ yd
        (42, "3.875, 7.75", 112, 89.125, "2 1/2 yd"),  # quilterscache.com: 23 strips
    ],
)
def test_the_table_says_of_rectangles_what_quilters_tables_do(
    width: float, side: str, copies: int, inches: float, said: str
) -> None:
    text = SQUARES.replace("42", str(width)).replace("9.5, 9.5", side).replace("63", str(copies))
    found = laid(text, widths=(width * 25.4,))
    for row in found.rows:
        assert row.certain
        assert row.gross == pytest.approx(inches * 25.4, abs=1e-3)
        assert yards(found.yards(row)) == said


def test_pages_have_the_sizes_of_the_standards(metric: tuple[Needs, Path]) -> None:
    sizes = {"a4": (210.0, 297.0), "letter": (215.9, 279.4), "a0": (841.0, 1189.0)}
    files = [*metric[1].glob("*-a4.pdf"), *metric[1].glob("*-letter.pdf")]
    files += metric[1].glob("*-a0.pdf")
    assert len(files) == 7
    for file in files:
        wanted = sizes[file.stem.split("-")[1]]
        for page in pypdfium2.PdfDocument(file):
            size = sorted(side * MM for side in page.get_size())
            assert size == pytest.approx(wanted, abs=0.01), file
    (page, *_) = pypdfium2.PdfDocument(metric[1] / "pages-roll.pdf")
    assert max(page.get_size()) * MM == pytest.approx(914.4, abs=0.01)


def test_every_font_is_embedded_and_of_one_family(
    metric: tuple[Needs, Path], inches: tuple[Needs, Path]
) -> None:
    files = [*metric[1].glob("*.pdf"), *inches[1].glob("*.pdf")]
    assert len(files) == 13
    for file in files:
        lines = told("pdffonts", file).splitlines()[2:]
        assert lines, file
        for line in lines:
            name, *_, embedded, _, _, _, _ = line.split()
            assert embedded == "yes", line
            assert re.fullmatch(r"[A-Z]{6}\+DejaVuSans(-Bold)?", name)


def words_on(file: Path) -> Iterator[list[tuple[str, float, float, float, float]]]:
    """Give the words of each page with their boxes, as poppler finds them."""
    for page in told("pdftotext", "-bbox", file, "-").split("<page ")[1:]:
        yield [
            (html.unescape(m[5]), *(float(m[i]) for i in range(1, 5)))
            for m in re.finditer(
                r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">'
                r"(.*?)</word>",
                page,
            )
        ]


@pytest.mark.parametrize("kind", ["booklet", "pages", "labels", "projector"])
def test_no_text_lies_over_another(kind: str, metric: tuple[Needs, Path]) -> None:
    seen = 0
    for words in (on for file in metric[1].glob(f"{kind}*.pdf") for on in words_on(file)):
        for first, second in combinations(words, 2):
            # A word's box has the height of a line: half of it is what its letters take.
            across = min(first[3], second[3]) - max(first[1], second[1])
            down = min(first[4], second[4]) - max(first[2], second[2])
            least = min(first[4] - first[2], second[4] - second[2])
            assert across <= 0.5 or down <= 0.35 * least, (first, second)
        seen += len(words)
    assert seen > 15


def test_nothing_is_written_beyond_the_margins(metric: tuple[Needs, Path]) -> None:
    for name, width, height in (("a4", 210.0, 297.0), ("letter", 215.9, 279.4)):
        for words in words_on(metric[1] / f"booklet-{name}.pdf"):
            for _, x0, y0, x1, y1 in words:
                assert 19.5 <= x0 * MM <= x1 * MM <= width - 19.5
                assert 15.0 <= y0 * MM <= y1 * MM <= height - 9.0


def test_every_file_is_opened_by_three_readers(metric: tuple[Needs, Path]) -> None:
    for file in metric[1].glob("*.pdf"):
        pages = len(pypdfium2.PdfDocument(file))
        assert f"Pages:           {pages}" in told("pdfinfo", file)
        order = ("gs", "-q", "-dNOPAUSE", "-dBATCH", "-dPDFSTOPONERROR", "-sDEVICE=bbox")
        seen = subprocess.run(
            [tool("gs"), *order[1:], "-r20", file], capture_output=True, text=True, timeout=60
        )
        assert seen.returncode == 0, seen.stderr
        assert seen.stderr.count("%%HiResBoundingBox") == pages
        assert "Error" not in seen.stderr + seen.stdout


def test_the_numbers_of_the_table_are_those_of_the_stored_markers(
    metric: tuple[Needs, Path], inches: tuple[Needs, Path]
) -> None:
    for found, folder in (metric, inches):
        lays = numbered(found)
        assert lays
        for lay in lays:
            (entry,) = load_plan(folder / lay.file).entries
            assert not [f for f in check(entry.marker) if f.severity == "fault"]
            assert not entry.unplaced
            for row in lay.rows:
                assert row.gross == pytest.approx(entry.buying.gross.value)


def text_of(file: Path) -> str:
    return " ".join(told("pdftotext", "-layout", file, "-").split())


def test_the_booklet_says_what_is_bought_and_what_is_cut(
    metric: tuple[Needs, Path], inches: tuple[Needs, Path]
) -> None:
    for (found, folder), paper in ((metric, "a4"), (inches, "letter")):
        said = text_of(folder / f"booklet-{paper}.pdf")
        for row in found.of("outer"):
            if row.certain:
                assert f"{found.metres(row) / 1000.0:.2f} m" in said
        assert "Cut 1 + 1 reversed from outer" in said
        assert "Cut 1 from foam, trimmed" in said
        # 400 × 80 mm: to the nearest eighth of an inch 15¾ × 3⅛.
        assert "40 × 8" in said
        assert "15 3/4 × 3 1/8" in said
    assert "can't be used: " in said
    # What can spoil goods stands there; steps of sale and the like do not.
    assert "Outer: does not shrink." in said
    assert "sold in steps" not in said
    assert "5 % is added" in said
    assert "Seam allowance 3/8 in (10 mm)" in said


LEATHER = """
[job]
name = "Invented sleeve"
[[leather]]
name = "side leather"
spacing = 2
[[leather.hide]]
name = "hide 1"
rectangle = ["60 cm", "50 cm"]
[[piece]]
name = "flap"
outline = "M 0,0 L 200,0 L 180,100 L 20,100 Z"
line = "cutting"
[[cut]]
piece = "flap"
material = "side leather"
copies = 2
"""


def test_leather_by_rule_of_thumb_stands_beside_a_real_lay(tmp_path: Path) -> None:
    """Two trapezia of 180 cm² on a hide of 30 dm².

    20 % are lost with small articles (leather-dictionary.com, "Leather cutting waste"): 4.5 dm².
    """
    found = laid(LEATHER)
    write_handout(found, tmp_path / "out", papers={"a4": PAPERS["a4"]})
    said = text_of(tmp_path / "out" / "booklet-a4.pdf")
    assert "the 2 pieces alone 3.6 dm² 0.39 ft²" in said
    assert "with 20 % lost, a rule of thumb for small articles 4.5 dm² 0.48 ft²" in said
    assert "1 whole hide, as laid 30.0 dm² 3.23 ft² 1" in said
    assert "Flap: no grain given, it runs along the drawing's x axis." in said
    assert (tmp_path / "out" / "lay-1.json").exists()


def darks(file: Path, page: int = 0, *, dpi: int = 254) -> tuple[list[list[bool]], float]:
    picture = pypdfium2.PdfDocument(file)[page].render(scale=dpi / 72, grayscale=True)
    dark = picture.to_numpy().reshape(picture.height, picture.width) < 200
    return dark, 25.4 / dpi


def runs(line: object) -> list[float]:
    """Return the middles of the dark runs of a row of pixels."""
    on = [i for i, dark in enumerate(line) if dark]  # type: ignore[call-overload]
    starts = [i for i in on if i - 1 not in set(on)]
    ends = [i for i in on if i + 1 not in set(on)]
    return [(a + b + 1) / 2.0 for a, b in zip(starts, ends, strict=True)]


def test_true_size_pages_begin_with_squares_that_measure_right(
    metric: tuple[Needs, Path],
) -> None:
    for key in ("a4", "letter"):
        dark, mm = darks(metric[1] / f"pages-{key}.pdf")
        found = runs(dark[len(dark) - 300])  # 30 mm from the foot
        assert (found[1] - found[0]) * mm == pytest.approx(100.0, abs=0.15)


def test_a_shop_prints_one_large_sheet_with_squares_beside_the_pieces(
    metric: tuple[Needs, Path],
) -> None:
    for key in ("a0", "roll"):
        file = metric[1] / f"pages-{key}.pdf"
        (words,) = words_on(file)
        seen = " ".join(word[0] for word in words)
        assert "First measure the squares" in seen
        assert seen.count("body") == 1
        assert "go together" not in seen  # there is but one
        dark, _ = darks(file, dpi=127)
        for name, size in (("mm", 100.0), ("in", 101.6)):
            _, x, y, _, _ = max((w for w in words if w[0] == name), key=lambda w: w[4] - w[2])
            row = dark[round((y * MM - 20.0) / 0.2)]
            left, right = (
                next(n for n in count(1) if row[round(x * MM / 0.2) + step * n]) for step in (-1, 1)
            )
            assert (left + right) * 0.2 == pytest.approx(size, abs=0.5)


def test_what_finds_no_room_on_a_large_sheet_is_on_a_short_strip(tmp_path: Path) -> None:
    text = CASE.replace("UNIT", "").replace(
        "M 0,0 L 60,0 L 70,90 L 10,90", "M 0,0 L 800,0 L 800,1150 L 10,1150"
    )
    job = parse_job(text)
    job = replace(job, bags=(replace(job.bags[0], cuts=job.bags[0].cuts[2:3]),))
    drawings = templates(job, shaped=True, paper=PAPERS["a0"])
    print_drawings(drawings, tmp_path / "a0.pdf", paper=PAPERS["a0"])
    pages = pypdfium2.PdfDocument(tmp_path / "a0.pdf")
    sizes = [sorted(side * MM for side in page.get_size()) for page in pages]
    assert sizes[0] == pytest.approx([226.0, 841.0], abs=0.01)
    assert sizes[1:] == [pytest.approx([841.0, 1189.0], abs=0.01)] * (len(sizes) - 1)


def test_the_projectors_grid_measures_right_and_its_layers_are_there(
    metric: tuple[Needs, Path], inches: tuple[Needs, Path]
) -> None:
    for (_, folder), step in ((metric, GRIDS["grid cm"]), (inches, GRIDS["grid in"])):
        file = folder / "projector.pdf"
        document = pypdfium2.PdfDocument(file)
        assert len(document) == 1
        picture = document[0].render(scale=72 / 25.4 / 72.0 * 127 / 5, grayscale=True)
        dark = picture.to_numpy().reshape(picture.height, picture.width) < 225
        mm = 1.0 / (72 / 25.4 / 72.0 * 127 / 5) * MM
        # Between the grid's end and the pieces nothing else is drawn.
        found = runs(dark[round((picture.height * mm - 30.0 - step / 20.0) / mm)])
        steps = [(b - a) * mm for a, b in pairwise(found)]
        assert len(steps) > 4
        assert steps == pytest.approx([step] * len(steps), abs=0.6)
        names = set(re.findall(rb"/Name \(([^)]*)\)", file.read_bytes()))
        assert {b"grid cm", b"grid in", b"cut", b"sew", b"marks", b"text"} <= names


def test_the_pattern_comes_back_from_dxf_and_svg(
    metric: tuple[Needs, Path], inches: tuple[Needs, Path]
) -> None:
    for (found, folder), unit in ((metric, 1.0), (inches, 25.4)):
        shapes = {shape.title: shape for shape in cut_pieces(found.job)}
        assert set(shapes) == {"body", "body, trimmed", "tab", "strap"}
        document = ezdxf.readfile(folder / "pattern.dxf")
        seen = {}
        for block in (b for b in document.blocks if not b.name.startswith("*")):
            texts = [entity.dxf.text for entity in block.query("TEXT")]
            fields = dict(text.split(": ", 1) for text in texts if ": " in text)
            (outline,) = [p for p in block.query("POLYLINE") if p.dxf.layer == "1"]
            points = [(v.dxf.location.x * unit, v.dxf.location.y * unit) for v in outline.vertices]
            seen[fields["Piece Name"]] = (shoelace(points), fields["Quantity"], fields["Material"])
        assert {name: quantity for name, (_, quantity, _) in seen.items()} == {
            "body": "2,0",
            "body, trimmed": "1,0",
            "tab": "1,1",
            "strap": "1,0",
        }
        assert seen["body, trimmed"][2] == "foam"
        for name, (size, _, _) in seen.items():
            assert size == pytest.approx(area(shapes[name].piece.cut), rel=1e-3)
        root = ElementTree.parse(folder / "pattern.svg").getroot()
        titles = [e.text for e in root.iter("{http://www.w3.org/2000/svg}title")]
        assert sorted(titles) == sorted(shapes)  # type: ignore[type-var]
        width = root.get("width")
        assert width == f"{root.get('viewBox', '').split()[2]}mm"


def shoelace(points: list[tuple[float, float]]) -> float:
    turned = zip(points, [*points[1:], points[0]], strict=True)
    return math.fsum(a[0] * b[1] - b[0] * a[1] for a, b in turned) / 2.0


def test_rectangles_are_printed_only_when_asked(
    metric: tuple[Needs, Path], inches: tuple[Needs, Path]
) -> None:
    assert "strap" not in text_of(metric[1] / "pages-a4.pdf")
    assert "strap" not in text_of(metric[1] / "projector.pdf")
    assert "strap" in text_of(inches[1] / "pages-letter.pdf")
    assert "strap" in text_of(inches[1] / "projector.pdf")
