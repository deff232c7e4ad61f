# mypy: disable-error-code="no-untyped-def, assignment"
"""Moves that touch: from a place where an item overlaps others to where it only touches them."""

from __future__ import annotations

import numpy as np

from nesting.search.kernels.compiled import inlined, kernel
from nesting.search.kernels.pairs import (
    GROUPS,
    depth,
    following,
    in_box,
    on_table,
    pair_of,
    plane,
    seen_from,
    within,
)
from nesting.search.kernels.places import admit, around, neighbour
from nesting.search.kernels.tables import (
    U,
    blocks_of,
    candidates_of,
    lists_of,
    neighbours_of,
    own_of,
    shape_at,
)
from nesting.search.kernels.vectors import LANES
from nesting.search.kernels.weighing import weigh
from nesting.search.kernels.weights import look_at

PARALLEL, STEEP = 0.05, 0.2
"""Below these two normals are too much alike, or one too much along an axis, to move by."""
HOPELESS = 2.0
"""A candidate this many times as heavy as the best after a round of moves is given up."""
CLEAR = 1.0000001
"""By how much farther than needed an item moves, lest rounding leaves an overlap."""
MOVES = 7
"""Ways to move, see `move`."""


@kernel
def deepest_block(state, pair, x, y):
    """Return how deep a point lies in the block where it lies deepest, and that block."""
    blocks, lists = blocks_of(state), lists_of(state)
    deepest, deep = 0.0, U(0)
    if pair.cells_x > 0:
        _, _, cell = on_table(pair, x, y)
        j = U(pair.lists + cell)
        for k in range(lists[j], lists[j + U(1)]):
            q = U(abs(lists[U(k)]))
            d = depth(blocks, q, x, y)
            if d > deepest:
                deepest, deep = d, q
    else:
        q = U(pair.blocks)
        for _ in range(pair.count):
            if in_box(blocks, q, x, y):
                d = depth(blocks, q, x, y)
                if d > deepest:
                    deepest, deep = d, q
            q = following(blocks, q)
    return deepest, deep


@kernel
def way_out(state, a, xa, ya, b, xb, yb):
    """Return how far and which way the first shape must move to leave the deepest block.

    The last value is the pair's size factor.
    """
    swap = a > b
    if swap:
        a, b = b, a
        xa, xb = xb, xa
        ya, yb = yb, ya
    pair, shape, blocks = pair_of(state, a, b), shape_at(state, a), blocks_of(state)
    x, y = seen_from(shape, xb - xa, yb - ya)
    if not within(pair, x, y):
        return 0.0, 0.0, 0.0, 0.0
    px, py = 0.0, 0.0
    deepest, deep = deepest_block(state, pair, x, y)
    if deepest > 0.0:
        for h in range(LANES * int(blocks[deep + U(GROUPS)])):
            q = U(plane(np.int64(deep), h))
            if blocks[q + U(2 * LANES)] - blocks[q] * x - blocks[q + U(LANES)] * y <= deepest:
                px, py = blocks[q], blocks[q + U(LANES)] * shape.mirror
                break
    nx, ny = shape.cos * px - shape.sin * py, shape.sin * px + shape.cos * py
    if not swap:
        nx, ny = -nx, -ny
    return deepest, nx, ny, pair.factor


@kernel
def heaviest(state, i, s, sheet, x, y):
    """Return the three heaviest overlaps of an item: weight, depth, and the way out (2)."""
    if state.looked_at != i:
        look_at(state, i)
    near, own = neighbours_of(state), own_of(state)
    first = second = third = (0.0, 0.0, 0.0, 0.0)
    count, obstacle = around(state, i, s, sheet, x, y)
    for k in range(count):
        j = near[k]
        other, xb, yb = neighbour(state, j, obstacle)
        d, nx, ny, factor = way_out(state, s, x, y, other, xb, yb)
        if d <= 0.0:
            continue
        found = (d * own[U(j)] * factor, d, nx, ny)
        if found[0] > first[0]:
            first, second, third = found, first, second
        elif found[0] > second[0]:
            second, third = found, second
        elif found[0] > third[0]:
            third = found
    return first, second, third


@inlined
def move(number, first, second, third):
    """Return whether there is such a move out of the heaviest overlaps, and the move.

    The moves that end the first or the second, both at once, the first and the third, the
    first along an axis, and the mean of two.
    """
    w1, d1, x1, y1 = first
    w2, d2, x2, y2 = second
    if number == 0:
        return True, d1 * x1, d1 * y1
    if number == 1:
        return w2 > 0.0, d2 * x2, d2 * y2
    if number == 2 or number == 3:
        w, d, x, y = second if number == 2 else third
        across = x1 * y - y1 * x
        if w <= 0.0 or abs(across) < PARALLEL:
            return False, 0.0, 0.0
        return True, (d1 * y - d * y1) / across, (x1 * d - x * d1) / across
    if number == 4:
        return abs(x1) >= STEEP, d1 / x1, 0.0
    if number == 5:
        return abs(y1) >= STEEP, 0.0, d1 / y1
    if w2 <= 0.0:
        return False, 0.0, 0.0
    both = w1 / d1 + w2 / d2
    return True, (x1 * w1 + x2 * w2) / both, (y1 * w1 + y2 * w2) / both


@kernel
def polish(state, i, number, least):
    """Move a candidate to where it touches what it overlaps.

    The three heaviest overlaps say how far and which way it must move to end each. Of the
    moves that follow (see `move`) the best counts, as often as something gets better and
    there is hope of less than `least`, what the best candidate so far weighs.
    """
    candidate = candidates_of(state)[number]
    score, x, y = candidate.score, candidate.x, candidate.y
    s, sheet = candidate.form, candidate.sheet
    for _ in range(state.polish):
        if score <= 0.0:
            break
        first, second, third = heaviest(state, i, s, sheet, x, y)
        if first[0] <= 0.0:
            break
        better = False
        best_x, best_y = x, y
        for m in range(MOVES):
            there, u, v = move(m, first, second, third)
            if not there:
                continue
            ok, u, v = admit(state, i, s, sheet, x + CLEAR * u, y + CLEAR * v)
            if ok and (u != x or v != y):
                got = weigh(state, i, s, sheet, u, v, score)
                if got < score:
                    score, best_x, best_y = got, u, v
                    better = True
        x, y = best_x, best_y
        if not better or score > HOPELESS * least:
            break
    candidate.score, candidate.x, candidate.y = score, x, y
