"""Items that change places, beside a plain sum of all that overlaps."""

from __future__ import annotations

import random

import numpy as np
import pytest

from nesting.search.kernels import exchanging
from nesting.search.prepared.world import World
from tests.unit.search.kernels.twins import (
    others,
    overlap_of,
    placed,
    throw,
    weigh_pairs,
    weights_of,
)


def weight_of_all(world: World) -> float:
    """Return what all overlaps weigh, each pair once."""
    weights = weights_of(world)
    sheets = world.save().sheet
    return sum(
        float(weights[i, j]) * overlap_of(world, placed(world, i), other)
        for i in range(world.items)
        for j, other in others(world, i, int(sheets[i]))
        if j > i
    )


def test_two_items_change_places_if_and_only_if_that_weighs_less(world: World) -> None:
    state, dice, n = world.state._state, random.Random(21), world.items
    weights = np.ones((n, n + 1))
    went = []
    for _ in range(40):
        layout = throw(world, dice)
        for i in range(n):
            weights[i, i:] = [dice.uniform(1.0, 3.0) for _ in range(i, n + 1)]
            weights[i:n, i] = weights[i, i:n]
        weigh_pairs(world, weights)
        i, j = dice.sample(range(n), 2)
        if layout.sheet[i] != layout.sheet[j]:
            continue
        before = weight_of_all(world)
        world.overlap()
        went.append(exchanging.exchange(state, i, j))
        movers = world.state._arrays["movers"][: state.mover_count]
        assert set(movers.tolist()) == ({i, j} if went[-1] else set())
        now = world.save()
        if not went[-1]:
            assert (now.at == layout.at).all()
            assert (now.shape == layout.shape).all()
            continue
        assert weight_of_all(world) < before + 1e-6
        rest = [k for k in range(n) if k not in (i, j)]
        assert (now.at[rest] == layout.at[rest]).all()
        assert (now.at[[i, j]] != layout.at[[i, j]]).any()
    assert 5 < sum(went) < len(went)


@pytest.mark.parametrize("why", ["alike", "held", "kind"])
def test_some_items_never_change_places(world: World, why: str) -> None:
    """What is held stays; one much larger or smaller, or of the same kind, is not tried."""
    state, items = world.state._state, world.state._arrays["items"]
    if why == "alike":
        state.alike = 0.5
    elif why == "held":
        items["held"][1:] = 1
    else:
        items["kind"] = items["kind"][0]
    assert exchanged(world) == 0
    if why == "alike":
        state.alike = 2.0
        assert exchanged(world) > 0


def exchanged(world: World) -> int:
    """Return in how many of 40 layouts an item was exchanged."""
    dice, count = random.Random(22), 0
    for _ in range(40):
        layout = throw(world, dice)
        world.overlap()
        exchanging.exchange_some(world.state._state, 0)
        moved = np.flatnonzero((world.save().at != layout.at).any(axis=1))
        assert set(moved) <= set(np.flatnonzero(world.state._arrays["items"]["moved"]))
        count += len(moved) > 0
    return count
