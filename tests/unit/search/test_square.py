"""Freedom to turn is used where it pays, and never makes a marker worse."""

from __future__ import annotations

import math

import pytest

from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.result import Limits, Result
from nesting.search.solve import search
from nesting.search.square import RIGHT, may_turn, pays, squared

FREE = Turns(slack=180.0)
STRAIGHT = Turns(angles=(0.0, 90.0, 180.0, 270.0))


def lay(sizes: list[tuple[float, float]], turns: Turns, *, width: float) -> Lay:
    parts = tuple(
        Part(name=f"p{i}", piece=Piece(name=f"p{i}", cut=rectangle(w, h, radius=4.0)), turns=turns)
        for i, (w, h) in enumerate(sizes)
    )
    return Lay(name="vinyl", parts=parts, stock=Strip(width=width), spacing=2.0)


def laid(problem: Lay, rounds: int = 3) -> Result:
    result = search(problem, limits=Limits(seconds=None, rounds=rounds), workers=1)
    assert not check(result.marker)
    return result


def askew(result: Result) -> float:
    return max(abs(math.remainder(p.angle, 90.0)) for p in result.marker.placements)


def test_parts_that_gain_nothing_from_an_odd_turn_are_square_to_the_grain() -> None:
    sizes = [(80, 60)] * 4 + [(130, 18)] * 3 + [(48, 38)] * 5
    straight = laid(lay(sizes, STRAIGHT, width=300.0))
    free = laid(lay(sizes, FREE, width=300.0), rounds=30)  # of which right angles have a part
    assert figures(free.marker).length <= figures(straight.marker).length * (1 + 1e-9)
    if not pays(figures(free.marker).length, figures(straight.marker).length):
        assert askew(free) == pytest.approx(0.0, abs=1e-9)
    assert free.marker.lay.parts[0].turns == FREE


def test_an_odd_turn_is_taken_where_it_pays() -> None:
    """A strap of 250 mm on cloth of 200 mm: upright it doesn't fit, along it is 250 long."""
    result = laid(lay([(250, 20)], FREE, width=200.0))
    assert askew(result) > 10.0
    assert figures(result.marker).length < 0.9 * 250.0


def test_nothing_is_asked_twice_where_nothing_may_turn_freely() -> None:
    straight = lay([(80, 60)], STRAIGHT, width=300.0)
    assert not may_turn(straight)
    assert squared(straight, RIGHT) == straight


def test_beside_a_part_that_gains_by_an_odd_turn_the_others_are_square() -> None:
    """The strap reaches from corner to corner; four small parts have room beside it."""
    sizes = [(250, 20), (60, 35), (52, 30), (44, 28), (40, 24)]
    turned = [p.angle for p in laid(lay(sizes, FREE, width=200.0)).marker.placements]
    assert abs(math.remainder(turned[0], 90.0)) > 10.0
    assert [math.remainder(angle, 90.0) for angle in turned[1:]] == [0.0] * 4
