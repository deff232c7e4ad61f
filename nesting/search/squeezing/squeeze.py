"""Compaction by linear programming.

Between near convex parts the half-plane that separates them best stays fixed; that makes
moving all items at once a linear program. It is solved within a trust region, the
half-planes are chosen anew, and again (Li and Milenkovic 1995, EJOR 84, 539-561).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.squeezing.linear import solve
from nesting.search.squeezing.program import program_of

__all__ = ["compact", "repair", "trust_of"]

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
    """Solve one program and move all items; return its objective in mm (see `program_of`)."""
    n, state = world.items, world.state
    program = program_of(
        world, trust=trust, elastic=elastic, scale=scale, shorter=shorter, tight=tight
    )
    now, columns = program.now, program.phases.stop
    answer = solve(
        cost=program.cost, low=program.low, high=program.high, row_low=program.least,
        starts=program.starts, columns=program.index, values=program.values,
        seconds=0.5 * left(),
    )  # fmt: skip
    if answer is None:
        return None
    answer = answer / scale
    state.phases = state.phases + answer[program.phases]
    moved = Layout(now.at + answer[: 2 * n].reshape(n, 2), now.shape, now.sheet)
    item = state.put_all(moved)
    while item < n:  # one that can't be there stays
        item = state.put_all(moved, item + 1)
    return float(answer[columns:].sum()) if elastic else float(answer[2 * n])


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
    trust = trust_of(world)
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
    trust = trust_of(world)
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


def trust_of(world: World) -> float:
    """Return how far items may move in one program (mm): less where each has many parts."""
    parts = sum(len(world.outlines[world.outline_of_kind[q]].parts) for q in world.kinds.of)
    return (0.15 if parts <= 10 * world.items else 0.06) * world.median
