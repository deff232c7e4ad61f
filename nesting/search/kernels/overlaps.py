# mypy: disable-error-code="no-untyped-def, assignment"
"""The list of all pairs that overlap, and how much they do in sum."""

from __future__ import annotations

from nesting.search.kernels.compiled import kernel
from nesting.search.kernels.pairs import overlap
from nesting.search.kernels.places import around, mark, neighbour, unmark
from nesting.search.kernels.tables import (
    item_at,
    items_of,
    mates_of,
    movers_of,
    neighbours_of,
    overlaps_of,
)


@kernel
def note(state, i, j, depth):
    """Add a pair to the list, if there is room, and to the sum."""
    overlaps = overlaps_of(state)
    state.total += depth
    if state.overlap_count < overlaps.size:
        one = overlaps[state.overlap_count]
        one.first, one.second, one.depth = i, j, depth
        state.overlap_count += 1


@kernel
def list_overlaps(state):
    """List all overlapping pairs (the region is item number `item_count`); return the sum."""
    for i in range(state.item_count):
        mark(state, i)
    return relist_overlaps(state)


@kernel
def note_mates(state, i):
    """List those mates of an item as overlaps that lie on another sheet."""
    item, mates = item_at(state, i), mates_of(state)
    for k in range(item.first_mate, item.end_mate):
        j = mates[k]
        mate = item_at(state, j)
        elsewhere = mate.sheet != item.sheet and mate.sheet >= 0
        if elsewhere and (j > i or mate.moved == 0):
            note(state, min(i, j), max(i, j), state.apart)


@kernel
def relist_overlaps(state):
    """List all overlapping pairs, where only some items have moved since the last time."""
    n, items = state.item_count, items_of(state)
    overlaps, near, movers = overlaps_of(state), neighbours_of(state), movers_of(state)
    known = state.overlap_count
    if known == overlaps.size:  # a list that was full has forgotten pairs
        for i in range(n):
            mark(state, i)
    state.overlap_count = 0
    state.total = 0.0
    for k in range(known):
        one = overlaps[k]
        if items[one.first].moved == 0 and (one.second == n or items[one.second].moved == 0):
            note(state, one.first, one.second, one.depth)
    for m in range(state.mover_count):
        i = movers[m]
        item = items[i]
        if item.sheet < 0:
            continue
        s, x, y = item.form, item.x, item.y
        count, obstacle = around(state, i, s, item.sheet, x, y)
        for k in range(count):
            j = near[k]
            if j > i or items[j].moved == 0:
                other, xb, yb = neighbour(state, j, obstacle)
                over = overlap(state, s, x, y, other, xb, yb)
                if over > 0.0:
                    note(state, min(i, j), max(i, j), over)
        if state.has_mates == 1:
            note_mates(state, i)
    unmark(state, 0)
    return state.total
