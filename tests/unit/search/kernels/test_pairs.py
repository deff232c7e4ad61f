"""Tables and pair records beside plain twins, on random cases."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from nesting.search.kernels import (
    pairs,
    separation,
    tables,
    touching,
)
from nesting.search.kernels.whole import whole
from nesting.search.prepared.world import World
from tests.unit.search.kernels.twins import depths_of, others, overlap_of, placed, throw


def test_tables_are_the_arrays_themselves(world: World) -> None:
    state, arrays = world.state._state, world.state._arrays
    throw(world, random.Random(1))
    for name in ("own", "keys", "boxes", "order"):
        table = getattr(tables, f"{name}_of")

        @whole
        def ends(state, table=table):
            return table(state).size, table(state)[table(state).size - 1]

        assert ends(state) == (arrays[name].size, arrays[name][-1])

    @whole
    def rows(state, i, s):
        item, shape = tables.item_at(state, i), tables.shape_at(state, s)
        return item.x, item.sheet, shape.cos, tables.kind_of(state, i).phase

    item, shape = arrays["items"][3], arrays["shapes"][2]
    assert rows(state, 3, 2) == (item["x"], item["sheet"], shape["cos"], -1)
    assert tables.on_sheet(state, 3, 0) == world.kinds.of[3] * len(world.sheets)


def test_overlap_and_the_way_out_are_those_of_convex_parts(world: World) -> None:
    dice, state, met = random.Random(2), world.state._state, 0
    for _ in range(30):
        throw(world, dice)
        sheet = int(world.save().sheet[0])
        for _, other in others(world, 0, sheet):
            one = placed(world, 0)
            depths = depths_of(world, one, other)
            assert pairs.overlap(state, *one, *other) == pytest.approx(
                overlap_of(world, one, other), abs=1e-6
            )
            far, nx, ny, factor = touching.way_out(state, *one, *other)
            assert far == pytest.approx(max(depths.max(), 0.0), abs=1e-9)
            if far > 1e-6:
                met += 1
                shapes = world.state._arrays["shapes"]["factor"]
                assert factor == shapes[one[0]] * shapes[other[0]]
                away = (one[0], one[1] + far * nx, one[2] + far * ny)
                assert depths_of(world, away, other)[depths.argmax()] == pytest.approx(0, abs=1e-6)
    assert met > 20


def test_a_table_holds_summed_depths_and_lists_what_matters(world: World) -> None:
    dice, state = random.Random(3), world.state._state
    throw(world, dice)
    world.overlap()
    arrays = world.state._arrays
    some = [k for k in np.flatnonzero(arrays["pairs"]["blocks"]) if arrays["pairs"]["count"][k] > 1]
    before = {}
    for key in some[:4]:
        row = arrays["pairs"][key]
        points = [
            (dice.uniform(row["left"], row["right"]), dice.uniform(row["bottom"], row["top"]))
            for _ in range(40)
        ]
        before[key] = [(p, blocks_at(arrays, row, *p)) for p in points]
        separation.tabulate(state, key)
    assert len(before) > 1
    for key, points in before.items():
        row = arrays["pairs"][key]
        assert row["cells_x"] > 0
        table = arrays["depths"][row["depths"] :][: row["cells_x"] * row["cells_y"]]
        for cell in dice.sample(range(table.size), 30):
            x = row["left"] + (cell % row["cells_x"] + 0.5) / row["per_x"]
            y = row["bottom"] + (cell // row["cells_x"] + 0.5) / row["per_y"]
            depths = blocks_at(arrays, row, x, y)
            assert table[cell] == pytest.approx(depths[depths > 0].sum(), rel=1e-5, abs=1e-5)
        for (x, y), depths in points:
            gx, gy, cell = asked(state, key, x, y)
            lists = arrays["lists"]
            first, last = lists[row["lists"] + cell : row["lists"] + cell + 2]
            inside = depths[depths > 0].sum()
            if first == last:
                assert inside == 0.0
            elif lists[first] < 0:
                shown = bilinear(table.reshape(row["cells_y"], row["cells_x"]), gx, gy)
                assert between(state, key, gx, gy) == pytest.approx(shown, rel=1e-6)
            else:
                listed = [depth_in(arrays, q, x, y) for q in lists[first:last]]
                assert sum(d for d in listed if d > 0) == pytest.approx(inside, abs=1e-9)


def depth_in(arrays: dict, q: int, x: float, y: float) -> float:
    """Return how deep a point lies in a block."""
    blocks = arrays["blocks"]
    planes = blocks[q + pairs.PLANES :][: int(blocks[q]) * 12].reshape(-1, 3, 4)
    return float((planes[:, 2] - planes[:, 0] * x - planes[:, 1] * y).min())


def blocks_at(arrays: dict, row: np.void, x: float, y: float) -> np.ndarray:
    """Return how deep a point lies in each block of a record."""
    q, found = int(row["blocks"]), []
    for _ in range(row["count"]):
        found.append(depth_in(arrays, q, x, y))
        q += pairs.PLANES + 12 * int(arrays["blocks"][q])
    return np.array(found)


def bilinear(table: np.ndarray, gx: float, gy: float) -> float:
    """Return the value between the centres of cells; beyond the outermost theirs."""
    ny, nx = table.shape
    gx, gy = min(max(gx - 0.5, 0.0), nx - 1.000001), min(max(gy - 0.5, 0.0), ny - 1.000001)
    ix, iy = int(gx), int(gy)
    (a, b), (c, d) = table[iy : iy + 2, ix : ix + 2].astype(float)
    fx, fy = gx - ix, gy - iy
    return float((1 - fy) * ((1 - fx) * a + fx * b) + fy * ((1 - fx) * c + fx * d))


@whole
def asked(state, key, x, y):
    return pairs.on_table(tables.pairs_of(state)[key], x, y)


@whole
def between(state, key, gx, gy):
    return pairs.interpolated(state, tables.pairs_of(state)[key], gx, gy)


def test_records_take_no_more_than_is_reckoned_and_come_back(world: World) -> None:
    state, arrays = world.state._state, world.state._arrays
    throw(world, random.Random(4))
    total = world.overlap()
    assert arrays["pairs"]["blocks"].any()
    pairs.forget(state)
    assert not arrays["pairs"]["blocks"].any()
    assert state.room == arrays["blocks"].size - pairs.BEGIN
    keys = arrays["keys"].reshape(-1, int(state.shape_count))
    for a, b in itertools.combinations_with_replacement(range(0, int(state.item_shapes), 5), 2):
        if arrays["pairs"]["blocks"][keys[a, b]] == 0:
            before = int(state.room)
            pairs.write(state, a, b, int(keys[a, b]))
            assert 0 < before - state.room <= pairs.room_for(state, a, b)
    pairs.forget(state)
    assert world.overlap() == pytest.approx(total, rel=1e-12)
