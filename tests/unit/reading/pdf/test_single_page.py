"""One page of any size becomes pieces: outlines, seams, grain, fold, marks, words, scale."""

from __future__ import annotations

import pytest
from reportlab.pdfgen.canvas import Canvas

from nesting.errors import PatternError
from nesting.pattern.measure import area
from nesting.pattern.piece import MarkKind
from nesting.reading.read import Reference, Tiling, read_pattern

MM = 72.0 / 25.4


def page(file, draw, size=(500, 400)):
    canvas = Canvas(str(file), pagesize=(size[0] * MM, size[1] * MM))
    canvas.scale(MM, MM)
    canvas.setLineWidth(0.3)
    draw(canvas)
    canvas.save()
    return file


@pytest.fixture(scope="module")
def tote(draw, tmp_path_factory):
    return read_pattern(draw.single(tmp_path_factory.mktemp("tote") / "tote.pdf"))


def test_pieces_are_as_large_as_they_are_drawn(draw, tote) -> None:
    sizes = {piece.name: area(piece.cut) for piece in tote.pieces}
    assert sizes == pytest.approx(draw.AREAS, rel=1e-5)
    assert tote.kind == "PDF"
    assert tote.scale.unit == "mm"


def test_curves_stay_curves(tote) -> None:
    assert len(tote.piece("Front").cut.segments) == 4
    assert tote.piece("Front").cut.curved


def test_a_dashed_line_parallel_to_the_outline_is_the_seam(tote) -> None:
    pocket = tote.piece("Pocket")
    assert pocket.sew is not None
    assert area(pocket.sew) == pytest.approx(120.0 * 220.0, rel=1e-5)
    assert not pocket.holes


def test_an_arrow_is_the_grain_and_says_which_end_is_up(tote) -> None:
    front = tote.piece("Front")
    assert (front.grain, front.up_known) == (90.0, True)
    gusset = tote.piece("Gusset")  # its head is a triangle
    assert (gusset.grain, gusset.up_known) == (90.0, True)


def test_a_bracket_at_an_edge_opens_the_piece(tote) -> None:
    gusset = next(found for found in tote.found if found.piece.name == "Gusset")
    assert gusset.opened
    assert gusset.extent == pytest.approx((300.0, 200.0), abs=1e-3)


def test_words_say_how_many_are_cut_of_what(tote) -> None:
    said = {found.piece.name: (found.right, found.left, found.material) for found in tote.found}
    assert said["Front"] == (2, 0, "2 outer, 2 lining")
    assert said["Pocket"] == (1, 1, "lining")
    assert said["Gusset"] == (1, 0, "")


def test_a_short_line_at_the_edge_is_a_notch_and_a_named_circle_a_mark(tote) -> None:
    marks = tote.piece("Front").marks
    assert [mark.kind for mark in marks if mark.kind is MarkKind.NOTCH] == [MarkKind.NOTCH]
    (drill,) = [mark for mark in marks if mark.kind is MarkKind.DRILL]
    assert (drill.name, drill.size) == ("snap", pytest.approx(4.0, abs=1e-3))


def test_the_check_square_confirms_the_scale_and_is_no_piece(tote) -> None:
    assert any("is 5 cm, so the scale is right" in f.text for f in tote.findings)
    assert len(tote.pieces) == 4


def test_a_page_printed_to_fit_is_refused_with_both_sizes(draw, tmp_path) -> None:
    file = draw.single(tmp_path / "small.pdf", scale=0.97)
    with pytest.raises(PatternError) as told:
        read_pattern(file)
    assert "4.85 cm in the file, 97 % of what it says" in str(told.value)
    assert "291 × 189 mm as the file has it, 300 × 195 mm by the square" in str(told.value)
    by_file = read_pattern(file, unit="mm")
    assert area(by_file.piece("Front").cut) == pytest.approx(draw.FRONT * 0.97**2, rel=1e-5)
    by_square = read_pattern(file, reference=Reference(length=50.0, name="5 cm"))
    assert area(by_square.piece("Front").cut) == pytest.approx(draw.FRONT, rel=1e-5)


def test_the_word_fold_along_an_edge_opens_the_piece(tmp_path) -> None:
    def half(canvas: Canvas) -> None:
        canvas.rect(100, 50, 150, 200)
        canvas.setFont("Helvetica", 12)
        canvas.drawString(150, 120, "Back")
        canvas.saveState()
        canvas.translate(106, 120)
        canvas.rotate(90)
        canvas.setFont("Helvetica", 5)
        canvas.drawString(0, 0, "place on fold")
        canvas.restoreState()

    (found,) = read_pattern(page(tmp_path / "half.pdf", half)).found
    assert found.opened
    assert found.extent == pytest.approx((300.0, 200.0), abs=1e-3)


def test_a_piece_on_the_fold_without_its_edge_is_a_fault(tmp_path) -> None:
    def half(canvas: Canvas) -> None:
        canvas.rect(100, 50, 150, 200)
        canvas.setFont("Helvetica", 8)
        canvas.drawString(150, 120, "cut 1 on fold")

    pattern = read_pattern(page(tmp_path / "half.pdf", half))
    assert any(f.severity == "fault" and "no edge is marked" in f.text for f in pattern.findings)


def test_layers_colours_and_dashes_have_the_roles_that_are_said(tmp_path) -> None:
    def coloured(canvas: Canvas) -> None:
        canvas.rect(100, 50, 150, 200)
        canvas.setStrokeColorRGB(1, 0, 0)
        canvas.rect(150, 100, 30, 40)
        canvas.setStrokeColorRGB(0, 0, 0)
        canvas.setDash([3, 1])
        canvas.rect(200, 100, 20, 40)

    file = page(tmp_path / "roles.pdf", coloured)
    (piece,) = read_pattern(file).pieces
    assert len(piece.holes) == 1  # nobody cuts out what is dashed where the outline is not
    (piece,) = read_pattern(file, roles={"dashed": "hole"}).pieces
    assert len(piece.holes) == 2
    (piece,) = read_pattern(file, roles={"red": "line", "dashed": "ignore"}).pieces
    assert not piece.holes
    assert [mark.kind for mark in piece.marks] == [MarkKind.OUTLINE]
    with pytest.raises(PatternError, match="layer, colour or dash 'blue'"):
        read_pattern(file, roles={"blue": "line"})


def test_a_filled_shape_is_a_piece_where_nothing_is_outlined(tmp_path) -> None:
    def filled(canvas: Canvas) -> None:
        canvas.setFillColorRGB(0.7, 0.7, 0.9)
        canvas.rect(100, 50, 150, 200, stroke=0, fill=1)

    (piece,) = read_pattern(page(tmp_path / "filled.pdf", filled)).pieces
    assert area(piece.cut) == pytest.approx(30_000.0, rel=1e-5)


def test_pages_are_for_pdf_only(tmp_path) -> None:
    file = tmp_path / "a.svg"
    file.write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    with pytest.raises(PatternError, match="no PDF, and has no pages"):
        read_pattern(file, tiling=Tiling(pages=(1,)))
