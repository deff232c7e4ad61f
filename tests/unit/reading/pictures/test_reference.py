"""What gives a picture its scale, as it is said."""

from __future__ import annotations

import pytest

from nesting.errors import PatternError
from nesting.reading.pictures.references.reference import SHEETS, Kind, parse_reference


@pytest.mark.parametrize(
    ("text", "kind", "sides"),
    [
        ("A4", Kind.SHEET, (210.0, 297.0)),
        (" a4 sheet", Kind.SHEET, (210.0, 297.0)),
        ("LETTER", Kind.SHEET, (215.9, 279.4)),
        ("5 cm square", Kind.SQUARE, (50.0, 50.0)),
        ("1 in square", Kind.SQUARE, (25.4, 25.4)),
        ("1/2 in square", Kind.SQUARE, (12.7, 12.7)),
        ("20 x 30 cm", Kind.SHEET, (200.0, 300.0)),
        ("30cm × 20cm", Kind.SHEET, (200.0, 300.0)),
        ("12 by 8 in", Kind.SHEET, (203.2, 304.8)),
        ("209.8 x 296.9 mm", Kind.SHEET, (209.8, 296.9)),
        ("60 x 40 cm at 1,2 900,0 890,600 3,610.5", Kind.RECTANGLE, (600.0, 400.0)),
        ("marks", Kind.MARKS, (80.0, 80.0)),
    ],
)
def test_what_is_said_is_understood(text, kind, sides):
    reference = parse_reference(text)
    assert reference.kind is kind
    assert reference.sides == pytest.approx(sides)


def test_corners_and_pixels_per_inch():
    assert parse_reference("150 dpi").dpi == 150.0
    corners = parse_reference("60 x 40 cm at 1,2 900,0 890,600 3,610.5").corners
    assert corners == ((1.0, 2.0), (900.0, 0.0), (890.0, 600.0), (3.0, 610.5))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "nothing that gives"),
        ("A4ish", "nothing that gives"),
        ("square", "nothing that gives"),
        ("0 cm square", "gives no scale"),
        ("50 km square", "nothing that gives"),
        ("1 dpi", "no scan has"),
        ("6 x 4 cm at 1,2 3,4", "four corners"),
        ("6 x 4 cm at 0,0 9,9 9,0 0,9", "no rectangle"),
        ("6 x 4 cm at 0,0 9,9 9,0 0,nan", "four corners"),
    ],
)
def test_anything_else_is_refused_with_what_can_be_said(text, told):
    with pytest.raises(PatternError) as refused:
        parse_reference(text)
    assert told in str(refused.value)
    assert refused.value.hint


def test_sheets_are_those_of_their_standard():
    """ISO 216: the sides of A sheets are in the ratio of 1 to √2, each half of the one before, to
    the mm below; the sizes in inches are common practice, from memory.
    """
    for n in range(2, 7):
        short, long = SHEETS[f"A{n}"]
        assert long / short == pytest.approx(2**0.5, rel=0.005)
        if n > 2:
            assert (short, long) == (SHEETS[f"A{n - 1}"][1] // 2, SHEETS[f"A{n - 1}"][0])
    assert SHEETS["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))
