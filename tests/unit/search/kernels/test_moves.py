"""Moves and separations beside plain twins, on random cases."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest

from nesting.search.kernels import (
    draws,
    moving,
    overlaps,
    separation,
    tables,
    touching,
)
from nesting.search.kernels import weights as heavier
from nesting.search.prepared.world import World
from tests.unit.search.kernels.test_places import weight_of
from tests.unit.search.kernels.twins import (
    depths_of,
    others,
    placed,
    stars,
    throw,
    weights_of,
    world_of,
)


def test_moves_end_one_overlap_or_two() -> None:
    dice = np.random.default_rng(11)
    tried = np.zeros(7, int)
    for _ in range(50):
        angles, depth = dice.uniform(0, 2 * math.pi, 3), dice.uniform(0.1, 3.0, 3)
        normal = np.stack([np.cos(angles), np.sin(angles)], axis=1)
        found = tuple((float(9 - k), depth[k], *normal[k]) for k in range(3))
        for m, ends in enumerate([(0,), (1,), (0, 1), (0, 2), (0,), (0,), ()]):
            there, u, v = touching.move(m, *found)
            tried[m] += there
            if there:
                for k in ends:
                    assert normal[k] @ (u, v) == pytest.approx(depth[k])
            if m == 4 and there:
                assert v == 0.0
            if m == 5 and there:
                assert u == 0.0
            if m == 6:  # the mean of the first two moves, by weight and depth
                share = np.array([9.0, 8.0]) / depth[:2]
                ways = depth[:2, None] * normal[:2]
                assert (u, v) == pytest.approx(tuple(share @ ways / share.sum()))
    assert (tried > 0).all()


def test_candidates_are_the_lightest_and_polishing_never_makes_one_heavier(world: World) -> None:
    state, dice = world.state._state, random.Random(12)
    kept = world.state._arrays["candidates"]
    for _ in range(15):
        layout = throw(world, dice)
        sheet = int(layout.sheet[0])
        kept["score"][:] = tables.FAR
        offered = []
        for _ in range(9):
            s = dice.choice(world.options_of(0, sheet))
            x0, y0, x1, y1 = world.state.domain(0, s, sheet)
            x, y = dice.uniform(x0, x1), dice.uniform(y0, y1)
            moving.offer(state, 0, s, sheet, x, y)
            offered.append(weight_of(world, 0, (s, x, y), sheet))
        assert kept["score"][:3] == pytest.approx(sorted(offered)[:3], abs=1e-6)
        three = touching.heaviest(state, 0, int(kept[1]["form"]), sheet, kept[1]["x"], kept[1]["y"])
        assert [w for w, *_ in three] == sorted((w for w, *_ in three), reverse=True)
        before = float(kept[1]["score"])
        touching.polish(state, 0, 1, tables.FAR)
        row = kept[1]
        place = (int(row["form"]), float(row["x"]), float(row["y"]))
        assert row["score"] <= before
        assert row["score"] == pytest.approx(weight_of(world, 0, place, sheet), abs=1e-6)


def test_an_item_moves_to_a_lighter_place(world: World) -> None:
    state, dice, moved = world.state._state, random.Random(13), 0
    for _ in range(20):
        layout = throw(world, dice)
        before = weight_of(world, 0, placed(world, 0), int(layout.sheet[0]))
        went = moving.relocate(state, 0)
        after = world.save()
        assert went == (before > 1e-6)
        assert weight_of(world, 0, placed(world, 0), int(after.sheet[0])) <= before + 1e-6
        assert (after.at[1:] == layout.at[1:]).all()
        moved += went
    assert moved > 5


def test_random_numbers_are_those_of_the_generator() -> None:
    world = world_of(stars(4, turn_group="g"))
    state, x = world.state._state, int(world.state._state.random)
    for _ in range(100):
        x = (x * 0x5DEECE66D + 11) % 2**48
        assert draws.draw(state) == x / 2**48
    shapes = world.shapes
    turn = shapes[placed(world, 0)[0]].angle
    drawn = {int(draws.pick_shape(state, 0, 0)) for _ in range(50)}
    assert drawn <= set(world.options_of(0, 0))
    assert {shapes[s].angle for s in drawn} == {turn}
    assert len(drawn) == 2  # flipped and not


def test_a_full_list_still_sums_up(world: World) -> None:
    state = world.state._state
    throw(world, random.Random(14))
    total, room = world.overlap(), world.state._arrays["overlaps"].size
    for k in range(room + 5):
        overlaps.note(state, 0, 1, 2.0)
        assert state.overlap_count <= room, k
    assert state.total == pytest.approx(total + 2.0 * (room + 5))
    assert overlaps.relist_overlaps(state) == pytest.approx(total)  # what was forgotten is found


def test_weights_grow_by_depth_and_fade(world: World) -> None:
    state, n = world.state._state, world.items
    dice = random.Random(15)
    for _ in range(6):
        throw(world, dice)
        world.overlap()
        listed = world.state._arrays["overlaps"][: state.overlap_count]
        want = np.maximum(weights_of(world) * state.decay, 1.0)
        for depth, i, j in listed:
            grow = 1.05 + (1.4 - 1.05) * depth / listed["depth"].max()
            want[i, j] *= grow / state.decay
            if j < n:
                want[j, i] = want[i, j]
        heavier.reweigh(state)
        assert weights_of(world) == pytest.approx(want, rel=1e-5)
        for i in range(n):
            heavier.look_at(state, i)
            assert world.state._arrays["own"] == pytest.approx(want[i], rel=1e-5)
        members = {int(i) for _, *pair in listed for i in pair if i < n}
        count = separation.shuffle_overlapping(state)
        assert sorted(world.state._arrays["order"][:count]) == sorted(members)
    separation.keep(state)
    kept, now = world.state.layout(least=True), world.save()
    assert (kept.at == now.at).all()
    assert (kept.shape == now.shape).all()
    world.state.start(7)
    assert (weights_of(world) == 1.0).all()
    assert (world.state._arrays["own"] == 1.0).all()
    assert (state.since, state.patience) == (0, 7)


def test_a_separation_ends_apart_or_stalled(world: World) -> None:
    dice, state = random.Random(16), world.state
    throw(world, dice)
    state.start(200)
    for _ in range(200):
        ending = state.separate(5_000)
        if ending:
            break
    assert ending.name == "APART"
    layout = world.save()
    for i in range(world.items):
        for j, other in others(world, i, int(layout.sheet[i])):
            if j == world.items or layout.sheet[j] == layout.sheet[i]:
                assert depths_of(world, placed(world, i), other).max() < 1e-6
    world.set_length(0.3 * world.length)
    world.load(throw(world, dice))
    state.start(3)
    endings = [state.separate(1), *(state.separate(10**6) for _ in range(1))]
    assert [e.name for e in endings] in (
        ["GOING", "STALLED"],
        ["APART", "APART"],
        ["GOING", "APART"],
    )
