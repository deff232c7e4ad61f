# mypy: disable-error-code="no-untyped-def, assignment"
"""Rows of the linear program that squeezes: what keeps near convex parts apart."""

from __future__ import annotations

import numpy as np

from nesting.search.kernels.compiled import inlined, kernel
from nesting.search.kernels.pairs import (
    GROUPS,
    following,
    near_box,
    pair_of,
    plane,
    seen_from,
)
from nesting.search.kernels.places import meets, neighbour
from nesting.search.kernels.tables import (
    FAR,
    U,
    blocks_of,
    boxes_of,
    item_at,
    obstacles_of,
    on_sheet,
    shape_at,
)
from nesting.search.kernels.vectors import LANES


@kernel
def best_plane(state, q, x, y):
    """Return how far outside a block a point lies, and the half-plane that says so."""
    blocks = blocks_of(state)
    best, at = -FAR, np.int64(0)
    for h in range(LANES * int(blocks[q + GROUPS])):
        k = plane(q, h)
        gap = blocks[k] * x + blocks[k + LANES] * y - blocks[k + 2 * LANES]
        if gap > best:
            best, at = gap, k
    return best, at


@kernel
def write_rows(state, i, j, obstacle, reach, pairs, rows, count):
    """Write the rows of two items; return how many there are, -1 if they don't fit."""
    a, xa, ya = neighbour(state, i, obstacle)
    b, xb, yb = neighbour(state, j, obstacle)
    swap = a > b
    if swap:
        a, b = b, a
        xa, xb = xb, xa
        ya, yb = yb, ya
    pair, shape, blocks = pair_of(state, a, b), shape_at(state, a), blocks_of(state)
    x, y = seen_from(shape, xb - xa, yb - ya)
    q = pair.blocks
    for _ in range(pair.count):
        if near_box(blocks, q, x, y, reach):
            gap, k = best_plane(state, q, x, y)
            if gap < reach:
                if count >= rows.shape[0]:
                    return -1
                px, py = blocks[k], blocks[k + LANES] * shape.mirror
                nx, ny = shape.cos * px - shape.sin * py, shape.sin * px + shape.cos * py
                if swap:  # the normal points from the second to the first
                    nx, ny = -nx, -ny
                pairs[count, 0], pairs[count, 1] = i, j
                rows[count, 0], rows[count, 1], rows[count, 2] = nx, ny, gap
                count += 1
        q = np.int64(following(blocks, U(q)))
    return count


@inlined
def implies(rows, k, other, reach, slack):
    """Tell whether a row keeps apart what another does, if nothing moves farther than a reach."""
    more = abs(rows[k, 0] - rows[other, 0]) + abs(rows[k, 1] - rows[other, 1])
    return rows[other, 2] - rows[k, 2] >= reach * more - slack


@kernel
def leave_implied(state, reach, pairs, rows, count):
    """Leave out rows that another of the same items implies; return how many are left.

    For moves d with |dx|, |dy| <= reach: gap' + n'·d >= gap + n·d wherever
    gap' - gap >= reach · (|nx' - nx| + |ny' - ny|).
    """
    slack = 0.5 * state.tolerance
    first = kept = 0
    for k in range(count):
        if k > 0 and (pairs[k, 0] != pairs[k - 1, 0] or pairs[k, 1] != pairs[k - 1, 1]):
            first = kept
        known = False
        for o in range(first, kept):
            known |= implies(rows, o, k, reach, slack)
        if known:
            continue
        end, kept = kept, first
        for o in range(first, end):
            if not implies(rows, k, o, reach, slack):
                for c in range(3):
                    rows[kept, c] = rows[o, c]
                pairs[kept, 0], pairs[kept, 1] = pairs[o, 0], pairs[o, 1]
                kept += 1
        for c in range(3):
            rows[kept, c] = rows[k, c]
        pairs[kept, 0], pairs[kept, 1] = pairs[k, 0], pairs[k, 1]
        kept += 1
    return kept


@kernel
def all_rows(state, reach, pairs, rows):
    """Write for every two near convex parts the half-plane that separates them best.

    `reach`: how far items may come nearer each other. `pairs` (n, 2) integers: the items
    (the second is the number of items for the region); `rows` (n, 3): normal and the
    present gap along it (negative: overlap). Returns their number, -1 if more than n.
    """
    n, boxes, stride = state.item_count, boxes_of(state), state.stride
    count = 0
    for i in range(n):
        item = item_at(state, i)
        if item.sheet < 0:
            continue
        left, bottom = boxes[i] - reach, boxes[stride + i] - reach
        right, top = boxes[2 * stride + i] + reach, boxes[3 * stride + i] + reach
        obstacle = obstacles_of(state)[on_sheet(state, i, item.sheet)]
        for j in range(i + 1, n + 1):
            if j < n:
                if not meets(boxes, U(j), U(stride), left, bottom, right, top):
                    continue
                if item.held == 1 and item_at(state, j).held == 1:
                    continue
            elif obstacle < 0:
                continue
            count = write_rows(state, i, j, obstacle, reach, pairs, rows, count)
            if count < 0:
                return -1
    return count
