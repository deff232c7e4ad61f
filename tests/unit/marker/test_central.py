"""Parts of which any two need two sheets: worked out by hand, and tried at random."""

from __future__ import annotations

import random

import pytest
from shapely import affinity, box

from nesting.marker.bound import lower_bound
from nesting.marker.central import alone_on_sheets
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Turns
from nesting.pattern.measure import counter_clockwise
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece

FREE = Turns(slack=180.0)


def rectangle(length: float, height: float) -> Path:
    return Path.polyline([(0, 0), (length, 0), (length, height), (0, height)], closed=True)


def lay_of(
    size: tuple[float, float],
    sheet: tuple[float, float],
    *,
    spacing: float = 0.0,
    count: int = 5,
    turns: Turns = FREE,
) -> Lay:
    piece = Piece(name="p", cut=rectangle(*size))
    parts = tuple(Part(name=str(i), piece=piece, turns=turns) for i in range(count))
    stock = Sheets(sheets=(Sheet(name="s", outline=rectangle(*sheet)),))
    return Lay(name="lay", parts=parts, stock=stock, spacing=spacing)


def test_rectangles_too_long_and_too_wide_for_a_neighbour_lie_alone() -> None:
    # 536 is more than half of 1000 and more than the height of 500; 296 more than half of that.
    lay = lay_of((536, 296), (1000, 500))
    assert isinstance(lay.stock, Sheets)
    assert alone_on_sheets(lay, lay.stock) == 5
    assert lower_bound(lay).value == 5.0


@pytest.mark.parametrize("size", [(490, 296), (536, 240), (499, 499)])
def test_two_that_fit_side_by_side_do_not(size: tuple[float, float]) -> None:
    lay = lay_of(size, (1000, 500))
    assert isinstance(lay.stock, Sheets)
    assert alone_on_sheets(lay, lay.stock) == 0


def test_spacing_keeps_apart_what_would_just_fit() -> None:
    # 499 mm long, as drawn: two and 4 mm between them are 1002 mm, two and 1 mm fit.
    for spacing, alone in ((4.0, 5), (1.0, 0)):
        lay = lay_of((499, 296), (1000, 500), spacing=spacing, turns=Turns())
        assert isinstance(lay.stock, Sheets)
        assert alone_on_sheets(lay, lay.stock) == alone


@pytest.mark.parametrize(("angle", "alone"), [(13.3, 5), (-13.3, 0)])
def test_parts_are_turned_the_way_that_they_may_be(angle: float, alone: int) -> None:
    """A bar of 900 × 100 mm, drawn at 13.3°, on 1000 × 500 mm.

    Turned to 26.6° it lies along the diagonal, 75 and 4 mm to and fro: its middle comes off the
    sheet's by 75 sin 26.6° + 4 cos 26.6° = 37 mm, less than half its width. Turned to 0° there is
    room for it beside the middle.
    """
    bar = affinity.rotate(box(0.0, 0.0, 900.0, 100.0), 13.3)
    cut = Path.polyline(bar.exterior.coords[:-1], closed=True)
    piece = Piece(name="bar", cut=counter_clockwise(cut))
    parts = tuple(Part(name=str(i), piece=piece, turns=Turns(angles=(angle,))) for i in range(5))
    stock = Sheets(sheets=(Sheet(name="s", outline=rectangle(1000, 500)),))
    assert alone_on_sheets(Lay(name="lay", parts=parts, stock=stock), stock) == alone


def test_at_random_no_two_of_them_were_ever_apart() -> None:
    dice = random.Random(5)
    found = 0
    while found < 12:
        size = (dice.uniform(300, 650), dice.uniform(200, 400))
        lay = lay_of(size, (1000, 500), count=2)
        assert isinstance(lay.stock, Sheets)
        if not alone_on_sheets(lay, lay.stock):
            continue
        found += 1
        for _ in range(300):
            one, other = (_anywhere(size, dice) for _ in range(2))
            assert one is None or other is None or one.intersects(other)


def _anywhere(size: tuple[float, float], dice: random.Random):  # type: ignore[no-untyped-def]
    """Return the rectangle somewhere on the sheet, pushed into a corner half of the time."""
    turned = affinity.rotate(box(0, 0, *size), dice.choice([0, 90, dice.uniform(0, 180)]))
    a, b, c, d = turned.bounds
    room = (1000 - (c - a), 500 - (d - b))
    if min(room) < 0:
        return None
    where = [dice.choice([0.0, 1.0, dice.random()]) * r for r in room]
    return affinity.translate(turned, where[0] - a, where[1] - b)
