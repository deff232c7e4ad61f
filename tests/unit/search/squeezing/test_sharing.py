"""Copies are shared out among their mates as well as can be, by trying every way."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from nesting.marker.lay import Held, Lay, Part, Strip
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.problem import prepare
from nesting.search.squeezing.sharing import Ints, shared_out

FRONT = Piece(name="front", cut=rectangle(90, 60))
BACK = Piece(name="back", cut=rectangle(70, 50))
BAGS = 5


def lay(**back: object) -> Lay:
    """Return fronts, then backs: a bag is one of each."""
    fronts = [Part(name=f"front {k}", piece=FRONT, mates=f"bag {k}") for k in range(BAGS)]
    backs = [Part(name=f"back {k}", piece=BACK, mates=f"bag {k}", **back) for k in range(BAGS)]  # type: ignore[arg-type]
    return Lay(name="bags", parts=(*fronts, *backs), stock=Strip(width=500))


def shared(lay: Lay, at: np.ndarray, turns: Sequence[int]) -> Ints:
    problem, _ = prepare(lay)
    world = problem.world(problem.boards(1), fine=False)
    groups = [[k, BAGS + k] for k in range(BAGS)]
    return shared_out(
        world,
        np.arange(2 * BAGS),
        group_of={i: group for group in groups for i in group},
        cost=lambda group, place: float(np.hypot(*(at[place[group[0]]] - at[place[group[1]]]))),
        may=lambda i, now, then: i < BAGS or turns[now] == turns[then],
        ends=lambda: False,
    )


def total(at: np.ndarray, place: Ints) -> float:
    return float(np.hypot(*(at[place[:BAGS]] - at[place[BAGS:]]).T).sum())


@pytest.mark.parametrize("seed", range(6))
def test_no_way_of_sharing_out_links_bags_by_less(seed: int) -> None:
    dice = np.random.default_rng(seed)
    at = dice.uniform(0, 1000, (2 * BAGS, 2))
    place = shared(lay(), at, [0] * 10)
    assert sorted(place[:BAGS]) == list(range(BAGS))
    least = min(
        total(at, np.array([*range(BAGS), *(BAGS + n for n in way)]))
        for way in permutations(range(BAGS))
    )
    # Costs are whole hundredths, and a gain below a tenth is none.
    assert total(at, place) == pytest.approx(least, abs=0.15)


def test_parts_that_keep_a_turn_change_places_with_those_of_their_turn() -> None:
    dice = random.Random(3)
    at = np.array([(dice.uniform(0, 1000), dice.uniform(0, 500)) for _ in range(2 * BAGS)])
    turns = [0] * BAGS + [0, 180, 0, 180, 0]
    place = shared(lay(), at, turns)
    fronts_alone = place[BAGS:]
    assert [turns[p] for p in fronts_alone] == turns[BAGS:]


def test_what_is_held_keeps_its_place() -> None:
    at = np.random.default_rng(1).uniform(0, 1000, (2 * BAGS, 2))
    whole = lay()
    parts = tuple(
        replace(p, held=Held(x=200.0 * i, y=300.0)) if 5 <= i < 7 else p
        for i, p in enumerate(whole.parts)
    )
    place = shared(replace(whole, parts=parts), at, [0] * 10)
    assert place[5:7].tolist() == [5, 6]
