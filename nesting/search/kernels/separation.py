# mypy: disable-error-code="no-untyped-def, assignment"
"""Separation: overlapping items are moved, one after another, until none overlap."""

from __future__ import annotations

from nesting.search.kernels.compiled import kernel
from nesting.search.kernels.draws import draw
from nesting.search.kernels.exchanging import exchange_some
from nesting.search.kernels.moving import relocate
from nesting.search.kernels.overlaps import relist_overlaps
from nesting.search.kernels.pairs import tabulate
from nesting.search.kernels.tables import (
    FAR,
    items_of,
    kept_of,
    order_of,
    overlaps_of,
    wanted_of,
)
from nesting.search.kernels.weights import reweigh, unweigh

GOING, APART, STALLED = 0, 1, 2
"""What comes of a separation: the quota is used up, nothing overlaps, it is stuck."""
BETTER = 0.98
"""It goes on as long as the least overlap falls below this share of itself."""


# ---------------------------------------------------------------- all items


@kernel
def keep(state):
    """Remember the present positions as those of least overlap."""
    items, kept = items_of(state), kept_of(state)
    for i in range(state.item_count):
        kept[i].x, kept[i].y = items[i].x, items[i].y
        kept[i].form, kept[i].sheet = items[i].form, items[i].sheet


@kernel
def start(state):
    """Begin a separation from the present positions."""
    unweigh(state)
    state.since = 0
    state.least_total = FAR


@kernel
def shuffle_overlapping(state):
    """Write the items that overlap into the order, mixed; return how many."""
    items, overlaps, order = items_of(state), overlaps_of(state), order_of(state)
    count = 0
    for k in range(state.overlap_count):
        for side in range(2):
            i = overlaps[k].first if side == 0 else overlaps[k].second
            if i < state.item_count and items[i].visited == 0:
                items[i].visited = 1
                order[count] = i
                count += 1
    for k in range(count):
        items[order[k]].visited = 0
    for k in range(count - 1, 0, -1):
        r = int(draw(state) * (k + 1))
        order[k], order[r] = order[r], order[k]
    return count


@kernel
def separate(state, quota):
    """Move overlapping items until none overlap, it stalls, or about `quota` positions are weighed.

    Returns APART, STALLED or GOING: go on by calling again.
    """
    limit = state.weighed + quota
    order, wanted = order_of(state), wanted_of(state)
    total = relist_overlaps(state)
    while True:
        if total <= 0.0:
            state.least_total = 0.0
            keep(state)
            return APART
        if total < state.least_total:
            if total < BETTER * state.least_total:
                state.since = 0
            state.least_total = total
            keep(state)
        if state.since >= state.patience:
            return STALLED
        if state.weighed >= limit:
            return GOING
        state.since += 1
        reweigh(state)
        for k in range(state.wanted_count):
            tabulate(state, wanted[k])
        state.wanted_count = 0
        count = shuffle_overlapping(state)
        for k in range(count):
            relocate(state, order[k])
        exchange_some(state, order[int(draw(state) * count)])
        total = relist_overlaps(state)
