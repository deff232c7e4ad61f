"""A corner of a drawn line that came out as a short curve is told with what it may lack."""

from __future__ import annotations

import math

import pytest

from nesting.pattern.curves import Bezier, Line
from nesting.pattern.path import Path
from nesting.reading.pictures.fit import blunted


def cut_off(by: float) -> Path:
    """Return a triangle whose corner at (100, 0) is a curve from and to so far before it."""
    a, b, c = (0.0, 0.0), (100.0, 0.0), (40.0, 70.0)
    before, after = (b[0] - by, 0.0), (b[0] - 0.6508 * by, 0.7593 * by)
    curve = Bezier(before, *((p, q) for p, q in (before, after)), after)
    return Path((Line(a, before), curve, Line(after, c), Line(c, a)))


@pytest.mark.parametrize("by", [0.5, 1.0, 2.0])
def test_a_short_curve_between_straight_lines_may_be_a_corner(by) -> None:
    path = cut_off(by)
    curve = path.segments[1]
    short = min(math.dist((100.0, 0.0), curve.at(k / 100)) for k in range(101))
    assert blunted(path, pen=0.6) == pytest.approx(short, rel=0.01)
    assert short > 0.5 * by


def test_a_long_curve_and_a_corner_are_what_they_are() -> None:
    assert blunted(cut_off(30.0), pen=0.6) == 0.0
    square = [(0.0, 0.0), (90.0, 0.0), (90.0, 90.0), (0.0, 90.0)]
    lines = (Line(a, b) for a, b in zip(square, [*square[1:], square[0]], strict=True))
    assert blunted(Path(tuple(lines)), pen=0.6) == 0.0
    assert blunted(cut_off(1.0), pen=0.0) == 0.0
