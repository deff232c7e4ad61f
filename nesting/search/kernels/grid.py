# mypy: disable-error-code="no-untyped-def, assignment"
"""The grid in which neighbours of an item are found: each item is in every cell that its box meets.

A cell keeps boxes side by side in buckets of BOXES, so that they are looked at in one go, of 32
bits and rounded outwards, so that they lie in few lines of memory. Its first bucket has the cell's
number; if it is full others follow. A cell knows which of its items begin in its column and in its
row, so that one met in several cells is listed once.
"""

from __future__ import annotations

import numpy as np

from nesting.search.kernels.compiled import inlined, kernel
from nesting.search.kernels.tables import (
    FAR,
    MEMBERS,
    NOWHERE,
    WORDS,
    U,
    boxes_of,
    buckets_of,
    ends_of,
    members_of,
)
from nesting.search.kernels.vectors import BOXES


@inlined
def lowered(x):
    """Return a number of 32 bits that is no larger: what is taken off is twice the rounding."""
    return np.float32(x - abs(x) * 1.2e-7)


@inlined
def cell_at(state, x, y):
    """Return the column and the row of a point's cell."""
    cx = int((x - state.origin_x) * state.per_cell)
    cy = int((y - state.origin_y) * state.per_cell)
    return min(max(cx, 0), state.grid_x - 1), min(max(cy, 0), state.grid_y - 1)


@kernel
def enter(state, i, b, begins_x, begins_y):
    """Write an item into a cell, or behind what is there."""
    buckets, boxes, ends = buckets_of(state), boxes_of(state), ends_of(state)
    while buckets[b].count == BOXES and buckets[b].following >= 0:
        b = buckets[b].following
    if buckets[b].count == BOXES:
        more = state.spare
        state.spare = buckets[more].following
        buckets[more].following = NOWHERE
        buckets[b].following = more
        b = more
    bucket = buckets[b]
    lane = bucket.count
    bucket.count += 1
    members_of(state)[WORDS * b + MEMBERS + lane] = i
    for side in range(4):
        end = boxes[side * state.stride + i]
        ends[WORDS * b + side * BOXES + lane] = lowered(end) if side < 2 else -lowered(-end)
    bit = U(1) << U(lane)
    if begins_x:
        bucket.begin_x |= bit
    if begins_y:
        bucket.begin_y |= bit


@kernel
def leave(state, i, b):
    """Take an item out of a cell: the last of the cell takes its place."""
    buckets, members, ends = buckets_of(state), members_of(state), ends_of(state)
    at, before = np.int64(NOWHERE), np.int64(NOWHERE)
    while True:
        for lane in range(buckets[b].count):
            if members[WORDS * b + MEMBERS + lane] == i:
                at = WORDS * b + lane
        if buckets[b].following < 0:
            break
        before, b = b, buckets[b].following
    last, own = buckets[b], buckets[at // WORDS]
    end, lane = U(last.count - 1), U(at % WORDS)
    members[at + MEMBERS] = members[WORDS * b + MEMBERS + np.int64(end)]
    for side in range(4):
        place = WORDS * b + side * BOXES + np.int64(end)
        ends[at + side * BOXES] = ends[place]
        ends[place] = np.inf if side < 2 else -np.inf
    begin_x, begin_y = (last.begin_x >> end) & U(1), (last.begin_y >> end) & U(1)
    last.begin_x &= ~(U(1) << end)
    last.begin_y &= ~(U(1) << end)
    if at // WORDS != b or lane != end:
        own.begin_x = own.begin_x & ~(U(1) << lane) | begin_x << lane
        own.begin_y = own.begin_y & ~(U(1) << lane) | begin_y << lane
    last.count -= 1
    if last.count == 0 and before >= 0:
        buckets[before].following = NOWHERE
        last.following = state.spare
        state.spare = b


@kernel
def link(state, i):
    """Put an item into all cells that its box meets."""
    boxes, stride = boxes_of(state), state.stride
    x0, y0 = cell_at(state, boxes[i], boxes[stride + i])
    x1, y1 = cell_at(state, boxes[2 * stride + i], boxes[3 * stride + i])
    for cy in range(y0, y1 + 1):
        for cx in range(x0, x1 + 1):
            enter(state, i, cy * state.grid_x + cx, cx == x0, cy == y0)


@kernel
def unlink(state, i):
    """Take an item out of all cells that its box meets; it may be nowhere."""
    boxes, stride = boxes_of(state), state.stride
    if boxes[i] == FAR:
        return
    x0, y0 = cell_at(state, boxes[i], boxes[stride + i])
    x1, y1 = cell_at(state, boxes[2 * stride + i], boxes[3 * stride + i])
    for cy in range(y0, y1 + 1):
        for cx in range(x0, x1 + 1):
            leave(state, i, cy * state.grid_x + cx)
