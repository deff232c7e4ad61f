"""Compaction by linear programming.

Between near convex parts the half-plane that separates them best stays fixed; that makes
moving all items at once a linear program. It is solved within a trust region, the
half-planes are chosen anew, and again (Li and Milenkovic 1995, EJOR 84, 539-561).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import highspy
import numpy as np

from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.squeezing.linear import Ints, solve

__all__ = ["compact", "repair"]

_APART = 2e-7
"""How far items are kept from touching, in a program's own unit: more than its rounding."""

Clock = Callable[[], float]
"""Tells how many seconds are left."""


def endless() -> float:
    """Say that there is time without end."""
    return math.inf


def _step(
    world: World,
    *,
    trust: float,
    elastic: bool,
    scale: float,
    left: Clock,
    shorter: float = 0.0,
    tight: bool = False,
) -> float | None:
    """Solve one program and move all items; return its objective in mm.

    `tight`: what touches may go on doing so, though rounding may come in between.

    `elastic`: overlaps are allowed and as little as can be, at the present length, or as
    short as can be if `shorter` says what a mm of length counts for.
    """
    n = world.items
    state = world.state
    rows = state.rows(2.0 * trust)
    m = len(rows.gaps)
    now = world.save()
    at = now.at
    low, high, extra, links = _bounds(world, now, trust)
    last = len(world.sheets) - 1
    on_last = np.flatnonzero(now.sheet == last)
    columns = 2 * n + 1 + extra  # moves, length, phases
    total = columns + (m if elastic else 0)
    cost = np.zeros(total)
    lo, hi = np.zeros(total), np.zeros(total)
    lo[: 2 * n], hi[: 2 * n] = low.ravel(), high.ravel()
    lo[2 * n], hi[2 * n] = 0.0, world.length
    lo[2 * n + 1 : columns], hi[2 * n + 1 : columns] = -trust, trust
    if elastic:
        cost[columns:], hi[columns:] = 1.0, highspy.kHighsInf
        cost[2 * n] = shorter
        lo[2 * n] = world.length if shorter <= 0.0 else 0.0
    else:
        cost[2 * n] = 1.0
    # gap + normal · (move of j - move of i) >= 0; the region does not move
    fixed = rows.pairs[:, 1] == n
    index = np.stack(
        [2 * rows.pairs[:, 0], 2 * rows.pairs[:, 0] + 1, 2 * rows.pairs[:, 1],
         2 * rows.pairs[:, 1] + 1], axis=1,
    )  # fmt: skip
    value = np.concatenate([-rows.normals, rows.normals], axis=1)
    keep = np.ones((m, 4), dtype=bool)
    keep[fixed, 2:] = False
    if elastic:
        index = np.concatenate([index, (columns + np.arange(m))[:, None]], axis=1)
        value = np.concatenate([value, np.full((m, 1), 1.0)], axis=1)
        keep = np.concatenate([keep, np.ones((m, 1), dtype=bool)], axis=1)
    counts = keep.sum(axis=1)
    # length - x - extent >= 0 on the last sheet
    ends = at[on_last, 0] + world.true[now.shape[on_last], 2]
    ends -= world.sheets[last].x + world.sheets[last].low
    index2 = np.stack([np.full(len(on_last), 2 * n), 2 * on_last], axis=1)
    value2 = np.tile([1.0, -1.0], (len(on_last), 1))
    index3, value3, low3 = links
    flat_index = np.concatenate([index[keep], index2.ravel(), index3.ravel()])
    flat_value = np.concatenate([value[keep], value2.ravel(), value3.ravel()])
    lengths = np.concatenate([counts, np.full(len(on_last) + len(low3), 2)]).astype(np.int64)
    apart = np.clip(rows.gaps * scale, 0.0, _APART) if tight else np.full(m, _APART)
    row_low = np.concatenate([-rows.gaps * scale + apart, ends * scale, low3 * scale])
    answer = solve(
        cost=cost, low=lo * scale, high=hi * scale, row_low=row_low,
        starts=np.concatenate([[0], np.cumsum(lengths)]), columns=flat_index, values=flat_value,
        seconds=0.5 * left(),
    )  # fmt: skip
    if answer is None:
        return None
    answer = answer / scale
    state.phases = state.phases + answer[2 * n + 1 : columns]
    for item in range(n):
        s, sheet = int(now.shape[item]), int(now.sheet[item])
        if sheet < 0:
            continue
        x, y = at[item, 0] + answer[2 * item], at[item, 1] + answer[2 * item + 1]
        ok, x, y = state.admit(item, s, sheet, x, y)
        if ok:
            state.put(item, s, sheet, x, y)
    return float(answer[columns:].sum()) if elastic else float(answer[2 * n])


def _bounds(
    world: World, now: Layout, trust: float
) -> tuple[Floats, Floats, int, tuple[Ints, Floats, Floats]]:
    """Return how far each item may move, the number of phase columns, and their rows.

    An axis that a lattice binds keeps its place within the tolerance; with a phase it moves
    with the phase, which two rows for each item and axis say.
    """
    n, at, state = world.items, now.at, world.state
    low, high = np.zeros((n, 2)), np.zeros((n, 2))
    index: list[tuple[int, int]] = []
    values: list[tuple[float, float]] = []
    least: list[float] = []
    for i in range(n):
        s, sheet = int(now.shape[i]), int(now.sheet[i])
        if sheet < 0:
            continue
        x0, y0, x1, y1 = state.domain(i, s, sheet)
        low[i] = np.minimum(np.maximum([x0 - at[i, 0], y0 - at[i, 1]], -trust), 0.0)
        high[i] = np.maximum(np.minimum([x1 - at[i, 0], y1 - at[i, 1]], trust), 0.0)
        part = world.kinds.parts[world.kinds.of[i]]
        if part.binding is None:
            continue
        grid = part.binding.lattice
        name = part.binding.phase
        off = state.off_lattice(i, at[i])
        for axis, period in enumerate((grid.along, grid.across)):
            if period is None:
                continue
            down, up = -grid.tolerance - off[axis], grid.tolerance - off[axis]
            if not name:
                low[i, axis] = min(max(low[i, axis], down), 0.0)
                high[i, axis] = max(min(high[i, axis], up), 0.0)
                continue
            column = 2 * n + 1 + 2 * world.phases.index(name) + axis
            index += [(2 * i + axis, column), (2 * i + axis, column)]
            values += [(1.0, -1.0), (-1.0, 1.0)]
            least += [down, -up]
    rows = (
        np.array(index, dtype=np.int64).reshape(-1, 2),
        np.array(values).reshape(-1, 2),
        np.array(least),
    )
    return low, high, 2 * len(world.phases), rows


def compact(
    world: World,
    *,
    steps: int = 8,
    ends: Callable[[], bool] = lambda: False,
    left: Clock = endless,
    tight: bool = False,
) -> Layout:
    """Squeeze the present layout, which must not overlap; return the shortest found.

    `left`: seconds left; no program may take more than half of them. `tight`: parts that fill
    the goods from edge to edge are no obstacle.
    """
    best = world.save()
    shortest = world.used_length(best)
    trust = _trust(world)
    scale = 1e4 / world.median
    shifts = world.state.phases
    for _ in range(steps):
        if ends() or left() <= 0.0:
            break
        got = _step(world, trust=trust, elastic=False, scale=scale, left=left, tight=tight)
        if got is None or world.overlap() > 0.0:
            break
        layout = world.save()
        length = world.used_length(layout)
        gain = shortest - length
        if gain > 0.0:
            best, shortest, shifts = layout, length, world.state.phases
        if gain < 1e-5 * shortest:
            break
    world.state.phases = shifts
    world.load(best)
    return best


def repair(world: World, *, steps: int = 6, shorter: float = 0.0, left: Clock = endless) -> bool:
    """Push slightly overlapping items apart; tell whether it worked.

    With `shorter` the length may be anything up to the world's: what a mm of it counts
    for beside a mm of overlap.
    """
    scale = 1e4 / world.median
    trust = _trust(world)
    before = np.inf
    for _ in range(steps):
        apart = _step(world, trust=trust, elastic=True, scale=scale, left=left, shorter=shorter)
        if apart is None:
            return False
        if world.overlap() <= 0.0:
            return True
        if apart > 0.75 * before:
            return False
        before = apart
    return False


def _trust(world: World) -> float:
    """Return how far items may move in one program (mm); less where each has many parts."""
    parts = sum(len(world.outlines[world.outline_of_kind[q]].parts) for q in world.kinds.of)
    return (0.15 if parts <= 10 * world.items else 0.06) * world.median
