"""Pages are put together by what is on them; what fits two ways is asked about."""

from __future__ import annotations

import pytest
from reportlab.pdfgen.canvas import Canvas

from nesting.errors import PatternError
from nesting.pattern.measure import area
from nesting.reading.read import Tiling, read_pattern

MM = 72.0 / 25.4

CASES = {
    "in rows": {},
    "down columns": {"order": "columns"},
    "overlapping": {"overlap": 10.0},
    "joined by marks": {"marks": True, "overlap": 8.0},
    "labelled": {"labels": True},
    "without frames": {"framed": False},
    "without frames or cover": {"framed": False, "cover": False},
    "to the very edge": {"framed": False, "cover": False, "frame": (210.0, 297.0)},
}


@pytest.mark.parametrize("case", CASES)
def test_pieces_across_pages_are_whole_and_true(draw, tmp_path, case) -> None:
    pattern = read_pattern(draw.tiled(tmp_path / "tiles.pdf", **CASES[case]))
    sizes = {piece.name: area(piece.cut) for piece in pattern.pieces}
    assert sizes == pytest.approx(draw.AREAS, rel=1e-5)
    assert not any(finding.severity == "fault" for finding in pattern.findings)
    (step,) = [f.amount for f in pattern.findings if f.kind == "seam"]
    assert step < 0.02


def test_letter_paper_and_a_line_on_a_seam(draw, tmp_path) -> None:
    """The pocket's right side lies on the border between two pages 200 mm wide.

    It runs on over no border there, so that how the pages lie is not taken for granted.
    """
    file = draw.tiled(tmp_path / "letter.pdf", paper=draw.LETTER, frame=(200.0, 250.0))
    with pytest.raises(PatternError, match="no arrangement makes them meet: the best, 3 × 3"):
        read_pattern(file)
    pattern = read_pattern(file, tiling=Tiling(grid=(3, 3)))
    sizes = {piece.name: area(piece.cut) for piece in pattern.pieces}
    assert sizes == pytest.approx(draw.AREAS, rel=1e-5)


def test_cover_and_instructions_are_left_out_and_said(draw, tmp_path) -> None:
    pattern = read_pattern(draw.tiled(tmp_path / "tiles.pdf"))
    told = [finding.text for finding in pattern.findings if finding.kind == "page"]
    assert told == [
        "page 1 is left out: it holds text only",
        "page 2 is left out: it is text: 300 words",
    ]
    (grid,) = [finding.text for finding in pattern.findings if finding.kind == "pages"]
    assert grid.startswith("3 × 3 pages put together")
    assert "3 4 5 / 6 7 8 / 9 10 11" in grid


def test_an_overlap_is_found(draw, tmp_path) -> None:
    pattern = read_pattern(draw.tiled(tmp_path / "tiles.pdf", overlap=10.0))
    (grid,) = [finding.text for finding in pattern.findings if finding.kind == "pages"]
    assert "they overlap by 10 mm across and 10 mm down" in grid


def test_lines_that_nothing_makes_meet_are_asked_about(tmp_path, draw) -> None:
    def crossed(canvas) -> None:
        for x in (50.0, 240.0):
            canvas.line(x, 0, x, 520)
        for y in (130.0, 390.0):
            canvas.line(0, y, 380, y)

    file = draw.tiled(tmp_path / "t.pdf", crossed, grid=(2, 2), cover=False, framed=False)
    with pytest.raises(PatternError, match="no arrangement makes them meet"):
        read_pattern(file)


def test_a_grid_that_is_said_is_taken(draw, tmp_path) -> None:
    file = draw.tiled(tmp_path / "tiles.pdf")
    pattern = read_pattern(file, tiling=Tiling(grid=(3, 3)))
    assert {piece.name for piece in pattern.pieces} == set(draw.AREAS)
    with pytest.raises(PatternError, match="2 × 2 has 4 places, and there are 9 pages"):
        read_pattern(file, tiling=Tiling(grid=(2, 2)))


def test_pages_that_are_said_are_taken(draw, tmp_path) -> None:
    file = draw.tiled(tmp_path / "tiles.pdf")
    pattern = read_pattern(file, tiling=Tiling(pages=tuple(range(3, 12))))
    assert {piece.name for piece in pattern.pieces} == set(draw.AREAS)
    with pytest.raises(PatternError, match="11 pages, and no page 12"):
        read_pattern(file, tiling=Tiling(pages=(3, 12)))


def test_pages_whose_lines_do_not_run_on_stand_by_themselves(draw, tmp_path) -> None:
    def two(canvas) -> None:
        canvas.rect(20, 20, 100, 150)
        canvas.rect(230, 40, 120, 90)

    file = draw.tiled(tmp_path / "t.pdf", two, grid=(2, 1), cover=False, framed=False)
    pattern = read_pattern(file)
    assert sorted(round(area(piece.cut)) for piece in pattern.pieces) == [10_800, 15_000]


def test_pages_that_meet_two_ways_are_asked_about(tmp_path) -> None:
    """Level lines, cut 5 mm beyond the frame: the pages may overlap by those 10 mm, or not."""
    canvas = Canvas(str(tmp_path / "t.pdf"), pagesize=(210.0 * MM, 297.0 * MM))
    for lines in (
        [(60, 70, 205, 70), (60, 220, 205, 220), (60, 70, 60, 220)],
        [(5, 70, 150, 70), (5, 220, 150, 220), (150, 70, 150, 220)],
    ):
        canvas.scale(MM, MM)
        canvas.rect(10, 20, 190, 257)
        canvas.lines(lines)
        canvas.showPage()
    canvas.save()
    with pytest.raises(
        PatternError, match=r"fit equally well if they are 19 cm across .*, or 20 cm"
    ):
        read_pattern(tmp_path / "t.pdf")
    for overlap, long in ((10.0, 280.0), (0.0, 290.0)):
        (piece,) = read_pattern(tmp_path / "t.pdf", tiling=Tiling(overlap=overlap)).pieces
        assert area(piece.cut) == pytest.approx(150.0 * long, rel=1e-5)


def test_nothing_is_said_of_an_overlap_that_no_line_shows(draw, tmp_path) -> None:
    """Two pieces over two columns each, none over two rows; the pages overlap both ways."""

    def two(canvas) -> None:
        canvas.setLineWidth(0.4)
        canvas.rect(15, 15, 300, 220)
        draw.path(canvas, [(60, 300), (280, 300), (260, 460), (60, 460)], close=True)

    file = draw.tiled(
        tmp_path / "rows.pdf", two, grid=(2, 2), overlap=10.0, frame=(190.0, 277.0), cover=False
    )
    (told,) = [f.text for f in read_pattern(file).findings if f.kind == "pages"]
    assert "they overlap by 10 mm across;" in told
    assert "no line goes on from row to row" in told
    assert "0 mm down" not in told
