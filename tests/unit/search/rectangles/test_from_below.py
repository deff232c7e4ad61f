"""Bounds of rectangles with spacing: raised only by what was shown."""

from __future__ import annotations

import pytest

from nesting.marker.lay import Lay, Part, Strip
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.rectangles import box_model
from nesting.search.rectangles.box_model import Answer
from nesting.search.rectangles.boxes import Boxes, Spot, boxes_of
from nesting.search.rectangles.effort import Effort
from nesting.search.rectangles.from_below import spaced_bound
from nesting.search.rectangles.race import Race

SHOWN_BEFORE = 120.4
"""What is known before (mm): less than a whole unit of the boxes below the next packing."""


def bound_after(monkeypatch: pytest.MonkeyPatch, *, shown: int) -> float:
    """Return the bound if CP-SAT shows so many units more than it was asked to begin with."""
    parts = tuple(
        Part(name=f"{n}", piece=Piece(name="box", cut=rectangle(100.0, 60.0))) for n in range(2)
    )
    lay = Lay(name="boxes", parts=parts, stock=Strip(width=100.0), spacing=3.0)
    race = Race(boxes_of(lay, along=3.0, across=3.0), 0, lambda: False)
    race.offer([Spot(0, 0), Spot(round(103.0 / race.boxes.unit), 0)])

    def solved(boxes: Boxes, *, low: int, **_: object) -> Answer:
        return Answer(None, low + shown)

    monkeypatch.setattr(box_model, "solve_boxes", solved)
    return spaced_bound(lay, race, SHOWN_BEFORE, Effort())


def test_a_bound_stands_that_was_only_rounded_up_to_whole_units(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert bound_after(monkeypatch, shown=0) == SHOWN_BEFORE


def test_a_bound_is_raised_by_what_was_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    assert SHOWN_BEFORE < bound_after(monkeypatch, shown=3) <= 203.0


def test_what_is_shown_of_whole_units_says_nothing_where_a_row_of_parts_may_hide_one() -> None:
    """The judge lets a millionth of a part's side pass between two; a row of 40 has 41 such."""

    def of(count: int) -> Boxes:
        sizes = [(1000.03, 100.0), (500.01, 100.0)] * (count // 2)  # units of 0.01 mm
        parts = tuple(
            Part(name=f"{n}", piece=Piece(name=f"{n}", cut=rectangle(*size)))
            for n, size in enumerate(sizes)
        )
        return boxes_of(Lay(name="boxes", parts=parts, stock=Strip(width=1200.0)))

    assert of(2).unit == pytest.approx(0.01)
    assert (of(2).proves, of(40).proves) == (True, False)
