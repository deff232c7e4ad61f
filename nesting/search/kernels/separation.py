# mypy: disable-error-code="no-untyped-def, assignment"
"""Separation: overlapping items are moved, one after another, until none overlap."""

from __future__ import annotations

from nesting.search.kernels.compiled import kernel
from nesting.search.kernels.draws import draw, pick_shape
from nesting.search.kernels.exchanging import exchange_some
from nesting.search.kernels.overlaps import list_overlaps, relist_overlaps
from nesting.search.kernels.pairs import tabulate
from nesting.search.kernels.places import admit, domain, put
from nesting.search.kernels.tables import (
    FAR,
    U,
    candidates_of,
    item_at,
    items_of,
    kept_of,
    order_of,
    overlaps_of,
    shape_at,
    wanted_of,
    weight_at,
    weights_of,
)
from nesting.search.kernels.touching import polish
from nesting.search.kernels.weighing import weigh

GOING, APART, STALLED = 0, 1, 2
"""What comes of a separation: the quota is used up, nothing overlaps, it is stuck."""
BETTER = 0.98
"""It goes on as long as the least overlap falls below this share of itself."""
HEAVIEST = 1e12
"""No weight grows beyond this."""


# ---------------------------------------------------------------- moving one item


@kernel
def offer(state, i, s, sheet, x, y):
    """Weigh a position and keep it if it is among the best."""
    ok, x, y = admit(state, i, s, sheet, x, y)
    if not ok:
        return
    candidates = candidates_of(state)
    k = state.top - 1
    score = weigh(state, i, s, sheet, x, y, candidates[k].score)
    if score >= candidates[k].score:
        return
    while k > 0 and candidates[k - 1].score > score:
        candidates[k] = candidates[k - 1]
        k -= 1
    best = candidates[k]
    best.score, best.x, best.y, best.form, best.sheet = score, x, y, s, sheet


@kernel
def relocate(state, i):
    """Move an overlapping item to the best position found; return whether it moved."""
    item, candidates = item_at(state, i), candidates_of(state)
    if item.held == 1:
        return False
    own, sheet, x, y = item.form, item.sheet, item.x, item.y
    now = weigh(state, i, own, sheet, x, y, FAR)
    if now <= 0.0:
        return False
    for k in range(state.top):
        candidates[k].score = FAR
    size = shape_at(state, own).extent
    offer(state, i, own, sheet, x, y)
    for _ in range(state.nearby):
        s = pick_shape(state, i, sheet) if draw(state) < 0.5 else own
        if s < 0:
            continue
        u, v = draw(state) - 0.5, draw(state) - 0.5
        offer(state, i, s, sheet, x + u * size * state.near, y + v * size * state.near)
    for _ in range(state.anywhere):
        other = int(draw(state) * state.sheet_count)
        s = pick_shape(state, i, other)
        if s < 0:
            continue
        x0, y0, x1, y1 = domain(state, i, s, other)
        if x1 < x0 or y1 < y0:
            continue
        u, v = x0 + draw(state) * (x1 - x0), y0 + draw(state) * (y1 - y0)
        offer(state, i, s, other, u, v)
    best, least = 0, FAR
    for k in range(state.top):
        if candidates[k].score < FAR and least > 0.0:
            polish(state, i, k, least)
            if candidates[k].score < least:
                best, least = k, candidates[k].score
    if least > now:
        return False
    to = candidates[best]
    put(state, i, to.form, to.sheet, to.x, to.y)
    return True


# ---------------------------------------------------------------- all items


@kernel
def reweigh(state):
    """Make overlapping pairs heavier and let the others fade."""
    n, items, decay = state.item_count, items_of(state), state.decay
    weights, overlaps = weights_of(state), overlaps_of(state)
    for i in range(n):
        if items[i].hot == 1:  # only these rows have weights above 1
            items[i].hot = 0
            for k in range(weight_at(state, i, 0), weight_at(state, i, n) + U(1)):
                if weights[k] > 1.0:
                    weights[k] = max(weights[k] * decay, 1.0)
                    items[i].hot = 1
    largest = 0.0
    for k in range(state.overlap_count):
        largest = max(largest, overlaps[k].depth)
    low, high = state.grow_least, state.grow_most
    for k in range(state.overlap_count):
        one = overlaps[k]
        factor = (low + (high - low) * one.depth / largest) / decay
        grown = min(weights[weight_at(state, one.first, one.second)] * factor, HEAVIEST)
        weights[weight_at(state, one.first, one.second)] = grown
        items[one.first].hot = 1
        if one.second < n:
            weights[weight_at(state, one.second, one.first)] = grown
            items[one.second].hot = 1


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
    items, weights = items_of(state), weights_of(state)
    for i in range(state.item_count):
        if items[i].hot == 1:
            for j in range(state.item_count + 1):
                weights[weight_at(state, i, j)] = 1.0
            items[i].hot = 0
    state.since = 0
    state.least_total = FAR


@kernel
def shuffle_overlapping(state):
    """Write the items that overlap into the order, mixed; return how many."""
    items, overlaps, order = items_of(state), overlaps_of(state), order_of(state)
    for i in range(state.item_count):
        items[i].visited = 0
    count = 0
    for k in range(state.overlap_count):
        for side in range(2):
            i = overlaps[k].first if side == 0 else overlaps[k].second
            if i < state.item_count and items[i].visited == 0:
                items[i].visited = 1
                order[count] = i
                count += 1
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
    items, order, wanted = items_of(state), order_of(state), wanted_of(state)
    total = list_overlaps(state)
    while True:
        if total <= 0.0:  # a list that was full once has forgotten pairs that did not move
            total = list_overlaps(state)
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
        for i in range(state.item_count):
            items[i].moved = 0
        for k in range(count):
            if relocate(state, order[k]):
                items[order[k]].moved = 1
        exchange_some(state, order[int(draw(state) * count)])
        total = relist_overlaps(state)
