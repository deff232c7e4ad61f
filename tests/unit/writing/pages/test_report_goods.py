"""What the report says of prints, hides, loads and left-overs."""

from __future__ import annotations

import re

import pytest

from nesting import make_plan, parse_job
from nesting.planning.buying.hide_yield import hide_yield
from nesting.planning.lay.matching import print_price
from nesting.writing.pages.report import report

PRINT = """
[job]
name = "Bag"
currency = "EUR"
[[piece]]
name = "front"
rectangle = [300, 400]
[[cloth]]
name = "canvas"
width = 700
selvedge = 0
ends = 0
spacing = 0
price = 20
print = { along = 500, across = 350, origin = [250, 350] }
[[cut]]
piece = "front"
material = "canvas"
copies = 3
centred = true
"""

HIDE = """
[job]
name = "Belts"
[[piece]]
name = "panel"
rectangle = [400, 200]
[[leather]]
name = "calf"
margin = 0
spacing = 0
    [[leather.hide]]
    name = "skin"
    rectangle = [1000, 200]
[[cut]]
piece = "panel"
material = "calf"
copies = 2
"""


def test_the_price_of_a_print() -> None:
    plan = make_plan(parse_job(PRINT), seconds=None, rounds=2, workers=1)
    price = print_price(plan.entries[0])
    assert price is not None
    # one motif column fits: three panels 500 mm apart from 250; without it one row and a half
    assert price.matched == pytest.approx(1400.0)
    assert price.plain == pytest.approx(900.0)
    assert price.extra == pytest.approx(500.0)
    assert price.to_buy.value == pytest.approx(500.0)
    assert price.cost == pytest.approx(10.0)
    text = report(plan)
    assert "What the print costs" in text
    assert "50 cm more" in text
    assert "10.00 EUR" in text


def test_without_a_binding_nothing_is_said_of_the_print() -> None:
    job = parse_job(PRINT.replace("centred = true", ""))
    plan = make_plan(job, seconds=None, rounds=1, workers=1)
    assert print_price(plan.entries[0]) is None
    assert "What the print costs" not in report(plan)


def test_what_hides_yield() -> None:
    plan = make_plan(parse_job(HIDE), seconds=None, rounds=2, workers=1)
    found = hide_yield(plan.entries[0])
    assert found is not None
    assert found.gross == pytest.approx(200_000.0)
    assert found.net == pytest.approx(160_000.0)
    total = found.net + found.first + found.second + found.kept
    assert total == pytest.approx(found.gross, rel=1e-3)
    assert found.share == pytest.approx(0.8)
    text = report(plan)
    # 1 ft² = 9.290304 dm²
    assert "16.0 dm² (1.72 ft²)" in text
    assert re.search(r"Rule of thumb.*20\.0 %", text)
