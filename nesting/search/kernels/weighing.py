# mypy: disable-error-code="no-untyped-def, assignment"
"""What a position costs: weighted overlaps, and distance from mates."""

from __future__ import annotations

from nesting.search.kernels.compiled import kernel
from nesting.search.kernels.pairs import overlap
from nesting.search.kernels.places import around, neighbour
from nesting.search.kernels.tables import (
    U,
    item_at,
    mates_of,
    neighbours_of,
    own_of,
)
from nesting.search.kernels.weights import look_at


@kernel
def weigh(state, i, s, sheet, x, y, bound):
    """Return the weighted overlap of an item at a position, or at least `bound`."""
    state.weighed += 1
    if state.looked_at != i:
        look_at(state, i)
    near, own = neighbours_of(state), own_of(state)
    total = 0.0
    count, obstacle = around(state, i, s, sheet, x, y)
    for k in range(count):
        j = near[U(k)]
        other, xb, yb = neighbour(state, j, obstacle)
        over = overlap(state, s, x, y, other, xb, yb)
        if over > 0.0:
            total += own[U(j)] * over
            if total >= bound:
                return total
    if state.has_mates == 1:
        total += mate_cost(state, i, sheet, x, y)
    return total


@kernel
def mate_cost(state, i, sheet, x, y):
    """Return what an item's distance from its mates costs; much on another sheet."""
    item, mates, own = item_at(state, i), mates_of(state), own_of(state)
    total = 0.0
    for k in range(item.first_mate, item.end_mate):
        mate = item_at(state, mates[k])
        if mate.sheet < 0:
            continue
        if mate.sheet != sheet:
            total += own[U(mates[k])] * state.apart
        else:
            total += state.pull * (abs(mate.x - x) + abs(mate.y - y))
    return total
