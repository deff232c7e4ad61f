"""Which hides are opened, and parts that belong together on them."""

from __future__ import annotations

from itertools import permutations

import pytest

from benchmarks.search.hides import job_text
from nesting.job.file import parse_job
from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Region, Sheet, Sheets, Turns
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import rectangle
from nesting.planning.lay.lays import lays
from nesting.planning.make import make_plan
from nesting.search.result import Limits, Result, Stopped
from nesting.search.solve import search

FREE = Turns(slack=180.0)


def hide(name: str, length: float, width: float, *, number: int, left_over: bool = False) -> Sheet:
    outline = rectangle(length, width)
    cost = 0.0 if left_over else polygon(outline).area
    return Sheet(name=name, outline=outline, count=1, cost=cost, origin=number)


def boxes(n: int, length: float, width: float, **rules: object) -> tuple[Part, ...]:
    piece = Piece(name="box", cut=rectangle(length, width))
    return tuple(Part(name=f"box {i}", piece=piece, **rules) for i in range(n))  # type: ignore[arg-type]


def solved(parts: tuple[Part, ...], *sheets: Sheet, rounds: int = 1) -> Result:
    lay = Lay(name="hides", parts=parts, stock=Sheets(sheets=sheets), spacing=2.0)
    return search(lay, limits=Limits(seconds=None, rounds=rounds), workers=1)


def opened(result: Result) -> set[str]:
    stock = result.marker.lay.stock
    assert isinstance(stock, Sheets)
    return {stock.sheets[kind].name for kind in result.marker.sheets}


@pytest.mark.parametrize("turned", [False, True])
def test_the_hides_that_cost_least_are_opened_whatever_their_order(turned: bool) -> None:
    # Derived: six boxes of 200 × 100 fit 620 × 210; the large hide has four times the area.
    sheets = [hide("large", 1200, 450, number=0), hide("small", 630, 215, number=1)]
    result = solved(boxes(6, 200, 100), *(reversed(sheets) if turned else sheets))
    assert opened(result) == {"small"}
    assert not check(result.marker)


def test_two_small_hides_are_opened_rather_than_one_large() -> None:
    sheets = (
        hide("large", 1500, 600, number=0),
        hide("one", 430, 320, number=1),
        hide("two", 430, 320, number=2),
    )
    assert opened(solved(boxes(12, 200, 100), *sheets)) == {"one", "two"}


@pytest.mark.parametrize("turned", [False, True])
def test_of_hides_that_cost_the_same_the_one_is_opened_that_leaves_more(turned: bool) -> None:
    # Derived: of 1200 × 300 one square of 280 leaves 920 × 300, of 600 × 600 320 × 600.
    sheets = [hide("square", 600, 600, number=0), hide("long", 1200, 300, number=1)]
    result = solved(boxes(1, 280, 280), *(reversed(sheets) if turned else sheets))
    assert opened(result) == {"long"}


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_no_order_of_the_hides_is_dearer(order: tuple[int, ...]) -> None:
    """Four boxes of 200 × 100 find room on the first, six on each of the others."""
    sizes = [(420, 220), (640, 210), (430, 330)]
    sheets = [hide(f"hide {n}", *sizes[n], number=n) for n in range(3)]
    result = solved(boxes(10, 200, 100), *(sheets[n] for n in order))
    assert opened(result) == {"hide 0", "hide 1"}


def test_what_is_left_of_a_hide_costs_nothing_and_is_used_first() -> None:
    sheets = (
        hide("rest", 410, 110, number=0, left_over=True),
        hide("whole", 830, 430, number=1),
    )
    result = solved(boxes(2, 200, 100), *sheets)
    assert opened(result) == {"rest"}


def test_mates_that_find_no_room_on_one_hide_turn_freely_on_the_next() -> None:
    """The pair has to turn alike; the turn that was tried in vain is forgotten."""
    pair = Piece(name="strap", cut=rectangle(300, 60))
    parts = tuple(
        Part(name=f"strap {i}", piece=pair, turns=FREE, mates="m", turn_group="m", region="r")
        for i in range(2)
    )
    low, high = rectangle(305, 70), rectangle(70, 650)
    sheets = (
        Sheet(
            name="long", outline=low, count=1, cost=1.0, origin=0,
            regions=(Region(name="r", outlines=(low,), turns=Turns(angles=(0.0, 180.0))),),
        ),
        Sheet(
            name="high", outline=high, count=1, cost=2.0, origin=1,
            regions=(Region(name="r", outlines=(high,), turns=Turns(angles=(90.0, 270.0))),),
        ),
    )  # fmt: skip
    result = solved(parts, *sheets)
    assert result.unplaced == ()
    assert opened(result) == {"high"}


def test_of_mates_those_are_laid_that_find_room_and_nothing_is_claimed() -> None:
    parts = boxes(3, 200, 100, mates="m")
    result = solved(parts, hide("small", 410, 105, number=0))
    assert len(result.marker.placements) == 2
    assert result.stopped is Stopped.INFEASIBLE  # three of 200 × 100 are larger than the hide
    # Their area would fit, and no bound says that they don't.
    turning = boxes(3, 200, 100, mates="m", turns=FREE)
    result = solved(turning, hide("odd", 250, 250, number=0))
    assert len(result.marker.placements) == 2
    assert result.stopped is Stopped.NOT_FOUND
    assert "no room was found" in result.unplaced[0].why


def test_the_order_of_hides_in_the_file_does_not_decide_what_is_bought() -> None:
    text = """
[job]
name = "Wallet"
[[piece]]
name = "outer"
rectangle = [220, 95]
[[leather]]
name = "calf"
price = 100
HIDES
[[cut]]
piece = "outer"
material = "calf"
copies = 4
"""
    hides = [
        f'[[leather.hide]]\nname = "{name}"\nrectangle = {size}'
        for name, size in (("big", "[900, 700]"), ("little", "[480, 230]"))
    ]
    costs = {
        make_plan(
            parse_job(text.replace("HIDES", "\n".join(order))), seconds=None, rounds=1, workers=1
        )
        .entries[0]
        .buying.cost
        for order in (hides, hides[::-1])
    }
    assert costs == {round(100 * 0.48 * 0.23, 2)}


@pytest.mark.parametrize("seed", [1, 2])
def test_forty_parts_find_room_on_seven_tenths_of_a_hide(seed: int) -> None:
    """Twelve flaws, four zones; one part was left over."""
    (lay,) = lays(parse_job(job_text(0.7, seed)))
    result = search(lay, limits=Limits(seconds=None, rounds=0), workers=1, seed=seed)
    assert result.unplaced == ()
    assert len(result.marker.placements) == 40
    assert not check(result.marker)
