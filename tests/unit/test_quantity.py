"""Quantities know their unit: what is of two kinds is never added or compared."""

from __future__ import annotations

import pytest

from nesting.amounts import Amounts
from nesting.quantity import Quantity, Unit

THREE, FIVE = Quantity(3.0, Unit.HIDES), Quantity(5.0, Unit.HIDES)


def test_quantities_of_one_unit_are_reckoned_with():
    assert Quantity(8.0, Unit.HIDES) == THREE + FIVE
    assert Quantity(2.0, Unit.HIDES) == FIVE - THREE
    assert THREE < FIVE
    assert not FIVE < THREE
    assert Quantity(2.5, Unit.AREA).cost(4.0) == 10.0
    assert FIVE.cost(None) is None
    assert Quantity(0.0, Unit.HIDES).cost(None) == 0.0


def test_how_far_above_a_bound():
    assert FIVE.above(Quantity(4.0, Unit.HIDES)) == 0.25
    assert THREE.above(FIVE) == 0.0
    assert not Quantity(0.0, Unit.HIDES)
    assert FIVE.above(Quantity(0.0, Unit.HIDES)) == 0.0


@pytest.mark.parametrize(
    "mix", [Quantity.__add__, Quantity.__sub__, Quantity.__lt__, Quantity.above]
)
def test_two_units_are_not_mixed(mix):
    with pytest.raises(ValueError, match="hides and mm"):
        mix(THREE, Quantity(3.0, Unit.LENGTH))


def test_quantities_are_said_in_the_units_of_a_job():
    metric, inches = Amounts("mm"), Amounts("in")
    assert metric.said(Quantity(1.0, Unit.HIDES)) == "1 hide"
    assert metric.said(Quantity(2.0, Unit.SHEETS)) == "2 sheets"
    assert metric.said(Quantity(600.0, Unit.LENGTH)) == "60 cm"
    assert inches.said(Quantity(914.4, Unit.LENGTH)) == "1 yd"
    assert metric.said(Quantity(3.0, "spool")) == "3 spools"


def test_a_bound_is_never_said_too_high_nor_a_number_too_low():
    metric = Amounts("mm")
    assert metric.least(Quantity(999.9, Unit.LENGTH)) == "99.9 cm"
    assert metric.least(Quantity(1000.9, Unit.LENGTH)) == "100 cm"
    assert metric.least(Quantity(1.2, Unit.HIDES)) == "2 hides"
