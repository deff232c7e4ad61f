"""Windows of a projection: they show everything, and neighbours have two crosses in common."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.errors import JobError
from nesting.writing.pages.projected import Window, windows

SIZE = st.floats(60.0, 2000.0)


def in_common(one: Window, other: Window) -> list[tuple[float, float]]:
    mine = {cross.number: cross.at for cross in one.crosses}
    return [mine[cross.number] for cross in other.crosses if cross.number in mine]


@given(length=SIZE, width=SIZE, wide=SIZE, high=SIZE)
def test_all_is_seen_and_neighbours_share_two_crosses_far_apart(
    length: float, width: float, wide: float, high: float
) -> None:
    found = windows((-5.0, -7.0, length - 5.0, width - 7.0), wide=wide, high=high)
    by = {(w.column, w.row): w for w in found}
    columns, rows = max(c for c, _ in by) + 1, max(r for _, r in by) + 1
    assert len(by) == columns * rows == len(found)
    for (column, row), window in by.items():
        for there, far in (((column + 1, row), 0.35 * high), ((column, row + 1), 0.35 * wide)):
            if there in by:
                common = in_common(window, by[there])
                assert len(common) >= 2
                assert max(math.dist(a, b) for a in common for b in common) > far
    xs = sorted({w.corner[0] for w in found})
    ys = sorted({w.corner[1] for w in found})
    assert (xs[0], ys[0]) == (-5.0, -7.0)
    assert xs[-1] + wide >= length - 5.0 - 1e-6
    assert ys[-1] + high >= width - 7.0 - 1e-6
    assert all(b - a < wide for a, b in pairwise(xs))
    assert all(b - a < high for a, b in pairwise(ys))
    if columns > 1:  # no window is for nothing
        assert xs[-2] + wide < length - 5.0 + 1e-6


def test_what_is_seen_at_once_is_one_window_without_crosses() -> None:
    (one,) = windows((0.0, 0.0, 400.0, 300.0), wide=400.0, high=300.0)
    assert (one.corner, one.crosses) == ((0.0, 0.0), ())


@pytest.mark.parametrize(("wide", "high"), [(0.0, 300.0), (300.0, math.nan), (math.inf, 300.0)])
def test_what_is_no_projection_is_refused(wide: float, high: float) -> None:
    with pytest.raises(JobError):
        windows((0.0, 0.0, 400.0, 300.0), wide=wide, high=high)


def test_far_too_many_windows_are_refused() -> None:
    with pytest.raises(JobError, match="far too much"):
        windows((0.0, 0.0, 1e6, 1e5), wide=60.0, high=60.0)
