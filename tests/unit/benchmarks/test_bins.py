"""The classes of two-dimensional bin packing, as they are drawn and laid."""

from __future__ import annotations

import random

import pytest

from benchmarks.search.bins import KINDS, SIDE, UNIFORM, lay_of, measured, sizes


@pytest.mark.parametrize("number", range(1, 11))
def test_rectangles_are_of_their_class(number: int) -> None:
    side, boxes = sizes(number, 400, random.Random(1))
    assert len(boxes) == 400
    assert all(1 <= w <= side and 1 <= h <= side for w, h in boxes)
    if number in UNIFORM:
        assert max(map(max, boxes)) == UNIFORM[number][0]
        return
    a, b, c, d = (share * SIDE for share in KINDS[number - 7])
    own = sum(a - 1 <= w <= b + 1 and c - 1 <= h <= d + 1 for w, h in boxes)
    assert 0.6 <= own / 400 <= 0.85  # 70 %, and what of the others happens to be like it


def test_a_class_is_laid_and_the_same_again() -> None:
    assert lay_of(7, 20, 0) == lay_of(7, 20, 0) != lay_of(7, 20, 1)
    row = measured(7, 10, cases=2, rounds=1, seed=1)
    assert row.findings == row.unplaced == 0
    assert 0 < row.bound <= row.sheets
