"""What goods say of themselves."""

from __future__ import annotations

import pytest

from nesting.material.material import Cloth, Fold, Hide, Hides, Remnant, SheetGoods, Width
from nesting.pattern.shapes import rectangle
from nesting.quantity import Unit

BIT = rectangle(100.0, 50.0)
CLOTH = Cloth(
    name="canvas",
    widths=(Width(booked=1500.0, usable=1480.0),),
    fold=Fold.FOLDED,
    remnants=(Remnant(name="bit", outline=BIT),),
)
SHEET = SheetGoods(name="foam", length=1000.0, width=500.0)
LEATHER = Hides(name="goat", hides=(Hide(name="first", outline=BIT, flaws=(BIT,)),))


@pytest.mark.parametrize(
    ("goods", "kinds", "taken", "sold"),
    [
        (CLOTH, "cloth", Unit.LENGTH, Unit.LENGTH),
        (SHEET, "sheets", Unit.SHEETS, Unit.SHEETS),
        (LEATHER, "hides", Unit.HIDES, Unit.AREA),
    ],
)
def test_what_they_are_called_taken_and_sold_in(goods, kinds, taken, sold):
    assert (goods.kinds, goods.taken_in, goods.sold_in) == (kinds, taken, sold)


def test_what_goods_have_nothing_of():
    for goods in (SHEET, LEATHER):
        assert not goods.folded
        assert (goods.print, goods.ends, goods.step, goods.rolls) == (None, 0.0, 0.0, ())
        assert not goods.shrinkage.cut_larger
    assert CLOTH.folded
    assert CLOTH.hides == ()
    assert LEATHER.remnants == ()


def test_what_is_at_hand_one_by_one():
    assert [one.name for one in CLOTH.drawn] == ["bit"]
    assert [len(one.paths) for one in LEATHER.drawn] == [2]
    assert SHEET.drawn == ()


def test_what_is_limited():
    assert LEATHER.limited
    assert not CLOTH.limited
    assert not SHEET.limited
    assert SheetGoods(name="foam", length=1.0, width=1.0, count=0).limited


def test_hides_are_asked_for():
    """A default that is inherited would be a property."""
    with pytest.raises(TypeError, match="hides"):
        Hides(name="goat")  # type: ignore[call-arg]
