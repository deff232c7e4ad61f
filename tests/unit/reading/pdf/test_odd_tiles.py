"""Tiles as others make them: turned, labelled, with marks inside their edges, with empty pages."""

from __future__ import annotations

from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter
from reportlab.pdfgen.canvas import Canvas
from shapely import Polygon

from nesting.errors import PatternError
from nesting.pattern.measure import area
from nesting.reading.read import read_pattern


def sizes(file: Path) -> dict[str, float]:
    pattern = read_pattern(file)
    assert not [one for one in pattern.findings if one.severity == "fault"]
    return {piece.name: area(piece.cut) for piece in pattern.pieces}


def changed(file: Path, *, turn: int = 0, without: tuple[int, ...] = ()) -> Path:
    """Return the file with all pages turned, and without some (from 1)."""
    writer = PdfWriter()
    for number, page in enumerate(PdfReader(file).pages, 1):
        if number not in without:
            writer.add_page(page.rotate(turn))
    out = file.with_name("changed.pdf")
    writer.write(out)
    return out


def sides(canvas: Canvas, corners: list[tuple[float, float]]) -> None:
    """Draw an outline side by side, so that few pages have enough in common to tell their place."""
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        canvas.line(*a, *b)


def test_a_name_across_two_pages_is_read_once(draw, tmp_path) -> None:
    """It begins on the first page and has its middle on the second; both are cut to their frame."""

    def one(canvas) -> None:
        canvas.rect(20, 20, 300, 200)
        canvas.setFont("Helvetica", 12)
        canvas.drawString(175, 120, "Gusset")
        canvas.setFont("Helvetica", 8)
        canvas.drawString(60, 60, "all of it")

    file = draw.tiled(tmp_path / "t.pdf", one, grid=(2, 1), cover=False)
    assert sizes(file) == pytest.approx({"Gusset": 60_000.0}, rel=1e-5)


@pytest.mark.parametrize("turn", [90, 180, 270])
def test_pages_shown_turned_are_put_together(draw, tmp_path, turn) -> None:
    """ISO 32000-1, table 30: the pages of a row then follow one another downwards, or backwards."""
    file = changed(draw.tiled(tmp_path / "t.pdf", cover=False), turn=turn)
    assert sizes(file) == pytest.approx(draw.AREAS, rel=1e-5)


def test_a_piece_may_reach_into_the_outermost_margin(draw, tmp_path) -> None:
    """Where a page has no neighbour its margin, else under the next page's, is part of it."""
    corners = [(3, 4), (356, 3), (340, 497), (20, 490)]

    def wide(canvas) -> None:
        sides(canvas, corners)
        for k in range(4):
            canvas.line(181 + 2 * k, 380 + 9 * k, 182 + 2 * k, 385 + 8 * k)
            canvas.line(60 + 9 * k, 251 + 2 * k, 66 + 8 * k, 252 + k)

    file = draw.tiled(
        tmp_path / "t.pdf", wide, grid=(2, 2), overlap=20.0, framed=False, cover=False
    )
    (size,) = sizes(file).values()
    assert size == pytest.approx(Polygon(corners).area, rel=1e-5)


def test_empty_pages_before_and_after_the_pattern_have_their_places(draw, tmp_path) -> None:
    corners = [(250, 90), (480, 60), (500, 380), (230, 330)]

    def middle(canvas) -> None:
        draw.path(canvas, corners, close=True)

    file = draw.tiled(tmp_path / "t.pdf", middle, grid=(4, 3), framed=False, cover=False)
    (size,) = sizes(file).values()
    assert size == pytest.approx(Polygon(corners).area, rel=1e-5)


def test_a_page_with_nothing_but_its_label_has_its_place(draw, tmp_path) -> None:
    """Nothing but its label is on the upper right page, and the pages are shown turned."""
    corners = [(150, 90), (480, 60), (170, 380)]

    def one(canvas) -> None:
        sides(canvas, corners)

    file = draw.tiled(tmp_path / "t.pdf", one, grid=(3, 2), framed=False, cover=False, labels=True)
    for turn, gone in ((0, ()), (180, ()), (90, (3,))):
        (size,) = sizes(changed(file, turn=turn, without=gone)).values()
        assert size == pytest.approx(Polygon(corners).area, rel=1e-5)


def test_marks_in_the_middle_of_the_overlap_tell_how_far_pages_overlap(draw, tmp_path) -> None:
    """Half diamonds stand where the next page's edge comes to lie, not at the frame."""

    def box(canvas) -> None:
        sides(canvas, [(30, 30), (330, 30), (330, 470), (30, 470)])

    file = draw.tiled(
        tmp_path / "t.pdf", box, grid=(2, 2), overlap=10.0, marks=True, inset=True, cover=False
    )
    (size,) = sizes(file).values()
    assert size == pytest.approx(300.0 * 440.0, rel=1e-5)


def test_a_mark_for_gluing_that_one_page_has_is_no_line_of_a_piece(draw, tmp_path) -> None:
    corners = [(30, 120), (170, 110), (165, 300), (460, 310), (440, 480), (40, 490)]

    def one(canvas) -> None:
        draw.path(canvas, corners, close=True)

    file = draw.tiled(
        tmp_path / "t.pdf", one, grid=(3, 2), marks=True, framed=False, cover=False, overlap=10.0
    )
    (size,) = sizes(changed(file, without=(5, 6))).values()
    assert size == pytest.approx(Polygon(corners).area, rel=1e-5)


def test_a_name_that_begins_beside_its_narrow_piece_is_its_name(draw, tmp_path) -> None:
    def two(canvas) -> None:
        draw.path(canvas, [(100, 20), (130, 20), (115, 300)], close=True)
        canvas.rect(200, 20, 100, 100)
        canvas.setFont("Helvetica", 10)
        canvas.drawString(98, 120, "Gusset")
        canvas.drawString(230, 60, "Flap")

    found = sizes(draw.single(tmp_path / "t.pdf", two))
    assert found == pytest.approx({"Gusset": 4200.0, "Flap": 10_000.0}, rel=1e-5)


def test_pages_of_which_one_is_missing_are_asked_about(draw, tmp_path) -> None:
    """Lines repeated on other pages tell that a corner is missing, and no order has such a gap."""
    file = changed(draw.tiled(tmp_path / "t.pdf", cover=False, overlap=10.0), without=(2, 4))
    with pytest.raises(PatternError, match=r"in no order of the pages|no arrangement makes"):
        read_pattern(file)
