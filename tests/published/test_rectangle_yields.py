"""How many equal rectangles cloth yields, against printed quilting tables.

Each table is met by a real lay of equal rectangles: the number printed fits the length,
proven shortest, and one more does not. Sizes in inches as printed.
"""

from __future__ import annotations

import pytest

from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Strip
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.search.rectangles.course import pack
from nesting.search.result import Result, Stopped

INCH = 25.4


def lay_equal(count: int, length: float, height: float, *, width: float) -> Result:
    """Lay `count` rectangles of length (along) × height (across) inches on so wide cloth."""
    a, b = length * INCH, height * INCH
    piece = Piece(name="patch", cut=Path.polyline([(0, 0), (a, 0), (a, b), (0, b)], closed=True))
    parts = tuple(Part(name=f"patch {i}", piece=piece) for i in range(count))
    return pack(Lay(name="patches", parts=parts, stock=Strip(width=width * INCH)), seconds=20)


def inches(result: Result) -> float:
    """Return the length found, which must be proven."""
    assert result.stopped is Stopped.OPTIMAL
    found = figures(result.marker).length / INCH
    assert result.bound.value / INCH == pytest.approx(found)
    return found


def yields(count: int, side: float, *, width: float, length: float) -> None:
    """Assert that exactly `count` squares come out of a length of cloth."""
    assert inches(lay_equal(count, side, side, width=width)) <= length * (1 + 1e-9)
    assert inches(lay_equal(count + 1, side, side, width=width)) > length * (1 + 1e-9)


# Sources: quiltingboard.com thread 6228687 (63 squares); bobbininquilts (300 rectangles,
# the 3 in side across); harriger.com (100 of 3 1/2 in); quilterscache (112 units; the
# total length follows from its three steps).
@pytest.mark.parametrize(
    ("count", "along", "across", "width", "length"),
    [
        (63, 9.5, 9.5, 42, 152),
        (300, 2, 3, 40, 48),
        (100, 3.5, 3.5, 44, 31.5),
        (112, 3.875, 7.75, 42, 89.125),
    ],
)
def test_length_for_a_number(
    count: int, along: float, across: float, width: float, length: float
) -> None:
    assert inches(lay_equal(count, along, across, width=width)) == pytest.approx(length)


def test_the_same_in_yards() -> None:
    # As printed: 63 squares 4.222 yd, 300 rectangles 1.3333 yd, 112 units 2.476 yd.
    assert round(inches(lay_equal(63, 9.5, 9.5, width=42)) / 36, 3) == 4.222
    assert round(inches(lay_equal(300, 2, 3, width=40)) / 36, 4) == 1.3333
    assert round(inches(lay_equal(112, 3.875, 7.75, width=42)) / 36, 3) == 2.476


@pytest.mark.parametrize(("width", "count"), [(39, 49), (40, 56), (41, 56), (42, 56)])
def test_five_inch_squares_from_a_yard(width: float, count: int) -> None:
    # Source: jajalger2018's table of squares from a yard, the row of 5 in.
    yields(count, 5, width=width, length=36)


@pytest.mark.parametrize(
    ("side", "count"),
    [
        (2, 99),
        (2.5, 56),
        (3, 42),
        (3.5, 30),
        (4, 20),
        (4.5, 16),
        (5, 12),
        (5.5, 12),
        (6, 9),
        (6.5, 6),
    ],
)
def test_squares_from_a_fat_quarter(side: float, count: int) -> None:
    # 18 × 22 in. Sources: tables of docsbay, piecefulliving and quilterscache, which agree.
    yields(count, side, width=18, length=22)


# Source: quilterscache, squares from 44 × 36 in. Its entry for 7 in is a misprint.
@pytest.mark.parametrize(
    ("side", "count"),
    [(2, 396), (2.5, 238), (3, 168), (4, 99), (5, 56), (6, 42), (8, 20), (10, 12), (12, 9)],
)
def test_squares_from_a_yard_of_44_inches(side: float, count: int) -> None:
    yields(count, side, width=44, length=36)


def test_a_printed_entry_that_is_wrong() -> None:
    # Printed: 35 squares of 7 in from 44 × 36 in. 35 × 49 = 1,715 in² would even exceed the
    # 1,584 in² there are; it is 30, six across and five along.
    printed = 35
    assert inches(lay_equal(printed, 7, 7, width=44)) > 36
    yields(30, 7, width=44, length=36)


@pytest.mark.parametrize(
    ("strip", "pure", "chart"),
    [(1.5, 24, 23), (2, 18, 17), (2.5, 14, 13), (3, 12, 11), (3.5, 10, 10), (4, 9, 8)],
)
def test_strips_from_a_yard(strip: float, pure: int, chart: int) -> None:
    # Source: docsbay's chart of strips a yard, which keeps something for squaring up. It is
    # no one margin: 14 strips of 2 1/2 in and 10 of 3 1/2 in both take 35 in, and the chart
    # has 13 and 10. So its numbers are only held to fit, and the pure ones to be the most.
    assert inches(lay_equal(pure, strip, 42, width=42)) <= 36 * (1 + 1e-9)
    assert inches(lay_equal(pure + 1, strip, 42, width=42)) > 36 * (1 + 1e-9)
    assert chart <= pure
    assert 36 - inches(lay_equal(chart, strip, 42, width=42)) >= 1
