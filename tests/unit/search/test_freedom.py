"""Searches with few turns and with many: who goes on, what is proved, what is spent."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np
import pytest

from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import polygon_path, rectangle
from nesting.search.prepared.forms import sampled
from nesting.search.result import Limits, Result, Stopped
from nesting.search.solve import search

FREE = Turns(slack=180.0)


def lay(pieces: list[Piece], *, width: float, turns: Turns = FREE, spacing: float = 0.0) -> Lay:
    parts = tuple(
        Part(name=f"{piece.name} {i}", piece=piece, turns=turns) for i, piece in enumerate(pieces)
    )
    return Lay(name="free", parts=parts, stock=Strip(width=width), spacing=spacing)


def laid(problem: Lay, rounds: int) -> Result:
    result = search(problem, limits=Limits(seconds=None, rounds=rounds), workers=1)
    assert not check(result.marker)
    assert not result.unplaced
    return result


def tiles(count: int) -> Lay:
    """L of three squares; two make 3 × 2 squares, so that they fill a strip of six."""
    ell = polygon_path([(0, 0), (40, 0), (40, 20), (20, 20), (20, 40), (0, 40)])
    return lay([Piece(name="ell", cut=ell)] * count, width=120.0)


def test_a_lay_without_waste_is_proved_though_parts_may_turn_freely() -> None:
    # Derived: 12 L of 1,200 mm² each fill 120 × 120 mm.
    result = laid(tiles(12), rounds=40)
    assert figures(result.marker).length == pytest.approx(120.0, rel=1e-8)
    assert result.stopped is Stopped.OPTIMAL
    assert result.rounds < 40
    assert all(abs(math.remainder(p.angle, 90.0)) < 1e-9 for p in result.marker.placements)


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_the_freedom_to_turn_never_costs_more_than_half_the_rounds(seed: int) -> None:
    """Any turn is no longer than the turns as drawn with half the rounds and the same seed."""
    dice = random.Random(seed)

    def outline(n: int) -> Piece:
        a, b = dice.uniform(40, 160), dice.uniform(30, 90)
        c, d = dice.uniform(0.3, 1.0) * a, dice.uniform(0.0, 0.6) * b
        return Piece(name=f"p{n}", cut=polygon_path([(0, d), (a, 0), (c, b)]))

    problem = lay(
        [outline(n // 2) for n in range(2 * dice.randint(3, 7))], width=240.0, spacing=1.0
    )
    drawn = replace(
        problem, parts=tuple(replace(p, turns=Turns(angles=(0.0, 180.0))) for p in problem.parts)
    )
    free = laid(problem, rounds=8)
    assert free.rounds == 8
    assert figures(free.marker).length <= figures(laid(drawn, rounds=4).marker).length * (1 + 1e-9)


def test_all_searches_together_spend_the_rounds_that_are_asked_for() -> None:
    bow = polygon_path([(0, 0), (90, 0), (70, 30), (90, 60), (0, 60), (20, 30)])
    problem = lay([Piece(name="bow", cut=bow)] * 4, width=200.0, spacing=2.0)
    assert laid(problem, rounds=7).rounds == 7


def test_what_is_proved_at_right_angles_is_not_proved_for_all_turns() -> None:
    # A strap of 280 mm: at right angles it is 280 long, which is proved; askew it is less.
    problem = lay([Piece(name="strap", cut=rectangle(280, 20))], width=200.0)
    result = laid(problem, rounds=8)
    assert result.stopped is not Stopped.OPTIMAL
    assert figures(result.marker).length < 0.9 * 280.0


def test_a_part_that_fits_at_an_odd_turn_alone_is_laid() -> None:
    # Derived: 290 × 10 in 220 × 220: the diagonal is 311, less than 10 for the strap's corners.
    problem = lay([Piece(name="strap", cut=rectangle(290, 10))], width=1.0)
    sheet = Sheet(name="board", outline=rectangle(220, 220), count=1)
    result = laid(replace(problem, stock=Sheets(sheets=(sheet,))), rounds=3)
    assert result.marker.placements


def test_right_angles_are_among_the_turns_of_a_part_that_may_turn_freely() -> None:
    ring = np.array([(0.0, 0.0), (100.0, 7.0), (90.0, 50.0), (0.0, 40.0)])
    assert {0.0, 90.0, 180.0, 270.0} <= set(sampled(FREE, ring, steps=24))
