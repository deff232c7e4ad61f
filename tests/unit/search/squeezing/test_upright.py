"""Parts that lie askew for nothing are turned square to the grain; those that need it are not."""

from __future__ import annotations

import math

import numpy as np
import pytest

from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.marker.marker import Marker
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.prepared.state import Layout
from nesting.search.problem import first_marker, prepare
from nesting.search.squeezing.turn import state_of
from nesting.search.squeezing.upright import upright

FREE = Turns(slack=180.0)


def lay(sizes: list[tuple[float, float]], *, width: float, turns: Turns = FREE) -> Lay:
    parts = tuple(
        Part(name=f"p{i}", piece=Piece(name=f"p{i}", cut=rectangle(w, h)), turns=turns)
        for i, (w, h) in enumerate(sizes)
    )
    return Lay(name="vinyl", parts=parts, stock=Strip(width=width))


def straightened(
    problem: Lay, at: list[tuple[float, float]], angles: list[float]
) -> tuple[list[float], Marker]:
    """Return angles (degrees) and marker of parts with their middles somewhere, straightened."""
    ready, _ = prepare(problem)
    start = first_marker(ready, stop=lambda: False)
    degrees = np.array(angles)
    layout = Layout(np.array(at, dtype=float), start.layout.shape, start.layout.sheet)
    before = state_of(start.world, layout, degrees).length()
    got = upright(start.world, layout, degrees, ends=lambda: False)
    after, degrees = (layout, degrees) if got is None else got
    assert state_of(start.world, after, degrees).length() <= before + 1e-9
    placements = start.world.placements(after, angles=degrees)
    return list(map(float, degrees)), Marker(lay=problem, placements=tuple(placements))


def test_a_part_askew_makes_its_neighbour_give_way() -> None:
    problem = lay([(80, 40), (60, 40), (200, 20)], width=200.0)
    angles, marker = straightened(problem, [(50, 40), (110, 40), (100, 150)], [7.0, 0.0, 180.0])
    assert angles == [0.0, 0.0, 180.0]
    assert not check(marker)


def test_a_part_that_is_longer_square_than_askew_stays_askew() -> None:
    # A strap of 280 mm on cloth of 200 mm: square it would be 280 long.
    problem = lay([(280, 20), (30, 20)], width=200.0)
    angles, marker = straightened(problem, [(125, 100), (40, 150)], [-40.0, 30.0])
    assert angles == pytest.approx([-40.0, 0.0])
    assert angles[1] == 0.0
    assert not check(marker)


def test_only_what_may_turn_freely_is_turned() -> None:
    problem = lay([(80, 40), (200, 20)], width=200.0, turns=Turns(angles=(0.0,), slack=10.0))
    angles, _ = straightened(problem, [(60, 60), (100, 150)], [7.0, 0.0])
    assert math.isclose(angles[0], 7.0)
