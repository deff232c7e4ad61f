"""Every kernel beside a plain twin that says what it computes, on random cases."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest
from numba import njit

from nesting.marker.lay import Binding, Edge, Lattice, Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search import problem as made
from nesting.search.kernels import (
    bottom_left,
    overlaps,
    pairs,
    places,
    rows,
    separation,
    tables,
    touching,
    weighing,
)
from nesting.search.prepared.arrays import Store
from nesting.search.prepared.forms import turned
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World

TURNS = Turns(angles=(0.0, 90.0, 200.0))


def star(name: str, points: int, radius: float, **rules: object) -> Part:
    """Return a star, which is of several convex parts."""
    angles = [math.pi * n / points for n in range(2 * points)]
    reach = [radius if n % 2 else 0.45 * radius for n in range(2 * points)]
    ring = [(r * math.cos(a), r * math.sin(a)) for a, r in zip(angles, reach, strict=True)]
    piece = Piece(name=name, cut=Path.polyline(ring, closed=True))
    return Part(name=name, piece=piece, **{"turns": TURNS, "flip": True} | rules)


def world_of(parts: list[Part], *, sheets: bool = False, meetings: int = 10**9) -> World:
    """Return parts laid on a strip, or on hides with slanting edges, with room to spare."""
    hide = Path.polyline([(0, 30), (300, 0), (420, 160), (380, 330), (40, 310)], closed=True)
    on = Sheets(sheets=(Sheet(name="hide", outline=hide, count=2),))
    lay = Lay(name="k", parts=tuple(parts), stock=on if sheets else Strip(width=300.0), spacing=1.0)
    store = Store(singles=400_000, ints=400_000, hits=meetings)
    problem, _ = made.prepare(lay, store=store)
    world = made.first_marker(problem, stop=lambda: False).world
    world.state.seed(5)
    if not sheets:
        world.set_length(1.2 * world.used_length(world.save()))
    return world


def throw(world: World, dice: random.Random) -> Layout:
    """Put everything anywhere; return the layout."""
    layout = world.save()
    for i in range(world.items):
        sheet = dice.randrange(len(world.sheets))
        options = world.options_of(i, sheet)
        layout.shape[i], layout.sheet[i] = dice.choice(options), sheet
        x0, y0, x1, y1 = world.state.domain(i, int(layout.shape[i]), sheet)
        layout.at[i] = dice.uniform(x0, x1), dice.uniform(y0, y1)
    world.load(layout)
    return world.save()


def stars(count: int, **rules: object) -> list[Part]:
    return [star(f"{n}", 3 + n % 3, 30.0 + 4 * (n % 4), **rules) for n in range(count)]


@pytest.fixture(params=[False, True], ids=["strip", "hides"])
def world(request: pytest.FixtureRequest) -> World:
    return world_of(stars(8), sheets=request.param)


# ---------------------------------------------------------------- plain twins


def rings_of(world: World, s: int, x: float, y: float, *, plain: bool = False) -> list[np.ndarray]:
    """Return the convex parts of a placed shape, or of an obstacle, counter-clockwise."""
    if s >= len(world.shapes):
        body, along = world._ground.placed[s - len(world.shapes)]
        return [np.add(ring, (along, 0.0)) for ring in world._ground.bodies[body]]
    shape = world.shapes[s]
    outline = world.outlines[shape.outline]
    parts = [np.add(turned(r, shape), (x, y)) for r in (outline.plain if plain else outline.parts)]
    return [ring[::-1] if shape.flipped else ring for ring in parts]


def normals_of(ring: np.ndarray) -> np.ndarray:
    """Return the outward normals of a ring's edges."""
    ahead = np.roll(ring, -1, axis=0) - ring
    return np.stack([ahead[:, 1], -ahead[:, 0]], axis=1) / np.hypot(*ahead.T)[:, None]


def depth_of(one: np.ndarray, two: np.ndarray) -> float:
    """Return how far two convex rings must move apart along a normal of either, at least."""
    normals = np.concatenate([normals_of(one), -normals_of(two)])
    return float(((normals @ one.T).max(axis=1) - (normals @ two.T).min(axis=1)).min())


def depths_of(world: World, one: tuple, two: tuple) -> np.ndarray:
    """Return the depths of all pairs of convex parts of two placed shapes (shape, x, y)."""
    (a, *p), (b, *q) = sorted((one, two), key=lambda o: o[0])
    region = b >= len(world.shapes)
    first, second = rings_of(world, a, *p, plain=region), rings_of(world, b, *q)
    return np.array([depth_of(r, t) for r in first for t in second])


def overlap_of(world: World, one: tuple, two: tuple) -> float:
    """Return the summed depths times the size factors of two placed shapes."""
    table = world.state._arrays["shapes"]["factor"]
    depths = depths_of(world, one, two)
    return float(depths[depths > 0.0].sum() * table[one[0]] * table[two[0]])


def placed(world: World, i: int) -> tuple:
    """Return an item's shape and position, or the obstacle on item `-sheet - 1`'s sheet."""
    layout = world.save()
    return int(layout.shape[i]), float(layout.at[i, 0]), float(layout.at[i, 1])


def obstacle_of(world: World, i: int, sheet: int) -> tuple | None:
    """Return what bounds an item on a sheet as (shape, x, y), if anything does."""
    arrays = world.state._arrays
    s = int(arrays["obstacles"][world.kinds.of[i] * len(world.sheets) + sheet])
    return None if s < 0 else (s, float(arrays["shapes"]["x"][s]), 0.0)


def others(world: World, i: int, sheet: int) -> list[tuple[int, tuple]]:
    """Return all that an item may meet on a sheet: its number, shape and position."""
    layout = world.save()
    found = [(j, placed(world, j)) for j in range(world.items) if j != i and layout.sheet[j] >= 0]
    bounds = obstacle_of(world, i, sheet)
    return found + ([(world.items, bounds)] if bounds else [])


# ---------------------------------------------------------------- tables


def test_tables_are_the_arrays_themselves(world: World) -> None:
    state, arrays = world.state._state, world.state._arrays
    throw(world, random.Random(1))
    for name in ("weights", "keys", "boxes", "order"):
        table = getattr(tables, f"{name}_of")

        @njit
        def ends(state, table=table):
            return table(state).size, table(state)[table(state).size - 1]

        assert ends(state) == (arrays[name].size, arrays[name][-1])

    @njit
    def rows(state, i, s):
        item, shape = tables.item_at(state, i), tables.shape_at(state, s)
        return item.x, item.sheet, shape.cos, tables.kind_of(state, i).phase

    item, shape = arrays["items"][3], arrays["shapes"][2]
    assert rows(state, 3, 2) == (item["x"], item["sheet"], shape["cos"], -1)
    assert tables.on_sheet(state, 3, 0) == world.kinds.of[3] * len(world.sheets)
    assert tables.weight_at(state, 2, 5) == 2 * (world.items + 1) + 5


# ---------------------------------------------------------------- pair records


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


@njit
def asked(state, key, x, y):
    return pairs.on_table(tables.pairs_of(state)[key], x, y)


@njit
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


# ---------------------------------------------------------------- places


def test_items_are_in_the_cells_of_their_middles() -> None:
    world = world_of(
        [*stars(210), Part(name="big", piece=Piece(name="big", cut=rectangle(700.0, 90.0)))]
    )
    state, arrays, dice = world.state._state, world.state._arrays, random.Random(6)
    layout = throw(world, dice)
    for i in (3, 77):
        world.state.remove(i)
    want: dict[int, set[int]] = {}
    for i in set(range(210)) - {3, 77}:
        box = world.grown[layout.shape[i]]
        x, y = layout.at[i] + 0.5 * (box[:2] + box[2:])
        cx = min(max(int((x - state.origin_x) / state.cell), 0), state.grid_x - 1)
        cy = min(max(int((y - state.origin_y) / state.cell), 0), state.grid_y - 1)
        want.setdefault(cy * int(state.grid_x) + cx, set()).add(i)
        assert places.cell_of(state, x, y) == cy * state.grid_x + cx
    for cell, i in enumerate(arrays["heads"]):
        found = set()
        while i >= 0:
            found.add(int(i))
            i = arrays["items"]["after"][i]
        assert found == want.get(cell, set())
    assert arrays["items"]["cell"][210] == tables.BIG
    check_neighbours(world, layout, dice)


def test_neighbours_are_the_boxes_that_overlap(world: World) -> None:
    dice = random.Random(7)
    for _ in range(10):
        check_neighbours(world, throw(world, dice), dice)


def check_neighbours(world: World, layout: Layout, dice: random.Random) -> None:
    state, lists = world.state._state, world.state._arrays["neighbours"]
    boxes = np.tile(world.save().at, 2) + world.grown[layout.shape]
    on = world.save().sheet >= 0
    for i in dice.sample(range(world.items), 8):
        s, x, y = placed(world, i)
        mine = world.grown[s] + (x, y, x, y)
        hit = (boxes[:, :2] < mine[2:]).all(axis=1) & (boxes[:, 2:] > mine[:2]).all(axis=1) & on
        hit[i] = False
        bounds = obstacle_of(world, i, int(layout.sheet[i]))
        count, obstacle = places.around(state, i, s, int(layout.sheet[i]), x, y)
        near = [int(j) for j in lists[:count]]
        assert obstacle == (bounds[0] if bounds else -1)
        assert sorted(near) == [*np.flatnonzero(hit), *([world.items] if bounds else [])]
        for j, other in others(world, i, int(layout.sheet[i])):
            assert places.neighbour(state, j, obstacle) == other


def test_the_nearest_number_on_a_grid() -> None:
    dice = random.Random(8)
    for _ in range(200):
        period, origin, off = dice.uniform(2, 9), dice.uniform(-5, 5), dice.uniform(0, 0.9)
        low = dice.uniform(-20, 10)
        value, high = dice.uniform(low, low + 12), low + 12
        near = [origin + n * period for n in range(-40, 40)]
        good = [
            v
            for c in near
            for v in np.clip([low, high, value, c - off, c + off], c - off, c + off)
            if low <= v <= high
        ]
        want = min(good, key=lambda v: abs(v - value))
        got = places.nearest_on(value, period, origin, off, low, high, 0.0)
        assert low <= got <= high
        assert min(abs(got - c) for c in near) <= off + 1e-9
        assert abs(got - value) == pytest.approx(abs(want - value), abs=period)
        if low <= min(near, key=lambda c: abs(c - value)) <= high:
            assert abs(got - value) == pytest.approx(abs(want - value))


@pytest.mark.parametrize("edge", [None, Edge.LOW, Edge.HIGH])
def test_an_admitted_place_is_in_the_domain_and_on_the_lattice(edge: Edge | None) -> None:
    grid = Lattice(along=37.0, across=23.0, drop=0.5, origin=(4.0, 2.0), tolerance=1.5)
    held = Binding(anchor=(3.0, 1.0), lattice=grid, phase="p")
    free = [star(f"free {n}", 4, 30.0, edge=edge) for n in range(3)]
    world = world_of([*free, *stars(4, binding=held, flip=False)])
    world.state.phases = np.array([7.0, 5.0])
    dice, x1 = random.Random(9), world._ground.boxes[0, 0] + world.length
    for _ in range(100):
        i = dice.randrange(world.items)
        s = dice.choice(world.options_of(i, 0))
        left, bottom, right, top = world.true[s]
        low, high = np.array([-left, -bottom]), np.array([x1 - right, 300.0 - top])
        if i < 3 and edge is Edge.LOW:
            high[1] = low[1]
        if i < 3 and edge is Edge.HIGH:
            low[1] = high[1]
        assert world.state.domain(i, s, 0) == pytest.approx((*low, *high))
        x, y = dice.uniform(-50, x1 + 50), dice.uniform(-50, 350)
        ok, *at = world.state.admit(i, s, 0, x, y)
        assert ok
        assert (at >= low - 1e-6).all()
        assert (at <= high + 1e-6).all()
        if i < 3:
            assert at == pytest.approx(np.clip([x, y], low, high))
            continue
        shape = world.shapes[s]
        centre = np.array(world.outlines[shape.outline].centre)
        anchor = turned(np.array([held.anchor]) - centre, shape)[0] + at
        origin = places.lattice_origin(world.state._state, i, s)
        assert anchor - np.array(at) + origin == pytest.approx([11.0, 7.0])
        assert max(map(abs, grid_off(anchor, grid, (7.0, 5.0)))) <= grid.tolerance + 1e-6
        world.state.put(i, s, 0, *at)
        off = world.state.off_lattice(i, np.array(at))
        assert np.abs(off) == pytest.approx(np.abs(grid_off(anchor, grid, (7.0, 5.0))), abs=1e-9)


def grid_off(anchor: np.ndarray, grid: Lattice, phase: tuple[float, float]) -> tuple[float, float]:
    """Return how far a point is from the nearest row and from the nearest point of it."""
    x, y = anchor - np.array(grid.origin) - np.array(phase)
    row = round(y / grid.across)
    x -= grid.drop * grid.along * (row % 2)
    return x - grid.along * round(x / grid.along), y - grid.across * row


# ---------------------------------------------------------------- weighing


def weight_of(world: World, i: int, one: tuple, sheet: int) -> float:
    """Return what a place of an item weighs: overlaps and distances from mates."""
    weights = world.state._arrays["weights"].reshape(world.items, -1)
    near = [(j, o) for j, o in others(world, i, sheet)]
    total = sum(float(weights[i, j]) * overlap_of(world, one, other) for j, other in near)
    state, layout, part = world.state._state, world.save(), world.lay.parts[i]
    for j, other in enumerate(world.lay.parts):
        if part.mates is None or other.mates != part.mates or j == i:
            continue
        if layout.sheet[j] != sheet:
            total += float(weights[i, j]) * state.apart
        else:
            total += state.pull * float(np.abs(layout.at[j] - one[1:]).sum())
    return total


@pytest.mark.parametrize("mates", [False, True])
def test_a_place_weighs_its_overlaps_and_its_mates_distance(mates: bool) -> None:
    parts = [star(f"{n}", 3 + n % 3, 30.0, mates=f"m{n // 2}" if mates else None) for n in range(8)]
    world = world_of(parts, sheets=True)
    state, dice = world.state._state, random.Random(10)
    weights = world.state._arrays["weights"]
    for _ in range(20):
        layout = throw(world, dice)
        weights[:] = np.array([dice.choice([1.0, 2.5]) for _ in weights])
        i = dice.randrange(8)
        sheet, one = int(layout.sheet[i]), placed(world, i)
        want = weight_of(world, i, one, sheet)
        before = state.weighed
        s, x, y = one
        assert weighing.weigh(state, i, s, sheet, x, y, tables.FAR) == pytest.approx(want, abs=1e-6)
        if not mates:
            assert weighing.weigh(state, i, s, sheet, x, y, 0.5 * want) >= 0.5 * want - 1e-6
            assert state.weighed == before + 2


# ---------------------------------------------------------------- moves


def test_moves_end_one_overlap_or_two() -> None:
    dice = np.random.default_rng(11)
    for _ in range(50):
        angles, depth = dice.uniform(0, 2 * math.pi, 3), dice.uniform(0.1, 3.0, 3)
        normal = np.stack([np.cos(angles), np.sin(angles)], axis=1)
        found = tuple((float(9 - k), depth[k], *normal[k]) for k in range(3))
        for m, ends in enumerate([(0,), (1,), (0, 1), (0, 2), (0,), (0,), ()]):
            there, u, v = touching.move(m, *found)
            if there:
                for k in ends:
                    assert normal[k] @ (u, v) == pytest.approx(depth[k])
            if m == 4 and there:
                assert v == 0.0
            if m == 5 and there:
                assert u == 0.0


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
            separation.offer(state, 0, s, sheet, x, y)
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
        went = separation.relocate(state, 0)
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
        assert separation.draw(state) == x / 2**48
    shapes = world.shapes
    turn = shapes[placed(world, 0)[0]].angle
    drawn = {int(separation.pick_shape(state, 0, 0)) for _ in range(50)}
    assert drawn <= set(world.options_of(0, 0))
    assert {shapes[s].angle for s in drawn} == {turn}
    assert len(drawn) == 2  # flipped and not


# ---------------------------------------------------------------- separation


def test_a_full_list_still_sums_up(world: World) -> None:
    state = world.state._state
    throw(world, random.Random(14))
    total, room = world.overlap(), world.state._arrays["overlaps"].size
    for k in range(room + 5):
        overlaps.note(state, 0, 1, 2.0)
        assert state.overlap_count <= room, k
    assert state.total == pytest.approx(total + 2.0 * (room + 5))


def test_weights_grow_by_depth_and_fade(world: World) -> None:
    state, n = world.state._state, world.items
    weights = world.state._arrays["weights"].reshape(n, n + 1)
    dice = random.Random(15)
    for _ in range(6):
        throw(world, dice)
        world.overlap()
        listed = world.state._arrays["overlaps"][: state.overlap_count]
        want = np.maximum(weights.astype(float) * state.decay, 1.0)
        for depth, i, j in listed:
            grow = 1.05 + (1.4 - 1.05) * depth / listed["depth"].max()
            want[i, j] *= grow / state.decay
            if j < n:
                want[j, i] = want[i, j]
        separation.reweigh(state)
        assert weights == pytest.approx(want, rel=1e-5)
        members = {int(i) for _, *pair in listed for i in pair if i < n}
        count = separation.shuffle_overlapping(state)
        assert sorted(world.state._arrays["order"][:count]) == sorted(members)
    separation.keep(state)
    kept, now = world.state.layout(least=True), world.save()
    assert (kept.at == now.at).all()
    assert (kept.shape == now.shape).all()
    world.state.start(7)
    assert (weights == 1.0).all()
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


# ---------------------------------------------------------------- first markers


def test_forbidden_intervals_are_where_shapes_overlap(world: World) -> None:
    state, dice, seen = world.state._state, random.Random(17), set()
    out = np.empty((500, 2))
    for _ in range(30):
        layout = throw(world, dice)
        s, x, y = one = placed(world, 0)
        for axis in (bottom_left.ALONG, bottom_left.ACROSS):
            for _, other in others(world, 0, int(layout.sheet[0])):
                count = bottom_left.forbid(state, one, other, axis, out, 0)
                for t in (dice.uniform(0, 400) for _ in range(5)):
                    there = (s, t, y) if axis == bottom_left.ALONG else (s, x, t)
                    deep = depths_of(world, there, other).max()
                    inside = any(low < t < high for low, high in out[:count])
                    if abs(deep) > 1e-5:
                        assert inside == (deep > 0)
                        seen.add(inside)
    assert seen == {True, False}


def test_an_item_slides_past_what_is_in_its_way_and_sinks_up_to_it(world: World) -> None:
    state, dice = world.state._state, random.Random(18)
    out = np.empty((500, 2))
    for _ in range(15):
        layout = throw(world, dice)
        sheet, own = int(layout.sheet[0]), placed(world, 0)
        s, x, y = own
        on = [o for j, o in others(world, 0, sheet) if j == world.items or layout.sheet[j] == sheet]

        def deep(x: float, y: float, on=on, s=s) -> float:
            return max((depths_of(world, (s, x, y), o).max() for o in on), default=-1.0)

        free = bottom_left.slide(state, 0, own, sheet, bottom_left.ALONG, x, out)
        assert free >= x
        assert deep(free, y) < 1e-5
        if free > x:
            assert all(deep(u, y) > -1e-5 for u in np.linspace(x, free, 5)[:-1])
        low = bottom_left.sink(state, 0, (s, free, y), sheet, bottom_left.ACROSS, -50.0, out)
        assert low <= y
        assert all(deep(free, v) < 1e-5 for v in np.linspace(low, y, 5))
        assert low == -50.0 or deep(free, low) > -1e-5


def test_lines_run_from_edge_to_edge_and_stack_from_either() -> None:
    lines = [bottom_left.line_at(n, 3, 2, 10.0, 0.0, 50.0) for n in range(7)]
    assert lines == [0.0, 25.0, 50.0, 0.0, 10.0, 50.0, 40.0]
    assert bottom_left.cut(-1.0, 9.0, 4.0, 2.0) == (-1.0, 2.0)
    assert bottom_left.cut(-9.0, 9.0, 4.0, -2.0) == (-2.0, 9.0)
    assert bottom_left.cut(-1.0, 9.0, -4.0, 0.0)[1] < -1e299


@pytest.mark.parametrize("bound", [False, True])
def test_an_item_is_laid_where_it_overlaps_nothing_and_can_go_no_farther(bound: bool) -> None:
    grid = Lattice(along=11.0, across=7.0, tolerance=0.2)
    rules = {"binding": Binding(anchor=(0.0, 0.0), lattice=grid)} if bound else {}
    world = world_of(stars(6, flip=False, **rules))
    state, out = world.state._state, np.empty((500, 2))
    layout = world.save()
    for i in range(6):
        one, on = placed(world, i), [o for j, o in others(world, i, 0) if j < i]
        assert all(depths_of(world, one, o).max() < 1e-6 for o in on)
        ok, y = bottom_left.on_lattice(state, i, one[0], 0, one[2], (one[1], one[1]))
        assert ok
        assert y == pytest.approx(one[2])
        if bound:
            u = bottom_left.next_admissible(state, i, one[0], 0, one[1] + 0.5, y)
            assert one[1] + 0.5 - 1e-6 <= u <= one[1] + 0.5 + grid.along
            free = bottom_left.first_free(state, i, (one[0], 0.0, y), 0, 10_000.0, out)
            assert world.state.admit(i, one[0], 0, free, y)[1] == pytest.approx(free)
    assert layout.sheet.tolist() == [0] * 6


# ---------------------------------------------------------------- rows


def test_rows_are_the_gaps_of_near_convex_parts(world: World) -> None:
    state, dice, met = world.state._state, random.Random(19), 0
    for _ in range(5):
        layout = throw(world, dice)
        found = world.state.rows(8.0)
        for i in range(world.items):
            for j, other in others(world, i, int(layout.sheet[i])):
                if j < i:
                    continue
                mine = np.flatnonzero((found.pairs == (i, j)).all(axis=1))
                depths = depths_of(world, placed(world, i), other)
                assert set(np.round(found.gaps[mine], 6)) <= set(np.round(-depths, 6))
                assert (depths > 1e-6).sum() <= (found.gaps[mine] < 0).sum()
                met += len(mine)
    assert met > 50
    assert np.hypot(*found.normals.T) == pytest.approx(1.0)
    none = np.empty((1, 2), dtype=np.int64), np.empty((1, 3))
    assert rows.all_rows(state, 8.0, *none) == -1
