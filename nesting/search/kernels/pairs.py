# mypy: disable-error-code="no-untyped-def, assignment"
"""Pair records: where the second of two shapes may not lie, seen from the first.

A record holds for every two convex parts the half-planes of their Minkowski difference (a
*block*), and, once the pair has met often, a table of summed depths with, for each cell, the
blocks that matter in it, or, negative, the deepest alone where there are many. Records are
kept by outline pair and relative turn, and written when two shapes meet for the first time;
if the store is full it is emptied.
"""

from __future__ import annotations

import math

import numpy as np

from nesting.search.kernels.compiled import inlined, kernel
from nesting.search.kernels.tables import (
    FAR,
    PAIR,
    U,
    blocks_of,
    depths_of,
    first_vertex_of,
    keys_of,
    lists_of,
    outlines_of,
    pairs_of,
    scratch_of,
    shape_at,
    vertices_of,
    wanted_of,
)
from nesting.search.kernels.vectors import LANES, least_slack

GROUPS, LEFT, BOTTOM, RIGHT, TOP = 0, 1, 2, 3, 4
"""Columns at the head of a block: groups of LANES half-planes, and its box."""
PLANES = 8
"""Where its half-planes begin: LANES of a, of b and of c in turn, for a·x + b·y <= c."""
MOST_BESIDE = PLANES + 3 * (LANES - 1)
"""Floats that a block takes beside its half-planes, at most."""
PAIR_FLOATS = PAIR.itemsize // 8
"""What a record itself takes of the room."""
BEGIN = 8
"""Where the first block begins."""
NEVER = -FAR
"""Meetings of a pair that gets no table."""
STRIP = 8
"""So many cells of a table's row ask the same blocks."""


# ---------------------------------------------------------------- blocks


@inlined
def depth(blocks, q, x, y):
    """Return how deep a point lies inside a block's half-planes; 0 or less: outside."""
    return least_slack(blocks, U(q) + U(PLANES), int(blocks[U(q)]), x, y)


@inlined
def in_box(blocks, q, x, y):
    """Tell whether a point lies inside a block's box."""
    return (
        x > blocks[q + U(LEFT)]
        and x < blocks[q + U(RIGHT)]
        and y > blocks[q + U(BOTTOM)]
        and y < blocks[q + U(TOP)]
    )


@inlined
def near_box(blocks, q, x, y, reach):
    """Tell whether a point lies inside a block's box, or nearer to it than a reach."""
    return (
        x > blocks[q + LEFT] - reach
        and x < blocks[q + RIGHT] + reach
        and y > blocks[q + BOTTOM] - reach
        and y < blocks[q + TOP] + reach
    )


@inlined
def plane(q, h):
    """Return where a block's half-plane number h is; b and c are LANES and twice LANES on."""
    return q + PLANES + 3 * LANES * (h // LANES) + h % LANES


@inlined
def following(blocks, q):
    """Return where the next block is."""
    return q + U(PLANES) + U(3 * LANES) * U(blocks[q])


@kernel
def write_planes(state, q, a, one, two):
    """Write half-planes with the normals of A's edges, then of -B's; return their groups.

    The last is repeated to fill its group. A and B are rings: `one` vertices from number
    `a` on, and `two` points of the scratch.
    """
    blocks, vertices, scratch = blocks_of(state), vertices_of(state), scratch_of(state)
    count = 0
    for side in range(2):
        ring, first, n = (vertices, a, one) if side == 0 else (scratch, np.int64(0), two)
        for k in range(n):
            m = k + 1 if k + 1 < n else 0
            along = ring[first + m].x - ring[first + k].x
            across = ring[first + m].y - ring[first + k].y
            length = math.sqrt(along * along + across * across)
            if length == 0.0:
                continue
            nx, ny = across / length, -along / length
            if side == 1:
                nx, ny = -nx, -ny
            known = False
            for h in range(count):
                o = plane(q, h)
                if abs(blocks[o] - nx) + abs(blocks[o + LANES] - ny) < 1e-12:
                    known = True
                    break
            if known:
                continue
            high, low = -FAR, FAR
            for j in range(a, a + one):
                high = max(high, nx * vertices[j].x + ny * vertices[j].y)
            for j in range(two):
                low = min(low, nx * scratch[j].x + ny * scratch[j].y)
            o = plane(q, count)
            blocks[o], blocks[o + LANES], blocks[o + 2 * LANES] = nx, ny, high - low
            count += 1
    last = plane(q, count - 1)
    while count % LANES > 0:
        o = plane(q, count)
        for k in range(3):
            blocks[o + k * LANES] = blocks[last + k * LANES]
        count += 1
    return count // LANES


@kernel
def write_block(state, q, a, one, two):
    """Write the block of two rings (see `write_planes`)."""
    blocks, vertices, scratch = blocks_of(state), vertices_of(state), scratch_of(state)
    left, bottom, right, top = FAR, FAR, -FAR, -FAR
    for k in range(a, a + one):
        left, right = min(left, vertices[k].x), max(right, vertices[k].x)
        bottom, top = min(bottom, vertices[k].y), max(top, vertices[k].y)
    x0, y0, x1, y1 = FAR, FAR, -FAR, -FAR
    for k in range(two):
        x0, x1 = min(x0, scratch[k].x), max(x1, scratch[k].x)
        y0, y1 = min(y0, scratch[k].y), max(y1, scratch[k].y)
    blocks[q + GROUPS] = write_planes(state, q, a, one, two)
    blocks[q + LEFT], blocks[q + BOTTOM] = left - x1, bottom - y1
    blocks[q + RIGHT], blocks[q + TOP] = right - x0, top - y0


# ---------------------------------------------------------------- writing records


@kernel
def parts_of(state, s, plain):
    """Return the first and last-but-one convex part of a shape's outline."""
    outline = outlines_of(state)[shape_at(state, s).outline]
    if plain:
        return outline.first_plain, outline.end_plain
    return outline.first, outline.end


@kernel
def show(state, part, seen):
    """Write a convex part into the scratch, seen from another shape; return its points.

    `seen`: cos and sin of its turn, and -1 if it is flipped, else 1.
    """
    first_vertex, vertices, scratch = first_vertex_of(state), vertices_of(state), scratch_of(state)
    c, s, mirror = seen
    first = first_vertex[part]
    n = first_vertex[part + 1] - first
    for k in range(n):
        x, y, m = vertices[first + k].x, vertices[first + k].y, k
        if mirror < 0.0:
            y, m = -y, n - 1 - k
        scratch[m].x, scratch[m].y = c * x - s * y, s * x + c * y
    return n


@kernel
def room_for(state, a, b):
    """Return how many floats the pair record of shapes a <= b takes at most."""
    first_vertex = first_vertex_of(state)
    a0, a1 = parts_of(state, a, b >= state.item_shapes)
    b0, b1 = parts_of(state, b, False)
    one, two = first_vertex[a1] - first_vertex[a0], first_vertex[b1] - first_vertex[b0]
    count = (a1 - a0) * (b1 - b0)
    return PAIR_FLOATS + MOST_BESIDE * count + 3 * (one * (b1 - b0) + two * (a1 - a0))


@kernel
def forget(state):
    """Empty the store of records and tables."""
    pairs = pairs_of(state)
    for key in range(pairs.size):
        pair = pairs[key]
        if pair.blocks > 0:
            pair.blocks = 0
            state.room += PAIR_FLOATS
    state.room += state.blocks_used - BEGIN
    state.blocks_used = BEGIN
    state.depths_used = state.lists_used = 0
    state.wanted_count = 0


@kernel
def write(state, a, b, key):
    """Write the pair record of shapes a <= b."""
    if room_for(state, a, b) > state.room:
        forget(state)
    region = b >= state.item_shapes
    a0, a1 = parts_of(state, a, region)
    b0, b1 = parts_of(state, b, False)
    one, two = shape_at(state, a), shape_at(state, b)
    # the second shape in the frame of the first
    c = one.cos * two.cos + one.sin * two.sin
    s = one.cos * two.sin - one.sin * two.cos
    seen = c, s * one.mirror, one.mirror * two.mirror
    blocks, first_vertex = blocks_of(state), first_vertex_of(state)
    pair = pairs_of(state)[key]
    q = state.blocks_used
    pair.blocks = q
    pair.left, pair.bottom, pair.right, pair.top = FAR, FAR, -FAR, -FAR
    for pb in range(b0, b1):
        n = show(state, pb, seen)
        for pa in range(a0, a1):
            first = first_vertex[pa]
            write_block(state, q, first, first_vertex[pa + 1] - first, n)
            pair.left = min(pair.left, blocks[q + LEFT])
            pair.bottom = min(pair.bottom, blocks[q + BOTTOM])
            pair.right = max(pair.right, blocks[q + RIGHT])
            pair.top = max(pair.top, blocks[q + TOP])
            q = np.int64(following(blocks, U(q)))
    pair.count = (a1 - a0) * (b1 - b0)
    pair.cells_x = 0
    pair.key = key
    pair.hits = 0.0 if pair.count > 1 else NEVER
    pair.factor = one.factor * two.factor
    pair.region = one.extent if region else 0.0
    state.room -= PAIR_FLOATS + q - state.blocks_used
    state.blocks_used = q


@inlined
def pair_of(state, a, b):
    """Return the pair record of shapes a <= b."""
    key = keys_of(state)[U(a * state.shape_count + b)]
    pair = pairs_of(state)[U(key)]
    if pair.blocks == 0:
        write(state, a, b, np.int64(key))
    return pair


# ---------------------------------------------------------------- tables


@inlined
def list_row(state, pair, y, reach, out):
    """List from place `out` on the blocks whose boxes reach a height; return the list's end."""
    blocks, lists = blocks_of(state), lists_of(state)
    q = pair.blocks
    for _ in range(pair.count):
        if blocks[q + BOTTOM] - reach < y < blocks[q + TOP] + reach:
            lists[out] = q
            out += 1
        q = np.int64(following(blocks, U(q)))
    return out


@inlined
def list_near(state, first, end, x, y, reach):
    """List behind a list those of its blocks that come nearer to a point than a reach."""
    blocks, lists = blocks_of(state), lists_of(state)
    out = end
    for k in range(first, end):
        q = np.int64(lists[k])
        if near_box(blocks, q, x, y, reach) and depth(blocks, q, x, y) > -reach:
            lists[out] = q
            out += 1
    return out


@kernel
def tabulate(state, key):
    """Give a record its table of depths and its lists, if the store has room.

    A row of cells asks the blocks that reach it, and a strip of that row those that are near
    it, which stand at the end of the lists meanwhile.
    """
    pair, blocks = pairs_of(state)[key], blocks_of(state)
    depths, lists = depths_of(state), lists_of(state)
    cells = int(min(max(4.0 * math.sqrt(pair.count), 8.0), float(state.most_cells)))
    w, h = pair.right - pair.left, pair.top - pair.bottom
    nx = ny = cells
    if pair.region > 0.0:  # an obstacle: cells in proportion to the part
        nx = int(min(4.0 * cells, max(cells, math.ceil(w / pair.region * cells * 0.5))))
        ny = int(min(4.0 * cells, max(cells, math.ceil(h / pair.region * cells * 0.5))))
    t, j = state.depths_used, state.lists_used
    pair.hits = NEVER
    aside = lists.size - 2 * pair.count
    if t + nx * ny > depths.size or aside - j < nx * ny * 4 + pair.count:
        return
    hx, hy = w / nx, h / ny
    r = 0.5 * math.sqrt(hx * hx + hy * hy)
    wide = (r + 0.5 * STRIP * hx) * (1.0 + 1e-9)
    top = j + nx * ny + 1
    row = strip = aside
    for cell in range(nx * ny):
        ix = cell % nx
        x = pair.left + (ix + 0.5) * hx
        y = pair.bottom + (cell // nx + 0.5) * hy
        if ix == 0:
            row = list_row(state, pair, y, r, aside)
        if ix % STRIP == 0:
            strip = list_near(state, aside, row, x + 0.5 * (STRIP - 1) * hx, y, wide)
        lists[j + cell] = top
        if top + pair.count + 1 >= aside:
            return
        largest, deepest, total = -FAR, pair.blocks, 0.0
        for k in range(row, strip):
            q = np.int64(lists[k])
            if near_box(blocks, q, x, y, r):
                d = depth(blocks, q, x, y)
                if d > -r:
                    lists[top] = q
                    top += 1
                if d > largest:
                    largest, deepest = d, q
                if d > 0.0:
                    total += d
        depths[t + cell] = total
        if largest > r and top - lists[j + cell] > 4:  # deep: the table itself will do
            top = np.int64(lists[j + cell])
            lists[top] = -deepest
            top += 1
    lists[j + nx * ny] = top
    pair.per_x, pair.per_y = 1.0 / hx, 1.0 / hy
    pair.cells_x, pair.cells_y = nx, ny
    pair.depths, pair.lists = t, j
    state.depths_used += nx * ny
    state.lists_used = top


@inlined
def on_table(pair, x, y):
    """Return where on a record's table a point lies, in cells, and the number of its cell."""
    gx, gy = (x - pair.left) * pair.per_x, (y - pair.bottom) * pair.per_y
    return gx, gy, min(int(gy), pair.cells_y - 1) * pair.cells_x + min(int(gx), pair.cells_x - 1)


@inlined
def interpolated(state, pair, gx, gy):
    """Return the summed depth between the cell centres of a record's table."""
    depths = depths_of(state)
    gx = min(max(gx - 0.5, 0.0), pair.cells_x - 1.000001)
    gy = min(max(gy - 0.5, 0.0), pair.cells_y - 1.000001)
    ix, iy = int(gx), int(gy)
    fx, fy = gx - ix, gy - iy
    k = U(pair.depths + iy * pair.cells_x + ix)
    up = k + U(pair.cells_x)
    return (1.0 - fy) * ((1.0 - fx) * depths[k] + fx * depths[k + U(1)]) + fy * (
        (1.0 - fx) * depths[up] + fx * depths[up + U(1)]
    )


# ---------------------------------------------------------------- asking


@inlined
def seen_from(shape, x, y):
    """Return a vector (mm) as it is seen from a shape."""
    return shape.cos * x + shape.sin * y, shape.mirror * (shape.cos * y - shape.sin * x)


@inlined
def within(pair, x, y):
    """Tell whether a point lies inside a record's box."""
    return not (x <= pair.left or x >= pair.right or y <= pair.bottom or y >= pair.top)


@inlined
def meet(state, pair):
    """Count a meeting of a pair without a table; after so many it is to get one."""
    pair.hits += 1.0
    if pair.hits > state.meetings and state.wanted_count < wanted_of(state).size:
        wanted_of(state)[state.wanted_count] = pair.key
        state.wanted_count += 1
        pair.hits = NEVER


@inlined
def overlap(state, a, xa, ya, b, xb, yb):
    """Return the overlap of two placed shapes: summed depth times size factor; 0 if apart."""
    if a > b:
        a, b = b, a
        xa, xb = xb, xa
        ya, yb = yb, ya
    pair = pair_of(state, a, b)
    x, y = seen_from(shape_at(state, a), xb - xa, yb - ya)
    if not within(pair, x, y):
        return 0.0
    blocks = blocks_of(state)
    tolerance, total = state.tolerance, 0.0
    if pair.cells_x > 0:
        lists = lists_of(state)
        gx, gy, cell = on_table(pair, x, y)
        j = U(pair.lists + cell)
        first, last = lists[j], lists[j + U(1)]
        if first == last:
            return 0.0
        if lists[U(first)] < 0:
            return interpolated(state, pair, gx, gy) * pair.factor
        for k in range(first, last):
            d = depth(blocks, lists[U(k)], x, y)
            total += d if d > tolerance else 0.0
        return total * pair.factor
    meet(state, pair)
    q = U(pair.blocks)
    for _ in range(pair.count):
        if in_box(blocks, q, x, y):
            d = depth(blocks, q, x, y)
            if d > tolerance:
                total += d
        q = following(blocks, q)
    return total * pair.factor
