"""Lines inside an outline: seams with hems, placements, notches; and squared ground below all."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from reportlab.pdfgen.canvas import Canvas

from nesting import PatternError
from nesting.pattern.measure import area, bounds
from nesting.reading.pattern_file import Pattern
from nesting.reading.read import read_pattern

MM = 72.0 / 25.4


def drawn(tmp_path: Path, draw: Callable[[Canvas], None], **options: object) -> Pattern:
    canvas = Canvas(str(tmp_path / "drawn.pdf"), pagesize=(600 * MM, 300 * MM))
    canvas.scale(MM, MM)
    canvas.setLineWidth(0.3)
    canvas.setFont("Helvetica", 5)
    draw(canvas)
    canvas.save()
    return read_pattern(tmp_path / "drawn.pdf", **options)


def told(pattern: Pattern, kind: str) -> list[str]:
    return [finding.text for finding in pattern.findings if finding.kind == kind]


def test_a_dashed_seam_with_a_hem_at_one_side_is_a_seam(tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.rect(20, 20, 240, 240)
        canvas.setDash([4, 2])
        canvas.rect(30, 30, 220, 200)

    pattern = drawn(tmp_path, draw)
    (piece,) = pattern.pieces
    assert area(piece.cut) == pytest.approx(240.0 * 240.0, rel=1e-6)
    assert not piece.holes
    assert piece.sew is not None
    assert area(piece.sew) == pytest.approx(220.0 * 200.0, rel=1e-6)
    assert "10 mm to 3 cm inside" in told(pattern, "sew")[0]


def test_a_contour_near_an_outline_that_is_not_parallel_is_still_asked_about(
    tmp_path: Path,
) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.rect(20, 20, 240, 240)
        slant = canvas.beginPath()
        slant.moveTo(30, 30)
        for x, y in ((250, 40), (240, 250), (25, 240)):
            slant.lineTo(x, y)
        slant.close()
        canvas.drawPath(slant)

    with pytest.raises(PatternError, match="sewing line or a cut-out"):
        drawn(tmp_path, draw)


@pytest.mark.parametrize("how", ["dashed", "said"])
def test_where_a_pocket_is_placed_nothing_is_cut_out(tmp_path: Path, how: str) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.rect(20, 20, 240, 240)
        if how == "dashed":
            canvas.setDash([3, 2])
        else:
            canvas.drawString(90, 130, "pocket placement")
        canvas.rect(80, 100, 90, 70)
        canvas.setDash([])
        canvas.circle(60, 220, 10)  # an eyelet, which is cut out

    pattern = drawn(tmp_path, draw)
    (piece,) = pattern.pieces
    assert len(piece.holes) == 1
    (line,) = [mark for mark in piece.marks if mark.path is not None]
    assert bounds(line.path) == pytest.approx((80.0, 100.0, 170.0, 170.0), abs=0.01)
    assert "not cut out" in told(pattern, "placed")[0]


def test_an_opening_drawn_as_its_outline_is_stays_a_cut_out(tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.setDash([3, 2])
        canvas.rect(20, 20, 240, 240)
        canvas.rect(80, 100, 90, 70)

    (piece,) = drawn(tmp_path, draw).pieces
    assert len(piece.holes) == 1


def test_squared_ground_is_left_out_and_said(tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        for at in range(0, 601, 10):
            canvas.line(at, 0, at, 300)
        for at in range(0, 301, 10):
            canvas.line(0, at, 600, at)
        canvas.setLineWidth(0.6)
        canvas.rect(25, 25, 140, 240)

    pattern = drawn(tmp_path, draw)
    (piece,) = pattern.pieces
    assert area(piece.cut) == pytest.approx(140.0 * 240.0, rel=1e-6)
    assert not piece.marks
    assert told(pattern, "ruling") == [
        "squared ground of 90 lines is left out"
    ]  # two on the border


def test_quilting_lines_of_a_piece_stay_its_lines(tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.rect(20, 20, 560, 260)
        for at in range(60, 580, 40):
            canvas.line(at, 20, at, 280)
        for at in range(60, 280, 40):
            canvas.line(20, at, 580, at)

    pattern = drawn(tmp_path, draw)
    (piece,) = pattern.pieces
    assert len([mark for mark in piece.marks if mark.path is not None]) == 19
    assert not told(pattern, "ruling")


def test_a_notch_is_no_open_contour_and_unnamed_pieces_are_told_apart(tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.rect(20, 20, 240, 240)
        canvas.line(20, 100, 26, 100)
        canvas.rect(300, 20, 240, 240)
        canvas.line(300, 100, 306, 100)

    pattern = drawn(tmp_path, draw)
    assert [piece.name for piece in pattern.pieces] == ["piece", "piece 2"]
    assert not told(pattern, "open")
    notched = [
        finding.text.split(":")[0] for finding in pattern.findings if finding.kind == "notch"
    ]
    assert notched == ["piece", "piece 2"]


def letters(canvas: Canvas, x: float, y: float) -> None:
    """Draw what converters make of letters that they turn into outlines."""
    for k in range(3):
        canvas.circle(x + 5 * k, y, 1.5, stroke=0, fill=1)


@pytest.mark.parametrize("side", [20.0, 25.0, 25.4, 50.0, 100.0, 101.6])
def test_a_square_whose_letters_are_shapes_is_taken_as_the_check_square(tmp_path, side) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.rect(20, 20, 140, 240)
        canvas.rect(300, 20, side, side)
        letters(canvas, 303, 30)

    pattern = drawn(tmp_path, draw)
    (text,) = told(pattern, "check")
    assert "is taken as the check square, and is no piece" in text
    assert len(pattern.pieces) == 1
    assert [check.said for check in pattern.checks] == [None]
    assert pattern.checks[0].length == pytest.approx(side, abs=0.01)
    both = drawn(tmp_path, draw, roles={"#000000": "cut"})
    assert len(both.pieces) == 2


def test_a_square_that_may_be_a_shrunk_check_square_is_told(tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.rect(20, 20, 140, 240)
        canvas.rect(300, 20, 48.5, 48.5)
        letters(canvas, 303, 30)

    pattern = drawn(tmp_path, draw)
    (text,) = told(pattern, "check")
    assert "if it is a check square of 5 cm, the file is printed at 97.0 %" in text
    assert len(pattern.pieces) == 2


def test_a_square_of_a_usual_size_becomes_no_piece_silently(tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.rect(20, 20, 140, 240)
        canvas.rect(300, 20, 50, 50)
        canvas.rect(400, 20, 57, 57)

    pattern = drawn(tmp_path, draw)
    (text,) = told(pattern, "check")
    assert text.startswith("a square of 5 cm without a word in it is taken as a piece")
    assert len(pattern.pieces) == 3


def test_a_square_piece_with_a_name_is_a_piece(tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.rect(20, 20, 140, 240)
        canvas.rect(300, 20, 100, 100)
        canvas.setFont("Helvetica", 10)
        canvas.drawString(320, 60, "Base")

    pattern = drawn(tmp_path, draw)
    assert not told(pattern, "check")
    assert "Base" in [piece.name for piece in pattern.pieces]
