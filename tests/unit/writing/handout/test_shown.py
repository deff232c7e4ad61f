"""A drawing in a booklet has room for all that is written beside it."""

from __future__ import annotations

import pytest

from nesting.writing.handout.shown import written_box
from nesting.writing.neutral.drawing import Drawing, Label, Operation
from nesting.writing.neutral.font import text_width


def test_a_name_beside_a_sheet_lies_within_its_box() -> None:
    name = Label(text="M 2 of 4", at=(-30.0, 50.0), height=5.0, operation=Operation.TEXT)
    drawing = Drawing(name="leather", length=100.0, width=80.0, labels=(name,))
    x0, y0, x1, y1 = written_box(drawing)
    assert x0 == pytest.approx(-30.0 - 0.5 * 5.0 * text_width("M 2 of 4"))
    assert x0 < drawing.box[0]
    assert (y0, x1, y1) == (0.0, 100.0, 80.0)
