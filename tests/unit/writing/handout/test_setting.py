"""Booklets are set: lines that fit, tables that go on, drawings turned that still can be read."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

from nesting.amounts import Amounts
from nesting.job.file import parse_job
from nesting.pattern.shapes import rectangle
from nesting.planning.handout.needed import Needs, needs
from nesting.writing.handout.booklet import write_booklet
from nesting.writing.handout.buying_pages import buying_pages
from nesting.writing.handout.cut_pages import allowance
from nesting.writing.handout.numbered import numbered
from nesting.writing.handout.pattern_pieces import cut_pieces
from nesting.writing.handout.setting import BODY, Column, Setter, wrapped
from nesting.writing.handout.turned import turned
from nesting.writing.neutral.drawing import Drawing, Hole, Label, Operation, Stroke
from nesting.writing.neutral.font import text_width
from nesting.writing.paper.papers import PAPERS

METRIC, INCHES = Amounts("mm"), Amounts("in")

JOB = """
[job]
name = "Two sizes"

[[cloth]]
name = "canvas"
width = "60 cm"

[[bag]]
name = "small"
    [[bag.piece]]
    name = "front"
    outline = "M 0,0 L 160,0 L 130,100 L 20,80 Z"
    line = "sewing"
    seam_allowance = { all = "10 mm", 2 = "25 mm" }
    grain = "across"
    [[bag.cut]]
    piece = "front"
    material = "canvas"
    pairs = true

[[bag]]
name = "large"
    [[bag.piece]]
    name = "binding"
    rectangle = [300, 40]
    line = "cutting"
    grain = "along"
    [[bag.cut]]
    piece = "binding"
    material = "canvas"
    grain = "bias"
"""


def text(data: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


def test_lines_fit_and_long_words_are_broken() -> None:
    said = wrapped("a few words and " + "x" * 200, width=40.0, height=BODY)
    assert all(text_width(line) * BODY <= 40.0 for line in said)
    assert "".join(said).replace(" ", "").count("x") == 200
    assert wrapped("", width=40.0, height=BODY) == [""]


def test_a_table_goes_on_below_a_head_of_its_own() -> None:
    page = Setter(PAPERS["a4"], title="Invented")
    page.section("Numbers")
    columns = (Column(head="What", share=1.0), Column(head="How", share=2.0, right=True))
    page.table(columns, [[f"row {i}", f"{i} m"] for i in range(60)])
    pages = text(page.finished())
    assert len(pages) == 2
    for said in pages:
        assert "What" in said
    assert sum(said.count(" m\n") for said in pages) == 60
    assert "2 of 2" in pages[1]


def test_the_last_cell_of_a_short_row_takes_the_room_that_is_left() -> None:
    page = Setter(PAPERS["a4"], title="Invented")
    page.page()
    columns = tuple(Column(head=f"{i}", share=1.0) for i in range(6))
    long = "can't be used: it is too narrow for the front"
    page.table(columns, [["10 cm", long]])
    assert long in text(page.finished())[0].splitlines()


def drawing(*labels: Label) -> Drawing:
    cut = Stroke(operation=Operation.CUT, path=rectangle(100.0, 40.0), part=0)
    hole = Hole(at=(90.0, 10.0), diameter=3.0, part=0)
    return Drawing(name="d", length=100.0, width=40.0, strokes=(cut,), holes=(hole,), labels=labels)


def test_a_drawing_turned_has_its_right_end_up() -> None:
    found = turned(drawing())
    assert found.box == pytest.approx((-40.0, 0.0, 0.0, 100.0))
    assert found.holes[0].at == pytest.approx((-10.0, 90.0))


def test_text_turned_is_read_from_below_or_from_the_right() -> None:
    level = Label(text="level", at=(50.0, 20.0), height=4.0, part=0)
    upright = [
        Label(text=said, at=(x, 20.0), height=3.0, angle=90.0, part=0)
        for said, x in (("first", 46.0), ("second", 52.0))
    ]
    one, *block = turned(drawing(level, *upright)).labels
    assert one.angle == pytest.approx(90.0)
    assert one.at == pytest.approx((-20.0, 50.0))
    # Before the turn the first line stands left of, that is above, the second; and so after it.
    assert [label.angle for label in block] == pytest.approx([0.0, 0.0])
    assert [label.text for label in sorted(block, key=lambda n: -n.at[1])] == ["first", "second"]


def test_allowances_are_said_from_the_least_to_the_most() -> None:
    (front,) = [piece for piece in parse_job(JOB).bags[0].pieces if piece.name == "front"]
    assert allowance(front, METRIC) == "Seam allowance 10 mm (3/8 in) to 25 mm (1 in)"
    assert allowance(replace(front, sew=front.cut), METRIC) == "No seam line"
    assert allowance(front, INCHES) == "Seam allowance 3/8 in (10 mm) to 1 in (25 mm)"


def test_a_binding_on_the_bias_is_measured_along_its_own_sides() -> None:
    (binding,) = cut_pieces(parse_job(JOB), plain=True)
    assert binding.size == pytest.approx((300.0, 40.0))
    assert binding.title == "binding, bias"
    (front,) = cut_pieces(parse_job(JOB), plain=False)
    assert front.quantity == (1, 1)


@pytest.fixture(scope="module")
def found() -> Needs:
    return needs(parse_job(JOB), widths=(600.0,), seconds=None, rounds=1, workers=1)


def test_what_is_not_certain_has_no_number(found: Needs) -> None:
    row = found.rows[0]
    assert row.entry is not None
    short = replace(row, entry=replace(row.entry, unplaced=(("front R", "no room"),)))
    page = Setter(PAPERS["a4"], title="Invented")
    doubtful = replace(found, rows=(short, replace(short, one_way=False)))
    buying_pages(page, doubtful, numbered(doubtful))
    said = " ".join(text(page.finished())[0].split())
    assert "not certain" in said
    assert "no room was found in the time for front R" in said
    assert f"{doubtful.metres(short) / 1000.0:.2f} m" not in said


def test_a_booklet_of_two_sizes_names_whose_each_piece_is(found: Needs, tmp_path) -> None:
    file = tmp_path / "booklet.pdf"
    write_booklet(found, numbered(found), file, paper=PAPERS["letter"], files=[("a.pdf", "pages")])
    pages = text(file.read_bytes())
    whole = " ".join(" ".join(page.split()) for page in pages)
    assert "For one each of small" in whole
    sections = ("What to buy", "How to lay it", "What to cut", "Before you cut")
    starts = [next(i for i, page in enumerate(pages) if i and title in page) for title in sections]
    assert starts == sorted(starts)
    for title, start in zip(sections, starts, strict=True):
        assert f"{title}" in pages[0]
        assert f"{start + 1}" in pages[0]
