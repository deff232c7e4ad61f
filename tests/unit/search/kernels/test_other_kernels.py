"""Kernels of outlines, turns and skylines beside plain twins, on random cases."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from nesting.search.kernels import rings, skyline, turned

# ---------------------------------------------------------------- rings


def blob(dice: np.random.Generator, corners: int) -> np.ndarray:
    """Return a star-shaped ring about (0, 0), counter-clockwise."""
    angles = np.sort(dice.uniform(0, 2 * math.pi, corners))
    return dice.uniform(3, 10, corners)[:, None] * np.stack([np.cos(angles), np.sin(angles)], 1)


def test_a_point_in_a_triangle() -> None:
    dice = np.random.default_rng(1)
    for _ in range(200):
        p, a, b, c = dice.uniform(0, 10, (4, 2))
        want = Polygon([a, b, c]).contains(Point(p))
        assert rings.inside(*p, *a, *b, *c) == rings.inside(*p, *c, *b, *a) == want


def test_what_a_ring_gains_by_a_corner_or_an_edge_less() -> None:
    dice, seen = np.random.default_rng(2), set()
    for _ in range(40):
        ring = blob(dice, 9)
        whole = Polygon(ring)
        for i in range(9):
            area, height, *corner = rings.removal(ring, 9, i, math.inf)
            p, q, r = ring[i - 1], ring[i], ring[(i + 1) % 9]
            turn = np.linalg.det([q - p, r - q])
            if not math.isfinite(area):
                assert turn > 0
                seen.add("never")
            elif turn <= 0:
                assert area == pytest.approx(Polygon([p, q, r]).area)
                assert height == pytest.approx(2 * area / math.dist(p, r))
                seen.add("corner")
            else:
                assert area == pytest.approx(Polygon([q, corner, r]).area)
                assert height == pytest.approx(2 * area / math.dist(q, r))
                assert not whole.contains(Point(corner).buffer(-1e-9))
                seen.add("edge")
    assert seen == {"never", "corner", "edge"}


def test_a_simplified_ring_holds_the_ring_and_little_more() -> None:
    dice = np.random.default_rng(3)
    for _ in range(40):
        ring = blob(dice, 14)
        whole = Polygon(ring)
        found = rings.simplify(ring, 0.05 * whole.area, 2.0, 3)
        more = Polygon(found)
        assert 3 <= len(found) <= len(ring)
        assert more.is_valid
        assert more.buffer(1e-9).contains(whole)
        assert more.area <= 1.05 * whole.area + 1e-9
        assert rings.simplify(ring, 0.0, 0.0, 3).shape[0] >= len(found)


# ---------------------------------------------------------------- turns


def hull(dice: np.random.Generator) -> np.ndarray:
    """Return a random convex ring, counter-clockwise."""
    return np.array(Polygon(blob(dice, 7)).convex_hull.exterior.coords)[:-1][::-1].copy()


def facing(one: np.ndarray, two: np.ndarray) -> tuple[float, int]:
    """Return the widest gap beyond an edge of a convex ring to another, and the edge."""
    ahead = np.roll(one, -1, axis=0) - one
    normal = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1) / np.hypot(*ahead.T)[:, None]
    gaps = (normal @ two.T).min(axis=1) - (normal * one).sum(axis=1)
    return float(gaps.max()), int(gaps.argmax())


def ccw(ring: np.ndarray) -> np.ndarray:
    return ring if Polygon(ring).exterior.is_ccw else ring[::-1].copy()


def test_the_edge_that_separates_best() -> None:
    dice = np.random.default_rng(4)
    for _ in range(60):
        one, two = ccw(hull(dice)), ccw(hull(dice))
        off = dice.uniform(-25, 25, 2)
        xy = np.concatenate([one, two])
        n = len(one)
        gap, edge, corner = turned.best_edge(xy, 0, n, n, len(xy), *off)
        assert (gap, edge) == pytest.approx(facing(one, two + off))
        assert n <= corner < len(xy)


def test_rows_say_how_gaps_change_with_turns() -> None:
    """Against the gap of one corner and one edge after a small turn of either item."""
    dice, met = np.random.default_rng(5), 0
    first = np.array([0, 0, 0])
    for _ in range(60):
        one, two = ccw(hull(dice)), ccw(hull(dice))
        at = np.array([[0.0, 0.0], dice.uniform(-16, 16, 2)])
        xy = np.concatenate([one, two])
        first = np.array([0, len(one), len(xy)])
        of = np.array([[0, 1, 1, 1], [1, 2, 2, 2]])
        own, moved, reach = np.array([-1, -1]), np.array([False, True]), 3.0
        pairs, rows = np.empty((400, 2), np.int64), np.empty((400, 5))
        count = turned.turning_rows(xy, first, of, at, own, moved, reach, pairs, rows)
        gap = max(facing(one, two + at[1])[0], facing(two + at[1], one)[0])
        if count == 0:
            assert gap > reach or not near(one, two + at[1], reach)
            continue
        met += 1
        assert rows[:count, 4].min() == pytest.approx(gap, abs=1e-9)
        assert np.hypot(*rows[:count, :2].T) == pytest.approx(1.0)
        small = 1e-6
        for item in (0, 1):
            spun = [one, two]
            spun[item] = spun[item] @ np.array([[1, small], [-small, 1]])
            xy = np.concatenate(spun)
            after = np.empty((400, 5))
            again = turned.turning_rows(xy, first, of, at, own, moved, reach, pairs, after)
            if again == count:
                change = (after[:count, 4] - rows[:count, 4]) / small
                assert change == pytest.approx(rows[:count, 2 + item], abs=1e-3)
        assert turned.turning_rows(xy, first, of, at, own, moved, 1e3, pairs[:1], rows[:1]) == -1
        still = np.array([False, False])
        assert turned.turning_rows(xy, first, of, at, own, still, 1e3, pairs, rows) == 0
    assert met > 20


def near(one: np.ndarray, two: np.ndarray, reach: float) -> bool:
    """Tell whether two rings' boxes are no farther apart than that along either axis."""
    return bool(
        (one.min(0) <= two.max(0) + reach).all() and (two.min(0) <= one.max(0) + reach).all()
    )


# ---------------------------------------------------------------- skylines

ROOM = skyline.Room(
    np.array([[4, 6, 0], [6, 4, 0], [3, 5, 1], [2, 2, 2]], np.int64),
    np.array([1.0, 2.0, 3.0, 4.0]), np.array([2, 1, 1]), np.array([7, 8, 9], np.uint64),
    12, 10, 60,
)  # fmt: skip


def heights(xs: np.ndarray, ys: np.ndarray, n: int) -> list[int]:
    """Return the skyline's level above each unit of the base."""
    ends = [*xs[1:n], ROOM.base]
    return [int(y) for x, end, y in zip(xs, ends, ys, strict=False) for _ in range(x, end)]


def steps(levels: list[int]) -> tuple[np.ndarray, np.ndarray, int]:
    """Return the steps of a skyline, with room for two more."""
    starts = [i for i, y in enumerate(levels) if i == 0 or levels[i - 1] != y]
    xs, ys = np.zeros(20, np.int64), np.zeros(20, np.int64)
    xs[: len(starts)], ys[: len(starts)] = starts, [levels[i] for i in starts]
    return xs, ys, len(starts)


def random_levels(dice: np.random.Generator) -> list[int]:
    return np.repeat(dice.integers(0, 8, 6), 2).tolist()


def gap_of(levels: list[int]) -> tuple[int, int]:
    """Return where the leftmost of the lowest steps begins and ends."""
    start = levels.index(min(levels))
    end = start
    while end < len(levels) and levels[end] == levels[start]:
        end += 1
    return start, end


def test_the_lowest_gap_is_filled_or_given_up() -> None:
    dice = np.random.default_rng(6)
    for _ in range(100):
        levels = random_levels(dice)
        start, end = gap_of(levels)
        xs, ys, n = steps(levels)
        assert xs[skyline._lowest(ys, n)] == start
        if levels != [levels[0]] * len(levels):
            beside = [*levels[max(start - 1, 0) : start], *levels[end : end + 1]]
            want = levels[:start] + [min(beside)] * (end - start) + levels[end:]
            m, waste = skyline._lift(xs, ys, n, ROOM)
            assert heights(xs, ys, m) == want
            assert waste == sum(want) - sum(levels)
        for right in (False, True):
            xs, ys, n = steps(levels)
            way = ROOM.ways[3]
            m, x, y = skyline._put(xs, ys, n, way, right, ROOM)
            at = end - 2 if right else start
            want = levels[:at] + [levels[at] + 2] * 2 + levels[at + 2 :]
            assert (x, y) == (at, levels[at])
            assert heights(xs, ys, m) == want
            assert m == steps(want)[2]


def test_steps_are_dropped_and_merged() -> None:
    xs, ys, n = steps([1, 1, 3, 3, 2, 2])
    assert (skyline._drop(xs, ys, n, 1), xs[:2].tolist(), ys[:2].tolist()) == (2, [0, 4], [1, 2])
    xs, ys = np.array([0, 2, 4, 9]), np.array([5, 5, 5, 1])
    assert skyline._merge(xs, ys, 4, 1) == 2
    assert (xs[:2].tolist(), ys[:2].tolist()) == ([0, 9], [5, 1])


def test_the_narrowest_two_and_what_surely_fits_not() -> None:
    dice = np.random.default_rng(7)
    for _ in range(100):
        left = dice.integers(0, 3, 3)
        widths = sorted(
            (int(ROOM.ways[ROOM.ways[:, 2] == kind, 0].min()), kind) for kind in range(3)
            for _ in range(left[kind])
        )  # fmt: skip
        one, _ = skyline._two_narrowest(left, ROOM.ways)
        assert one == (widths[0][0] if widths else 1 << 60)
        xs, ys, n = steps(random_levels(dice))
        above = [ROOM.wall - y for y in heights(xs, ys, n)]

        def stands(width: int, height: int, above=above) -> bool:
            return any(min(above[k : k + width]) >= height for k in range(len(above) - width + 1))

        somewhere = all(
            any(stands(w, h) for w, h, k in ROOM.ways if k == kind)
            for kind in range(3) if left[kind]
        )  # fmt: skip
        if skyline._fits(xs, ys, n, left, ROOM) and left.sum() == 1:
            tall = [h for _, h, k in ROOM.ways if left[k]]
            assert somewhere or min(tall) <= (ROOM.wall - max(ys[:n])) // 2
        elif left.sum() == 1:
            assert not somewhere


def test_hashes_are_mixed_and_known_again() -> None:
    def mixed(a: int) -> int:
        for factor in (0xFF51AFD7ED558CCD, 0xC4CEB9FE1A85EC53):
            a = ((a ^ (a >> 33)) * factor) % 2**64
        return a ^ (a >> 33)

    table, known = np.zeros((64, 2), np.uint64), set()
    for n in range(200):
        value = n * 7919 % 40
        assert int(skyline._mix(np.uint64(value))) == mixed(value)
        assert skyline._known(table, np.uint64(1), np.uint64(value)) == (value in known)
        known.add(value)
    assert not skyline._known(table, np.uint64(2), np.uint64(0))


def test_children_fill_the_lowest_gap_and_grow_into_states() -> None:
    """One state, bred by hand: each way that fits, at either end of the gap."""
    states, new = (
        skyline.States(
            np.zeros((9, 20), np.int64), np.zeros((9, 20), np.int64), np.zeros(9, np.int64),
            np.zeros((9, 3), np.int32), np.zeros(9, np.int64), np.zeros(9), np.zeros(9, np.uint64),
        )
        for _ in range(2)
    )  # fmt: skip
    states.x[0, :2], states.y[0, :2], states.steps[0] = (0, 7), (1, 3), 2
    states.left[0] = 1, 1, 0
    children = skyline.Children(np.zeros(30), *(np.zeros(30, np.int64) for _ in range(4)))
    count = skyline.breed(states, 1, ROOM, children, np.array([0.5, 0.0]), True, np.uint64(1))
    made = {
        (int(w), int(r)) for w, r in zip(children.way[:count], children.right[:count], strict=True)
    }
    assert made == {(way, right) for way in (0, 1, 2) for right in (0, 1)}
    assert children.lifts[:count].tolist() == [0] * count
    trail = skyline.Trail(*(np.zeros(9, np.int64) for _ in range(4)))
    order, table = np.argsort(children.score[:count]), np.zeros((64, 2), np.uint64)
    grown = skyline.grow(states, order, children, ROOM, new, trail, table, 1)
    assert 0 < grown <= count
    laid = {(int(trail.way[k]), int(trail.x[k]), int(trail.y[k])) for k in range(grown)}
    assert laid <= {(0, 0, 1), (0, 3, 1), (1, 0, 1), (1, 1, 1), (2, 0, 1), (2, 4, 1)}
    for k in range(grown):
        kind = ROOM.ways[trail.way[k], 2]
        assert new.left[k].tolist() == [1 - (kind == 0), 1 - (kind == 1), 0]
        area = sum(heights(new.x[k], new.y[k], new.steps[k]))
        box = math.prod(ROOM.ways[trail.way[k], :2])
        assert area == 7 * 1 + 5 * 3 + box + new.waste[k]
