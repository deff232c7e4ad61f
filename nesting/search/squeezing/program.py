"""The linear program that moves all parts of a layout at once.

Between near convex parts the half-plane that separates them best stays fixed; see `squeeze`.
"""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np

from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.state import Layout, Rows
from nesting.search.prepared.world import World
from nesting.search.squeezing.linear import Ints

__all__ = ["Program", "program_of"]

_APART = 2e-7
"""How far items are kept from touching, in a program's own unit: more than its rounding."""


@dataclass(frozen=True, slots=True, eq=False)
class Program:
    """Minimise cost·x for low <= x <= high and A·x >= least; lengths are `scale` times mm.

    Columns: the moves of each item, x and y in turn, the length, the phases, and with overlaps
    allowed how much of each. Rows: those of `pairs`, the end of each item `on_last`, and the
    links of items to phases.
    """

    now: Layout
    pairs: Rows
    on_last: Ints
    scale: float
    cost: Floats
    low: Floats
    high: Floats
    least: Floats
    starts: Ints
    index: Ints
    values: Floats
    phases: slice


def program_of(
    world: World,
    *,
    trust: float,
    elastic: bool,
    scale: float,
    shorter: float = 0.0,
    tight: bool = False,
) -> Program:
    """Return the program that squeezes a world's present layout, or pushes what overlaps apart.

    `trust`: how far an item may move (mm). `tight`: what touches may go on doing so, though
    rounding may come in between. `elastic`: overlaps are allowed and as little as can be, at the
    present length, or as short as can be if `shorter` says what a mm of length counts for.
    """
    n = world.items
    rows = world.state.rows(2.0 * trust, implied=False)
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
    return Program(
        now, rows, on_last, scale, cost, lo * scale, hi * scale, row_low,
        np.concatenate([[0], np.cumsum(lengths)]), flat_index, flat_value,
        slice(2 * n + 1, columns),
    )  # fmt: skip


def _bounds(
    world: World, now: Layout, trust: float
) -> tuple[Floats, Floats, int, tuple[Ints, Floats, Floats]]:
    """Return how far each item may move, the number of phase columns, and their rows.

    An axis that a lattice binds keeps its place within the tolerance; with a phase it moves
    with the phase, which two rows for each item and axis say.
    """
    n, at, state = world.items, now.at, world.state
    room = state.domains(now)
    lies = (now.sheet >= 0)[:, None]
    low = np.where(lies, np.minimum(np.maximum(room[:, :2] - at, -trust), 0.0), 0.0)
    high = np.where(lies, np.maximum(np.minimum(room[:, 2:] - at, trust), 0.0), 0.0)
    index: list[tuple[int, int]] = []
    values: list[tuple[float, float]] = []
    least: list[float] = []
    parts = [world.kinds.parts[kind] for kind in world.kinds.of]
    for i, part in enumerate(parts):
        if part.binding is None or now.sheet[i] < 0:
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
