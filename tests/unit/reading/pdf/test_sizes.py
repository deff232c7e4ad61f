"""Sizes nested in one another, by layer or by a key of colours and dashes: one is taken."""

from __future__ import annotations

import pytest
from reportlab.pdfgen.canvas import Canvas

from nesting.errors import PatternError
from nesting.pattern.measure import area
from nesting.pattern.path import Path
from nesting.reading.pdf.lettering import Word
from nesting.reading.pdf.page import Stroke
from nesting.reading.pdf.sizes import sizes_of
from nesting.reading.read import read_pattern

MM = 72.0 / 25.4


def test_a_key_of_colours_tells_sizes(tmp_path) -> None:
    canvas = Canvas(str(tmp_path / "sizes.pdf"), pagesize=(500 * MM, 400 * MM))
    canvas.scale(MM, MM)
    canvas.setFont("Helvetica", 6)
    for k, (name, colour) in enumerate((("S", (1, 0, 0)), ("M", (0, 0, 1)), ("L", (0, 0.5, 0)))):
        canvas.setStrokeColorRGB(*colour)
        canvas.line(20, 350 - 10 * k, 40, 350 - 10 * k)
        canvas.drawString(44, 348 - 10 * k, name)
        canvas.rect(150 - 20 * k, 100 - 20 * k, 150 + 40 * k, 100 + 40 * k)
    canvas.setStrokeColorRGB(0, 0, 0)
    canvas.drawString(200, 150, "Front")
    canvas.rect(420, 20, 50, 50)
    canvas.drawString(430, 43, "5 cm")
    canvas.save()
    with pytest.raises(PatternError, match="several sizes: S, M, L"):
        read_pattern(tmp_path / "sizes.pdf")
    for size, known in (("S", 15_000.0), ("M", 190.0 * 140.0), ("L", 230.0 * 180.0)):
        pattern = read_pattern(tmp_path / "sizes.pdf", size=size)
        assert [piece.name for piece in pattern.pieces] == ["Front"]
        assert area(pattern.pieces[0].cut) == pytest.approx(known, rel=1e-5)
        assert not any(finding.kind == "mark" for finding in pattern.findings)
        assert sum(finding.kind == "check" for finding in pattern.findings) == 1


def stroke(layer: str) -> Stroke:
    return Stroke(
        path=Path.polyline([(0, 0), (100, 0), (100, 80)], closed=True),
        colour="#000000",
        ground="",
        width=0.3,
        dashes=(),
        layer=layer,
        window=(0.0, 0.0, 500.0, 500.0),
    )


def test_layers_tell_sizes() -> None:
    told, _ = sizes_of([stroke("Size 36"), stroke("size 38"), stroke("grain")], [])
    assert set(told.values()) == {"36", "38"}
    assert sizes_of([stroke("M"), stroke("text")], [])[0] == {}


def test_a_word_without_a_line_is_no_key() -> None:
    word = Word(text="M", at=(300.0, 300.0), size=5.0, angle=0.0, width=4.0)
    assert sizes_of([stroke("")], [word])[0] == {}


def test_sizes_may_differ_by_nothing_but_the_length_of_their_dashes(tmp_path) -> None:
    """Dashes of 6 and of 2 mm are both dashed."""
    canvas = Canvas(str(tmp_path / "dashes.pdf"), pagesize=(500 * MM, 400 * MM))
    canvas.scale(MM, MM)
    for i, (name, dashes) in enumerate((("S", []), ("M", [6, 3]), ("L", [2, 2]))):
        canvas.setDash(dashes)
        canvas.rect(20, 20, 140 + 20 * i, 200 + 20 * i)
        canvas.line(400, 300 + 10 * i, 430, 300 + 10 * i)
        canvas.drawString(435, 298 + 10 * i, name)
    canvas.save()
    for i, name in enumerate("SML"):
        (piece,) = read_pattern(tmp_path / "dashes.pdf", size=name).pieces
        assert area(piece.cut) == pytest.approx((140 + 20 * i) * (200 + 20 * i), rel=1e-6)
