"""Whether something fits a cutter's bed, and by which turn."""

from __future__ import annotations

import pytest

from nesting.planning.lay.bed import turn_on_bed

BED = (900.0, 600.0)


@pytest.mark.parametrize(
    ("size", "may_turn", "turn"),
    [
        ((900.0, 600.0), True, 0.0),  # to the hair, as it lies
        ((600.0, 900.0), True, 90.0),
        ((600.0, 900.0), False, None),
        ((900.0 + 1e-7, 600.0), False, 0.0),  # rounding
        ((900.1, 600.0), True, None),
        ((900.0, 600.1), True, None),
        ((500.0, 500.0), True, 0.0),  # is not turned without need
    ],
)
def test_what_fits_a_bed(size: tuple[float, float], may_turn: bool, turn: float | None) -> None:
    assert turn_on_bed(size, BED, may_turn=may_turn) == turn
