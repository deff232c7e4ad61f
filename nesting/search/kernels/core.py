# mypy: disable-error-code="no-untyped-def, assignment"
# ruff: noqa: E741, N803
"""The search's inner loops, compiled.

All state lives in five flat arrays, because every array that is handed to a kernel
costs time at each call that isn't inlined:

- ``I`` int64: counts, offsets and switches (the slots below), then integer tables;
- ``F`` float64: positions, boxes, shapes, then the store of pair records;
- ``T`` float32: depth tables of the pair records;
- ``J`` int32: the pair record of every two shapes (negative: none yet) and its key, then
  cell lists of the pair records;
- ``W`` float32, (items, items + 1): the weights of pairs; last column: the region.

A *shape* is an outline at one turn and flip. A *pair record* describes for two shapes
where the second may not lie, seen from the first: for every two convex parts the
half-planes of their Minkowski difference, and (once the pair has met often) a table of
summed depths with, for each cell, the part pairs that matter in it, or, negative, the
deepest alone where there are many. Records are kept by outline pair and relative turn, and
written when two shapes meet for the first time; if the store is full it is emptied.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from nesting.search.kernels.vectors import BOXES, LANES, hits, least_slack, lowest_bit

# ---------------------------------------------------------------- slots of I
ITEMS, SHAPES, SHEETS, KINDS = 0, 1, 2, 3
AT_SHAPE, AT_SHEET, AT_KIND = 4, 5, 6
OPT_PTR, OPT, OBSTACLE = 7, 8, 9
OUTLINE, FLIP, TURN_ID = 10, 11, 12
PART_PTR, VERTEX_PTR, PLAIN_PTR = 13, 14, 15
BOX_STRIDE, KEYS = 16, 17
GROUP, MATE_PTR, MATE = 18, 19, 20
KIND_EDGE, KIND_PHASE = 21, 22
GRID_HEAD, GRID_NEXT, GRID_PREV, GRID_CELL = 23, 24, 25, 26
GRID_NX, GRID_NY = 27, 28
BIG_N, BIG = 29, 30
F_TOP, T_TOP, J_TOP = 31, 32, 33
RNG, EVALS, ITERATION, SINCE = 37, 38, 39, 40
PAIRS_N, PAIRS, PAIRS_CAP = 41, 42, 43
ORDER, BEST_SHAPE, BEST_SHEET = 44, 45, 46
CELLS_MAX, HITS_FOR_TABLE = 47, 48
N_ANY, N_NEAR, N_TOP, PATIENCE = 49, 50, 51, 52
WANTED_N, ITEM_SHAPES, HAS_MATES, HAS_LATTICE = 53, 54, 55, 56
VISIT, NEIGHBOURS, WANTED = 57, 58, 59
F_POS, F_BOX, F_SHAPE, F_DOM, F_VERT = 64, 65, 66, 67, 68
F_TOPK, F_PAIR, F_BEST, F_LATTICE, F_PHASE, F_SCRATCH = 69, 70, 71, 72, 73, 74
ZERO, HOT, MOVED = 75, 76, 82
RECORDS, AT_RECORD, F_BASE, J_BASE, POLISH = 77, 78, 79, 80, 81
HEAD = 96
WANTED_CAP = 256

# ---------------------------------------------------------------- first floats of F
TOL, CELL, ORIGIN_X, ORIGIN_Y, REACH_X, REACH_Y = 0, 1, 2, 3, 4, 5
GROW_LO, GROW_HI, DECAY = 9, 10, 11
BEST_TOTAL, TOTAL, MATE_PULL, NEAR, MAX_SHARE = 12, 13, 14, 15, 16
F_HEAD = 32

SHAPE_W = 16
"""Floats per shape: cos, sin, grown box (4), true box (4), size factor, size, anchor (2)."""
REC_W = 16
"""Floats per record: parts, box (4), table?, 1/cell (2), cells (2), -, T, J, hits, factor, -."""
BLOCK_W = 8
"""Floats before a part pair's half-planes: groups of LANES, box (4), -."""
PER_BLOCK = BLOCK_W + 3 * (LANES - 1)
"""Floats that a part pair takes beside its half-planes, at most."""
LATTICE_W = 8
"""Floats per lattice: along, across (0: free), drop, origin (2), tolerance."""
FAR = 1e300
U = np.uint64
"""Of an index in the innermost loops: if it can't be negative, its sign is not asked for."""
PARALLEL, STEEP = 0.05, 0.2
"""Below these two normals are too much alike, or one too much along an axis, to move by."""
HOPELESS = 2.0
"""A candidate this many times as heavy as the best after a round of moves is given up."""
CLEAR = 1.0000001
"""By how much farther than needed an item moves, lest rounding leaves an overlap."""


kernel = njit(cache=True, error_model="numpy", _nrt=False)
"""Nothing is allocated here, so no references are counted: it cost a third of all time."""
inlined = njit(cache=True, error_model="numpy", _nrt=False, forceinline=True)


@inlined
def rnd(I):
    """Draw a uniform number of [0, 1) (48-bit linear congruential generator)."""
    x = (I[RNG] * 25214903917 + 11) & 281474976710655
    I[RNG] = x
    return x * (1.0 / 281474976710656.0)


# ---------------------------------------------------------------- pair records


@inlined
def block_depth(F, off, dx, dy):
    """Return how deep (dx, dy) lies inside one part pair's difference, 0 or less: outside."""
    return least_slack(F, U(off) + U(BLOCK_W), int(F[U(off)]), dx, dy)


@inlined
def plane(q, h):
    """Return where a part pair's half-plane number h is; b and c are LANES and twice LANES on."""
    return q + BLOCK_W + 3 * LANES * (h // LANES) + h % LANES


@inlined
def following(F, q):
    """Return where the next part pair is."""
    return q + BLOCK_W + 3 * LANES * int(F[q])


@kernel
def add_halfplanes(F, q, ax, an, bx, bn):
    """Write the half-planes with the normals of A's edges, then of -B's; return their groups.

    The last is repeated to fill its group.

    A and B are rings of `an` and `bn` points at F[ax:] and F[bx:].
    """
    count = 0
    for side in range(2):
        base, n = (ax, an) if side == 0 else (bx, bn)
        for k in range(n):
            m = k + 1 if k + 1 < n else 0
            ex = F[base + 2 * m] - F[base + 2 * k]
            ey = F[base + 2 * m + 1] - F[base + 2 * k + 1]
            length = math.sqrt(ex * ex + ey * ey)
            if length == 0.0:
                continue
            nx, ny = ey / length, -ex / length
            if side == 1:
                nx, ny = -nx, -ny
            known = False
            for h in range(count):
                o = plane(q, h)
                if abs(F[o] - nx) + abs(F[o + LANES] - ny) < 1e-12:
                    known = True
                    break
            if known:
                continue
            high, low = -FAR, FAR
            for j in range(an):
                high = max(high, nx * F[ax + 2 * j] + ny * F[ax + 2 * j + 1])
            for j in range(bn):
                low = min(low, nx * F[bx + 2 * j] + ny * F[bx + 2 * j + 1])
            o = plane(q, count)
            F[o], F[o + LANES], F[o + 2 * LANES] = nx, ny, high - low
            count += 1
    last = plane(q, count - 1)
    while count % LANES > 0:
        o = plane(q, count)
        for k in range(3):
            F[o + k * LANES] = F[last + k * LANES]
        count += 1
    return count // LANES


@kernel
def part_range(I, shape, against_region):
    """Return the first and last-but-one convex part of a shape's outline."""
    o = I[I[OUTLINE] + shape]
    ptr = I[PLAIN_PTR] if against_region else I[PART_PTR]
    return I[ptr + 2 * o], I[ptr + 2 * o + 1]


@kernel
def build_record(I, F, sa, sb):
    """Write the pair record of shapes sa <= sb and return its offset in F."""
    region = sb >= I[ITEM_SHAPES]
    a0, a1 = part_range(I, sa, region)
    b0, b1 = part_range(I, sb, I[OUTLINE] < 0)
    vp = I[VERTEX_PTR]
    rec = I[F_TOP]
    # the second shape in the frame of the first
    fs = I[F_SHAPE]
    ca, s_a = F[fs + SHAPE_W * sa], F[fs + SHAPE_W * sa + 1]
    cb, s_b = F[fs + SHAPE_W * sb], F[fs + SHAPE_W * sb + 1]
    fa, fb = I[I[FLIP] + sa], I[I[FLIP] + sb]
    c = ca * cb + s_a * s_b
    s = ca * s_b - s_a * cb
    if fa == 1:
        s = -s
    flip = fa != fb
    scratch = I[F_SCRATCH]
    q = rec + REC_W
    x0, y0, x1, y1 = FAR, FAR, -FAR, -FAR
    for pb in range(b0, b1):
        nb = I[vp + pb + 1] - I[vp + pb]
        base = I[F_VERT] + 2 * I[vp + pb]
        for k in range(nb):
            vx, vy = F[base + 2 * k], F[base + 2 * k + 1]
            m = k
            if flip:
                vy = -vy
                m = nb - 1 - k
            F[scratch + 2 * m] = c * vx - s * vy
            F[scratch + 2 * m + 1] = s * vx + c * vy
        for pa in range(a0, a1):
            na = I[vp + pa + 1] - I[vp + pa]
            abase = I[F_VERT] + 2 * I[vp + pa]
            ax0, ay0, ax1, ay1 = FAR, FAR, -FAR, -FAR
            for k in range(na):
                ax0, ax1 = min(ax0, F[abase + 2 * k]), max(ax1, F[abase + 2 * k])
                ay0, ay1 = min(ay0, F[abase + 2 * k + 1]), max(ay1, F[abase + 2 * k + 1])
            bx0, by0, bx1, by1 = FAR, FAR, -FAR, -FAR
            for k in range(nb):
                bx0, bx1 = min(bx0, F[scratch + 2 * k]), max(bx1, F[scratch + 2 * k])
                by0, by1 = min(by0, F[scratch + 2 * k + 1]), max(by1, F[scratch + 2 * k + 1])
            F[q] = add_halfplanes(F, q, abase, na, scratch, nb)
            F[q + 1], F[q + 2] = ax0 - bx1, ay0 - by1
            F[q + 3], F[q + 4] = ax1 - bx0, ay1 - by0
            x0, y0 = min(x0, F[q + 1]), min(y0, F[q + 2])
            x1, y1 = max(x1, F[q + 3]), max(y1, F[q + 4])
            q = following(F, q)
    F[rec] = (a1 - a0) * (b1 - b0)
    F[rec + 1], F[rec + 2], F[rec + 3], F[rec + 4] = x0, y0, x1, y1
    F[rec + 5] = 0.0
    F[rec + 13] = 0.0 if F[rec] > 1.0 else -FAR
    F[rec + 14] = F[fs + SHAPE_W * sa + 10] * F[fs + SHAPE_W * sb + 10]
    F[rec + 15] = F[fs + SHAPE_W * sa + 11] if region else 0.0
    I[F_TOP] = q
    return rec


@kernel
def size_of_record(I, sa, sb):
    """Return how many floats the pair record of shapes sa <= sb takes at most."""
    a0, a1 = part_range(I, sa, sb >= I[ITEM_SHAPES])
    b0, b1 = part_range(I, sb, I[OUTLINE] < 0)
    vp = I[VERTEX_PTR]
    na, nb = I[vp + a1] - I[vp + a0], I[vp + b1] - I[vp + b0]
    blocks = (a1 - a0) * (b1 - b0)
    return REC_W + PER_BLOCK * blocks + 3 * (na * (b1 - b0) + nb * (a1 - a0))


@kernel
def forget(I, J):
    """Empty the store of records and tables."""
    count = I[ITEM_SHAPES] * I[SHAPES]
    for k in range(count):
        J[I[KEYS] + k] = -1 - J[I[KEYS] + count + k]
    for key in range(I[RECORDS]):
        I[I[AT_RECORD] + key] = 0
    I[F_TOP], I[T_TOP], I[J_TOP] = I[F_BASE], 0, I[J_BASE]
    I[WANTED_N] = 0


@kernel
def fetch(I, F, J, sa, sb):
    """Find or write the pair record of shapes sa <= sb and return its offset in F."""
    k = sa * I[SHAPES] + sb
    key = J[I[KEYS] + I[ITEM_SHAPES] * I[SHAPES] + k]
    if I[I[AT_RECORD] + key] == 0:
        if I[F_TOP] + size_of_record(I, sa, sb) > F.shape[0]:
            forget(I, J)
        I[I[AT_RECORD] + key] = build_record(I, F, sa, sb)
    J[I[KEYS] + k] = I[I[AT_RECORD] + key]
    return I[I[AT_RECORD] + key]


@inlined
def record(I, F, J, sa, sb):
    """Return where in F the pair record of shapes sa <= sb is."""
    rec = np.int64(J[U(I[KEYS] + sa * I[SHAPES] + sb)])
    if rec < 0:
        rec = np.int64(fetch(I, F, J, sa, sb))
    return rec


@kernel
def build_table(I, F, T, J, rec):
    """Give a record its table of depths and its cell lists, if the store has room."""
    blocks = int(F[rec])
    cells = int(min(max(4.0 * math.sqrt(blocks), 8.0), float(I[CELLS_MAX])))
    w, h = F[rec + 3] - F[rec + 1], F[rec + 4] - F[rec + 2]
    nx = ny = cells
    if F[rec + 15] > 0.0:  # a region: cells in proportion to the part
        nx = int(min(4.0 * cells, max(cells, math.ceil(w / F[rec + 15] * cells * 0.5))))
        ny = int(min(4.0 * cells, max(cells, math.ceil(h / F[rec + 15] * cells * 0.5))))
    room = J.shape[0] - I[J_TOP]
    if I[T_TOP] + nx * ny > T.shape[0] or room < nx * ny * 4 + blocks:
        F[rec + 13] = -FAR
        return
    hx, hy = w / nx, h / ny
    r = 0.5 * math.sqrt(hx * hx + hy * hy)
    t, j = I[T_TOP], I[J_TOP]
    top = j + nx * ny + 1
    for iy in range(ny):
        y = F[rec + 2] + (iy + 0.5) * hy
        for ix in range(nx):
            x = F[rec + 1] + (ix + 0.5) * hx
            cell = iy * nx + ix
            J[j + cell] = top
            if top + blocks + 1 >= J.shape[0]:
                F[rec + 13] = -FAR
                return
            largest, deepest, total = -FAR, rec, 0.0
            q = rec + REC_W
            for _ in range(blocks):
                if x > F[q + 1] - r and x < F[q + 3] + r and y > F[q + 2] - r and y < F[q + 4] + r:
                    d = block_depth(F, q, x, y)
                    if d > -r:
                        J[top] = q
                        top += 1
                    if d > largest:
                        largest, deepest = d, q
                    if d > 0.0:
                        total += d
                q = following(F, q)
            T[t + cell] = total
            if largest > r and top - J[j + cell] > 4:  # deep: the table itself will do
                top = J[j + cell]
                J[top] = -deepest
                top += 1
    J[j + nx * ny] = top
    F[rec + 5] = 1.0
    F[rec + 6], F[rec + 7] = 1.0 / hx, 1.0 / hy
    F[rec + 8], F[rec + 9] = nx, ny
    F[rec + 11], F[rec + 12] = t, j
    I[T_TOP] += nx * ny
    I[J_TOP] = top


@inlined
def interpolated(F, T, rec, gx, gy):
    """Return the summed depth between the cell centres of a record's table."""
    nx, ny = int(F[rec + U(8)]), int(F[rec + U(9)])
    gx = min(max(gx - 0.5, 0.0), nx - 1.000001)
    gy = min(max(gy - 0.5, 0.0), ny - 1.000001)
    ix, iy = int(gx), int(gy)
    fx, fy = gx - ix, gy - iy
    k = U(int(F[rec + U(11)]) + iy * nx + ix)
    up = k + U(nx)
    return (1.0 - fy) * ((1.0 - fx) * T[k] + fx * T[k + U(1)]) + fy * (
        (1.0 - fx) * T[up] + fx * T[up + U(1)]
    )


@inlined
def seen_from(I, F, shape, xa, ya, xb, yb):
    """Return the frame of a placed shape (cos, sin, -1 if flipped) and a point seen from it."""
    o = U(I[F_SHAPE] + SHAPE_W * shape)
    c, s = F[o], F[o + U(1)]
    flip = -1.0 if I[U(I[FLIP] + shape)] == 1 else 1.0
    ex, ey = xb - xa, yb - ya
    return c, s, flip, c * ex + s * ey, flip * (c * ey - s * ex)


@inlined
def on_table(F, rec, dx, dy):
    """Return where on a record's table (dx, dy) lies, in cells, and the number of its cell."""
    gx, gy = (dx - F[rec + U(1)]) * F[rec + U(6)], (dy - F[rec + U(2)]) * F[rec + U(7)]
    nx, ny = int(F[rec + U(8)]), int(F[rec + U(9)])
    return gx, gy, min(int(gy), ny - 1) * nx + min(int(gx), nx - 1)


@inlined
def overlap(I, F, T, J, sa, xa, ya, sb, xb, yb):
    """Return the overlap of two placed shapes: summed depth times size factor; 0 if apart."""
    if sa > sb:
        sa, sb = sb, sa
        xa, xb = xb, xa
        ya, yb = yb, ya
    rec = U(record(I, F, J, sa, sb))
    _, _, _, dx, dy = seen_from(I, F, sa, xa, ya, xb, yb)
    if dx <= F[rec + U(1)] or dx >= F[rec + U(3)] or dy <= F[rec + U(2)] or dy >= F[rec + U(4)]:
        return 0.0
    tol = F[TOL]
    total = 0.0
    if F[rec + U(5)] == 1.0:
        gx, gy, cell = on_table(F, rec, dx, dy)
        j = U(int(F[rec + U(12)]) + cell)
        first, last = J[j], J[j + U(1)]
        if first == last:
            return 0.0
        if J[U(first)] < 0:
            return interpolated(F, T, rec, gx, gy) * F[rec + U(14)]
        for k in range(first, last):
            d = block_depth(F, J[U(k)], dx, dy)
            total += d if d > tol else 0.0
        return total * F[rec + U(14)]
    F[rec + U(13)] += 1.0
    if F[rec + U(13)] > I[HITS_FOR_TABLE] and I[WANTED_N] < WANTED_CAP:
        I[I[WANTED] + I[WANTED_N]] = np.int64(rec)
        I[WANTED_N] += 1
        F[rec + U(13)] = -FAR
    q = rec + U(REC_W)
    for _ in range(int(F[rec])):
        if dx > F[q + U(1)] and dx < F[q + U(3)] and dy > F[q + U(2)] and dy < F[q + U(4)]:
            d = block_depth(F, q, dx, dy)
            if d > tol:
                total += d
        q += U(BLOCK_W) + U(3 * LANES) * U(F[q])
    return total * F[rec + U(14)]


# ---------------------------------------------------------------- where items are


@inlined
def cell_of(I, F, x, y):
    """Return the neighbour grid's cell of a point."""
    cx = int((x - F[ORIGIN_X]) / F[CELL])
    cy = int((y - F[ORIGIN_Y]) / F[CELL])
    cx = min(max(cx, 0), I[GRID_NX] - 1)
    cy = min(max(cy, 0), I[GRID_NY] - 1)
    return cy * I[GRID_NX] + cx


@kernel
def unlink(I, i):
    """Take an item out of the neighbour grid."""
    cell = I[I[GRID_CELL] + i]
    if cell < 0:
        return
    after, before = I[I[GRID_NEXT] + i], I[I[GRID_PREV] + i]
    if before >= 0:
        I[I[GRID_NEXT] + before] = after
    else:
        I[I[GRID_HEAD] + cell] = after
    if after >= 0:
        I[I[GRID_PREV] + after] = before
    I[I[GRID_CELL] + i] = -1


@kernel
def put(I, F, i, s, sheet, x, y):
    """Move an item."""
    p, b, o = I[F_POS] + 2 * i, I[F_BOX] + i, I[F_SHAPE] + SHAPE_W * s
    F[p], F[p + 1] = x, y
    for side in range(4):
        F[b + side * I[BOX_STRIDE]] = F[p + side % 2] + F[o + 2 + side]
    I[I[AT_SHAPE] + i] = s
    I[I[AT_SHEET] + i] = sheet
    if I[GRID_NX] > 0 and I[I[GRID_CELL] + i] > -2:  # -2: a big item, not in the grid
        unlink(I, i)
        middle = x + 0.5 * (F[o + 2] + F[o + 4]), y + 0.5 * (F[o + 3] + F[o + 5])
        cell = cell_of(I, F, middle[0], middle[1])
        head = I[I[GRID_HEAD] + cell]
        I[I[GRID_NEXT] + i] = head
        I[I[GRID_PREV] + i] = -1
        if head >= 0:
            I[I[GRID_PREV] + head] = i
        I[I[GRID_HEAD] + cell] = i
        I[I[GRID_CELL] + i] = cell


@kernel
def remove(I, F, i):
    """Take an item off: its box is nowhere."""
    for side in range(4):
        F[I[F_BOX] + side * I[BOX_STRIDE] + i] = FAR if side < 2 else -FAR
    if I[GRID_NX] > 0:
        unlink(I, i)
    I[I[AT_SHEET] + i] = -1


@inlined
def domain(I, F, i, s, sheet):
    """Return the least and largest x and y of an item's origin in that shape on that sheet."""
    kind = I[I[AT_KIND] + i]
    d = I[F_DOM] + 4 * (kind * I[SHEETS] + sheet)
    o = I[F_SHAPE] + SHAPE_W * s
    x0, y0 = F[d] - F[o + 6], F[d + 1] - F[o + 7]
    x1, y1 = F[d + 2] - F[o + 8], F[d + 3] - F[o + 9]
    slack = F[TOL]
    if x1 < x0 and x1 > x0 - slack:
        x1 = x0
    if y1 < y0 and y1 > y0 - slack:
        y1 = y0
    edge = I[I[KIND_EDGE] + kind]
    if edge == 1:
        y1 = min(y0, y1)
    elif edge == 2:
        y0 = max(y0, y1)
    return x0, y0, x1, y1


@kernel
def nearest_on(value, period, origin, tolerance, low, high):
    """Return the number nearest to `value` within `tolerance` of a multiple, from low to high.

    If there is none it lies outside low..high.
    """
    k = math.floor((value - origin) / period + 0.5)
    centre = origin + k * period
    if centre - tolerance > high:
        centre -= period
    elif centre + tolerance < low:
        centre += period
    got = min(max(value, centre - tolerance), centre + tolerance)
    kept = min(max(got, low), high)
    return kept if abs(kept - centre) <= tolerance else got


@kernel
def admit(I, F, i, s, sheet, x, y):
    """Return the nearest admissible position: in the sheet's box, on the lattice.

    The first value is False if there is none.
    """
    x0, y0, x1, y1 = domain(I, F, i, s, sheet)
    if x1 < x0 or y1 < y0:
        return False, x, y
    x, y = min(max(x, x0), x1), min(max(y, y0), y1)
    if I[HAS_LATTICE] == 1:
        kind = I[I[AT_KIND] + i]
        q = I[F_LATTICE] + LATTICE_W * kind
        along, across = F[q], F[q + 1]
        if along > 0.0 or across > 0.0:
            o = I[F_SHAPE] + SHAPE_W * s
            ox, oy = F[q + 3] - F[o + 12], F[q + 4] - F[o + 13]
            phase = I[I[KIND_PHASE] + kind]
            if phase >= 0:
                ox += F[I[F_PHASE] + 2 * phase]
                oy += F[I[F_PHASE] + 2 * phase + 1]
            tolerance = F[q + 5]
            odd = 0
            if across > 0.0:
                y = nearest_on(y, across, oy, tolerance, y0, y1)
                odd = math.floor((y - oy) / across + 0.5) & 1
            if along > 0.0:
                shift = F[q + 2] * along if odd == 1 else 0.0
                x = nearest_on(x, along, ox + shift, tolerance, x0, x1)
            slack = F[TOL]
            if x < x0 - slack or x > x1 + slack or y < y0 - slack or y > y1 + slack:
                return False, x, y
    return True, x, y


# ---------------------------------------------------------------- judging a position


@inlined
def meets(F, q, stride, a0, b0, a1, b1):
    """Return whether an item's box overlaps a box."""
    return (
        (F[q] < a1)
        & (F[q + stride] < b1)
        & (F[q + U(2) * stride] > a0)
        & (F[q + U(3) * stride] > b0)
    )


@inlined
def gather(I, F, i, a0, b0, a1, b1):
    """List the items other than `i` whose boxes overlap a box in the scratch of neighbours."""
    box, stride, near = U(I[F_BOX]), U(I[BOX_STRIDE]), U(I[NEIGHBOURS])
    if I[GRID_NX] == 0:
        for first in range(0, I[BOX_STRIDE], 64):
            found = U(0)
            for j in range(first, min(first + 64, I[BOX_STRIDE]), BOXES):
                found |= hits(F, box + U(j), stride, a0, b0, a1, b1) << U(j - first)
            if first <= i < first + 64:
                found &= ~(U(1) << U(i - first))
            while found > U(0):
                I[near] = first + np.int64(lowest_bit(found))
                near += U(1)
                found &= found - U(1)
        return np.int64(near) - I[NEIGHBOURS]
    big = U(I[BIG])
    for _ in range(I[BIG_N]):
        j = I[big]
        big += U(1)
        I[near] = j  # it counts only if it hits: cheaper than a branch
        near += U(meets(F, box + U(j), stride, a0, b0, a1, b1) & (j != i))
    low = cell_of(I, F, a0 - F[REACH_X], b0 - F[REACH_Y])
    high = cell_of(I, F, a1 + F[REACH_X], b1 + F[REACH_Y])
    nx, after = I[GRID_NX], U(I[GRID_NEXT])
    for cy in range(low // nx, high // nx + 1):
        for cx in range(low % nx, high % nx + 1):
            j = I[I[GRID_HEAD] + cy * nx + cx]
            while j >= 0:
                I[near] = j
                near += U(meets(F, box + U(j), stride, a0, b0, a1, b1) & (j != i))
                j = I[after + U(j)]
    return np.int64(near) - I[NEIGHBOURS]


@inlined
def neighbour(I, F, n, j, obstacle):
    """Return the shape and position of an item, or of the region if j is the number of items."""
    if j == n:
        return obstacle, F[I[F_SHAPE] + SHAPE_W * obstacle + 14], 0.0
    p = U(I[F_POS] + 2 * j)
    return I[U(I[AT_SHAPE] + j)], F[p], F[p + U(1)]


@inlined
def around(I, F, i, s, sheet, x, y):
    """List what may overlap an item at a position; the region is number `items`."""
    o = I[F_SHAPE] + SHAPE_W * s
    count = gather(I, F, i, x + F[o + 2], y + F[o + 3], x + F[o + 4], y + F[o + 5])
    obstacle = I[I[OBSTACLE] + I[I[AT_KIND] + i] * I[SHEETS] + sheet]
    if obstacle >= 0:
        I[I[NEIGHBOURS] + count] = I[ITEMS]
        count += 1
    return count, obstacle


@kernel
def weigh(I, F, T, J, W, i, s, sheet, x, y, bound):
    """Return the weighted overlap of an item at a position, or at least `bound`."""
    I[EVALS] += 1
    total = 0.0
    n = I[ITEMS]
    count, obstacle = around(I, F, i, s, sheet, x, y)
    for k in range(I[NEIGHBOURS], I[NEIGHBOURS] + count):
        j = I[U(k)]
        sb, xb, yb = neighbour(I, F, n, j, obstacle)
        over = overlap(I, F, T, J, s, x, y, sb, xb, yb)
        if over > 0.0:
            total += W[U(i), U(j)] * over
            if total >= bound:
                return total
    if I[HAS_MATES] == 1:
        total += mate_cost(I, F, W, i, sheet, x, y)
    return total


@kernel
def mate_cost(I, F, W, i, sheet, x, y):
    """Return what an item's distance from its mates costs; much on another sheet."""
    total = 0.0
    for k in range(I[I[MATE_PTR] + i], I[I[MATE_PTR] + i + 1]):
        j = I[I[MATE] + k]
        other = I[I[AT_SHEET] + j]
        if other < 0:
            continue
        if other != sheet:
            total += W[i, j] * F[F_HEAD - 1]
        else:
            p = I[F_POS] + 2 * j
            total += F[MATE_PULL] * (abs(F[p] - x) + abs(F[p + 1] - y))
    return total


# ---------------------------------------------------------------- moving one item


@kernel
def pick_shape(I, i, sheet):
    """Return one of the shapes that an item may take on a sheet, or -1."""
    k = I[I[AT_KIND] + i] * I[SHEETS] + sheet
    first, last = I[I[OPT_PTR] + k], I[I[OPT_PTR] + k + 1]
    if first == last:
        return -1
    s = I[I[OPT] + first + int(rnd(I) * (last - first))]
    if I[I[GROUP] + i] >= 0:
        turn = I[I[TURN_ID] + I[I[AT_SHAPE] + i]]
        if I[I[TURN_ID] + s] != turn:
            start = int(rnd(I) * (last - first))
            for k in range(last - first):
                s = I[I[OPT] + first + (start + k) % (last - first)]
                if I[I[TURN_ID] + s] == turn:
                    return s
            return -1
    return s


@kernel
def way_out(I, F, J, sa, xa, ya, sb, xb, yb):
    """Return how far and which way the first shape must move to leave the deepest part pair.

    The last value is the pair's size factor.
    """
    swap = sa > sb
    if swap:
        sa, sb = sb, sa
        xa, xb = xb, xa
        ya, yb = yb, ya
    rec = record(I, F, J, sa, sb)
    c, s, flip, dx, dy = seen_from(I, F, sa, xa, ya, xb, yb)
    deepest, px, py = 0.0, 0.0, 0.0
    if dx <= F[rec + 1] or dx >= F[rec + 3] or dy <= F[rec + 2] or dy >= F[rec + 4]:
        return deepest, px, py, 0.0
    deep = U(0)
    if F[rec + 5] == 1.0:
        _, _, cell = on_table(F, U(rec), dx, dy)
        j = U(int(F[rec + 12]) + cell)
        for k in range(J[j], J[j + U(1)]):
            q = U(abs(J[U(k)]))
            d = block_depth(F, q, dx, dy)
            if d > deepest:
                deepest, deep = d, q
    else:
        q = U(rec + REC_W)
        for _ in range(int(F[rec])):
            if dx > F[q + U(1)] and dx < F[q + U(3)] and dy > F[q + U(2)] and dy < F[q + U(4)]:
                d = block_depth(F, q, dx, dy)
                if d > deepest:
                    deepest, deep = d, q
            q += U(BLOCK_W) + U(3 * LANES) * U(F[q])
    if deepest > 0.0:
        for h in range(LANES * int(F[deep])):
            q = U(plane(np.int64(deep), h))
            if F[q + U(2 * LANES)] - F[q] * dx - F[q + U(LANES)] * dy <= deepest:
                px, py = F[q], F[q + U(LANES)] * flip
                break
    wx, wy = c * px - s * py, s * px + c * py
    if not swap:
        wx, wy = -wx, -wy
    return deepest, wx, wy, F[rec + 14]


@kernel
def polish(I, F, T, J, W, i, slot, least):
    """Move the candidate in a slot to where it touches what it overlaps.

    The three heaviest overlaps say how far and which way it must move to end each. Tried
    are the moves that end the first or the second, both at once, the first along an axis,
    and the mean of two; the best counts, as often as something gets better and there is hope
    of less than `least`, what the best candidate so far weighs.
    """
    t = I[F_TOPK] + 5 * slot
    score, x, y = F[t], F[t + 1], F[t + 2]
    s, sheet = int(F[t + 3]), int(F[t + 4])
    n = I[ITEMS]
    for _ in range(I[POLISH]):
        if score <= 0.0:
            break
        w1, d1, x1, y1 = 0.0, 0.0, 0.0, 0.0
        w2, d2, x2, y2 = 0.0, 0.0, 0.0, 0.0
        w3, d3, x3, y3 = 0.0, 0.0, 0.0, 0.0
        count, obstacle = around(I, F, i, s, sheet, x, y)
        for k in range(I[NEIGHBOURS], I[NEIGHBOURS] + count):
            j = I[k]
            sb, xb, yb = neighbour(I, F, n, j, obstacle)
            d, nx, ny, factor = way_out(I, F, J, s, x, y, sb, xb, yb)
            if d <= 0.0:
                continue
            w = d * W[i, j] * factor
            if w > w1:
                w3, d3, x3, y3 = w2, d2, x2, y2
                w2, d2, x2, y2 = w1, d1, x1, y1
                w1, d1, x1, y1 = w, d, nx, ny
            elif w > w2:
                w3, d3, x3, y3 = w2, d2, x2, y2
                w2, d2, x2, y2 = w, d, nx, ny
            elif w > w3:
                w3, d3, x3, y3 = w, d, nx, ny
        if w1 <= 0.0:
            break
        better = False
        bx, by = x, y
        for c in range(7):
            u, v = 0.0, 0.0
            if c == 0:
                u, v = d1 * x1, d1 * y1
            elif c == 1:
                if w2 <= 0.0:
                    continue
                u, v = d2 * x2, d2 * y2
            elif c == 2 or c == 3:
                wk, dk, xk, yk = (w2, d2, x2, y2) if c == 2 else (w3, d3, x3, y3)
                det = x1 * yk - y1 * xk
                if wk <= 0.0 or abs(det) < PARALLEL:
                    continue
                u, v = (d1 * yk - dk * y1) / det, (x1 * dk - xk * d1) / det
            elif c == 4:
                if abs(x1) < STEEP:
                    continue
                u = d1 / x1
            elif c == 5:
                if abs(y1) < STEEP:
                    continue
                v = d1 / y1
            else:
                if w2 <= 0.0:
                    continue
                both = w1 / d1 + w2 / d2
                u, v = (x1 * w1 + x2 * w2) / both, (y1 * w1 + y2 * w2) / both
            ok, u, v = admit(I, F, i, s, sheet, x + CLEAR * u, y + CLEAR * v)
            if ok and (u != x or v != y):
                got = weigh(I, F, T, J, W, i, s, sheet, u, v, score)
                if got < score:
                    score, bx, by = got, u, v
                    better = True
        x, y = bx, by
        if not better or score > HOPELESS * least:
            break
    F[t], F[t + 1], F[t + 2] = score, x, y


@kernel
def offer(I, F, T, J, W, i, s, sheet, x, y):
    """Weigh a position and keep it if it is among the best."""
    ok, x, y = admit(I, F, i, s, sheet, x, y)
    if not ok:
        return
    top = I[N_TOP]
    t = I[F_TOPK]
    got = weigh(I, F, T, J, W, i, s, sheet, x, y, F[t + 5 * (top - 1)])
    if got >= F[t + 5 * (top - 1)]:
        return
    k = top - 1
    while k > 0 and F[t + 5 * (k - 1)] > got:
        for m in range(5):
            F[t + 5 * k + m] = F[t + 5 * (k - 1) + m]
        k -= 1
    F[t + 5 * k], F[t + 5 * k + 1], F[t + 5 * k + 2] = got, x, y
    F[t + 5 * k + 3], F[t + 5 * k + 4] = s, sheet


@kernel
def relocate(I, F, T, J, W, i):
    """Move an overlapping item to the best position found; return whether it moved."""
    p = I[F_POS] + 2 * i
    s0, sheet0, x0, y0 = I[I[AT_SHAPE] + i], I[I[AT_SHEET] + i], F[p], F[p + 1]
    now = weigh(I, F, T, J, W, i, s0, sheet0, x0, y0, FAR)
    if now <= 0.0:
        return False
    t = I[F_TOPK]
    for k in range(I[N_TOP]):
        F[t + 5 * k] = FAR
    size = F[I[F_SHAPE] + SHAPE_W * s0 + 11]
    offer(I, F, T, J, W, i, s0, sheet0, x0, y0)
    for _ in range(I[N_NEAR]):
        s = pick_shape(I, i, sheet0) if rnd(I) < 0.5 else s0
        if s < 0:
            continue
        u, v = rnd(I) - 0.5, rnd(I) - 0.5
        offer(I, F, T, J, W, i, s, sheet0, x0 + u * size * F[NEAR], y0 + v * size * F[NEAR])
    for _ in range(I[N_ANY]):
        sheet = int(rnd(I) * I[SHEETS])
        s = pick_shape(I, i, sheet)
        if s < 0:
            continue
        a0, b0, a1, b1 = domain(I, F, i, s, sheet)
        if a1 < a0 or b1 < b0:
            continue
        x, y = a0 + rnd(I) * (a1 - a0), b0 + rnd(I) * (b1 - b0)
        offer(I, F, T, J, W, i, s, sheet, x, y)
    best, least = I[ZERO], FAR
    for k in range(I[N_TOP]):
        if F[t + 5 * k] < FAR and least > 0.0:
            polish(I, F, T, J, W, i, k, least)
            if F[t + 5 * k] < least:
                best, least = k, F[t + 5 * k]
    if least > now:
        return False
    t += 5 * best
    put(I, F, i, int(F[t + 3]), int(F[t + 4]), F[t + 1], F[t + 2])
    return True


# ---------------------------------------------------------------- all items


@kernel
def note_pair(I, F, i, j, over):
    """Add a pair to the list of overlaps."""
    n = I[PAIRS_N]
    F[TOTAL] += over
    if n < I[PAIRS_CAP]:
        I[I[PAIRS] + 2 * n] = i
        I[I[PAIRS] + 2 * n + 1] = j
        F[I[F_PAIR] + n] = over
        I[PAIRS_N] = n + 1


@kernel
def list_overlaps(I, F, T, J):
    """List all overlapping pairs (the region is item number `items`) and sum them up."""
    for i in range(I[ITEMS]):
        I[I[MOVED] + i] = 1
    return relist_overlaps(I, F, T, J)


@kernel
def relist_overlaps(I, F, T, J):
    """List all overlapping pairs, where only some items have moved since the last time."""
    n, moved = I[ITEMS], I[MOVED]
    known = I[PAIRS_N]
    I[PAIRS_N] = 0
    F[TOTAL] = 0.0
    for k in range(known):
        i, j = I[I[PAIRS] + 2 * k], I[I[PAIRS] + 2 * k + 1]
        if I[moved + i] == 0 and (j == n or I[moved + j] == 0):
            note_pair(I, F, i, j, F[I[F_PAIR] + k])
    for i in range(n):
        sheet = I[I[AT_SHEET] + i]
        if I[moved + i] == 0 or sheet < 0:
            continue
        p = I[F_POS] + 2 * i
        x, y, s = F[p], F[p + 1], I[I[AT_SHAPE] + i]
        count, obstacle = around(I, F, i, s, sheet, x, y)
        for k in range(I[NEIGHBOURS], I[NEIGHBOURS] + count):
            j = I[k]
            if j > i or I[moved + j] == 0:
                sb, xb, yb = neighbour(I, F, n, j, obstacle)
                over = overlap(I, F, T, J, s, x, y, sb, xb, yb)
                if over > 0.0:
                    note_pair(I, F, min(i, j), max(i, j), over)
        if I[HAS_MATES] == 1:
            for k in range(I[I[MATE_PTR] + i], I[I[MATE_PTR] + i + 1]):
                j = I[I[MATE] + k]
                elsewhere = I[I[AT_SHEET] + j] != sheet and I[I[AT_SHEET] + j] >= 0
                if elsewhere and (j > i or I[moved + j] == 0):
                    note_pair(I, F, min(i, j), max(i, j), F[F_HEAD - 1])
    return F[TOTAL]


@kernel
def reweigh(I, F, W):
    """Make overlapping pairs heavier and let the others fade."""
    n = I[ITEMS]
    decay = F[DECAY]
    hot = I[HOT]
    for i in range(n):
        if I[hot + i] == 1:  # only these rows have weights above 1
            I[hot + i] = 0
            for j in range(n + 1):
                if W[i, j] > 1.0:
                    W[i, j] = max(W[i, j] * decay, 1.0)
                    I[hot + i] = 1
    largest = 0.0
    for k in range(I[PAIRS_N]):
        largest = max(largest, F[I[F_PAIR] + k])
    low, high = F[GROW_LO], F[GROW_HI]
    for k in range(I[PAIRS_N]):
        i, j = I[I[PAIRS] + 2 * k], I[I[PAIRS] + 2 * k + 1]
        factor = (low + (high - low) * F[I[F_PAIR] + k] / largest) / decay
        grown = min(W[i, j] * factor, 1e12)
        W[i, j] = grown
        I[hot + i] = 1
        if j < n:
            W[j, i] = grown
            I[hot + j] = 1


@kernel
def keep(I, F):
    """Remember the present positions as the best."""
    n = I[ITEMS]
    for i in range(n):
        F[I[F_BEST] + 2 * i] = F[I[F_POS] + 2 * i]
        F[I[F_BEST] + 2 * i + 1] = F[I[F_POS] + 2 * i + 1]
        I[I[BEST_SHAPE] + i] = I[I[AT_SHAPE] + i]
        I[I[BEST_SHEET] + i] = I[I[AT_SHEET] + i]


@kernel
def start(I, F, W):
    """Begin a separation from the present positions."""
    for i in range(I[ITEMS]):
        if I[I[HOT] + i] == 1:
            W[i, :] = 1.0
            I[I[HOT] + i] = 0
    I[SINCE] = 0
    I[ITERATION] = 0
    F[BEST_TOTAL] = FAR


@kernel
def separate(I, F, T, J, W, quota):
    """Move overlapping items until none overlap, it stalls, or about `quota` positions are weighed.

    Returns 1 if nothing overlaps, 2 if it stalled, 0 if the quota is used up; go on by
    calling again.
    """
    limit = I[EVALS] + quota
    n = I[ITEMS]
    order = I[ORDER]
    total = list_overlaps(I, F, T, J)
    while True:
        if total <= 0.0:  # a list that was full once has forgotten pairs that did not move
            total = list_overlaps(I, F, T, J)
        if total <= 0.0:
            F[BEST_TOTAL] = 0.0
            keep(I, F)
            return 1
        if total < F[BEST_TOTAL]:
            if total < 0.98 * F[BEST_TOTAL]:
                I[SINCE] = 0
            F[BEST_TOTAL] = total
            keep(I, F)
        if I[SINCE] >= I[PATIENCE]:
            return 2
        if I[EVALS] >= limit:
            return 0
        I[SINCE] += 1
        I[ITERATION] += 1
        reweigh(I, F, W)
        for k in range(I[WANTED_N]):
            build_table(I, F, T, J, I[I[WANTED] + k])
        I[WANTED_N] = 0
        m = 0
        for i in range(n):
            I[I[VISIT] + i] = 0
        for k in range(I[PAIRS_N]):
            for side in range(2):
                i = I[I[PAIRS] + 2 * k + side]
                if i < n and I[I[VISIT] + i] == 0:
                    I[I[VISIT] + i] = 1
                    I[order + m] = i
                    m += 1
        for k in range(m - 1, 0, -1):
            r = int(rnd(I) * (k + 1))
            swap = I[order + k]
            I[order + k] = I[order + r]
            I[order + r] = swap
        for i in range(n):
            I[I[MOVED] + i] = 0
        for k in range(m):
            if relocate(I, F, T, J, W, I[order + k]):
                I[I[MOVED] + I[order + k]] = 1
        total = relist_overlaps(I, F, T, J)


# ---------------------------------------------------------------- bottom-left


@kernel
def forbid(I, F, J, s, x, y, sb, xb, yb, along_y, out, count):
    """Append the intervals in which the first shape would overlap the second.

    Along x (at this y), or along y (at this x) if `along_y` is 1. `out`: (n, 2) floats.
    """
    swap = s > sb
    sa, s2 = (sb, s) if swap else (s, sb)
    rec = record(I, F, J, sa, s2)
    o = I[F_SHAPE] + SHAPE_W * sa
    c, sn = F[o], F[o + 1]
    flip = -1.0 if I[I[FLIP] + sa] == 1 else 1.0
    tol = 0.5 * F[TOL]
    # second less first at coordinate 0, and how it changes: a line in the record's frame
    sign = 1.0 if swap else -1.0
    ex = sign * ((0.0 if along_y == 0 else x) - xb)
    ey = sign * ((0.0 if along_y == 1 else y) - yb)
    ux, uy = (sign, 0.0) if along_y == 0 else (0.0, sign)
    px, py = c * ex + sn * ey, flip * (c * ey - sn * ex)
    vx, vy = c * ux + sn * uy, flip * (c * uy - sn * ux)
    q = rec + REC_W
    for _ in range(int(F[rec])):
        m = int(F[q])
        low, high = -FAR, FAR
        if abs(vx) > 1e-12:
            t0, t1 = (F[q + 1] - px) / vx, (F[q + 3] - px) / vx
            low, high = max(low, min(t0, t1)), min(high, max(t0, t1))
        elif px <= F[q + 1] or px >= F[q + 3]:
            high = -FAR
        if abs(vy) > 1e-12:
            t0, t1 = (F[q + 2] - py) / vy, (F[q + 4] - py) / vy
            low, high = max(low, min(t0, t1)), min(high, max(t0, t1))
        elif py <= F[q + 2] or py >= F[q + 4]:
            high = -FAR
        for number in range(LANES * m):
            if low >= high:
                break
            h = plane(q, number)
            k = F[h] * vx + F[h + LANES] * vy
            rest = F[h + 2 * LANES] - F[h] * px - F[h + LANES] * py - tol
            if k > 1e-12:
                high = min(high, rest / k)
            elif k < -1e-12:
                low = max(low, rest / k)
            elif rest <= 0.0:
                high = -FAR
        if low < high and count < out.shape[0]:
            out[count, 0], out[count, 1] = low, high
            count += 1
        q = following(F, q)
    return count


@kernel
def slide(I, F, J, i, s, sheet, x, y, along_y, lowest, out, down):
    """Return a free coordinate along one axis.

    The least from `lowest` on; or, if `down` is 1, how far the item can sink from where it
    is towards `lowest` without jumping over another.
    """
    o = I[F_SHAPE] + SHAPE_W * s
    here = y if along_y == 1 else x
    last = here if down == 1 else FAR
    if along_y == 1:
        a0, a1 = x + F[o + 2], x + F[o + 4]
        b0, b1 = lowest + F[o + 3], last + F[o + 5]
    else:
        a0, a1 = lowest + F[o + 2], last + F[o + 4]
        b0, b1 = y + F[o + 3], y + F[o + 5]
    count = I[ZERO]
    obstacle = I[I[OBSTACLE] + I[I[AT_KIND] + i] * I[SHEETS] + sheet]
    n = I[ITEMS]
    for j in range(n + 1):
        if j == n:
            if obstacle < 0:
                break
        else:
            if (
                not meets(F, U(I[F_BOX] + j), U(I[BOX_STRIDE]), a0, b0, a1, b1)
                or j == i
                or I[I[AT_SHEET] + j] != sheet
            ):
                continue
        sb, xb, yb = neighbour(I, F, n, j, obstacle)
        count = forbid(I, F, J, s, x, y, sb, xb, yb, along_y, out, count)
    if down == 1:
        low = lowest
        for k in range(count):
            if out[k, 1] <= here + F[TOL]:
                low = max(low, out[k, 1])
            elif out[k, 0] < here:
                return here
        return min(low, here)
    start = lowest
    moved = True
    while moved:
        moved = False
        for k in range(count):
            if out[k, 0] < start and start < out[k, 1]:
                start = out[k, 1]
                moved = True
    return start


@kernel
def next_admissible(I, F, i, s, sheet, x, y):
    """Return the least x' >= x at which the item is on its lattice (y is already)."""
    ok, u, _ = admit(I, F, i, s, sheet, x, y)
    if not ok:
        return FAR
    if u >= x - F[TOL]:
        return u
    along = F[I[F_LATTICE] + LATTICE_W * I[I[AT_KIND] + i]]
    ok, u, _ = admit(I, F, i, s, sheet, x + 0.6 * along, y)
    return u if ok and u >= x - F[TOL] else FAR


@kernel
def bottom_left(I, F, J, i, sheet, lines, memo, out, turn):
    """Put an item as far left as its lines allow; return whether it found room.

    `lines`: tries across the sheet; `memo` (shapes, >= 3 * lines + 8) holds how far left
    each line can at best be used, which only grows while a sheet fills up. `turn`: the
    turn number it must take, or -1.
    """
    k0 = I[I[AT_KIND] + i] * I[SHEETS] + sheet
    zero, one = I[ZERO], I[ZERO] + 1
    best, bs, bx, by = FAR, zero - 1, 0.0, 0.0
    n_memo = memo.shape[1]
    for k in range(I[I[OPT_PTR] + k0], I[I[OPT_PTR] + k0 + 1]):
        s = I[I[OPT] + k]
        if turn >= 0 and I[I[TURN_ID] + s] != turn:
            continue
        x0, y0, x1, y1 = domain(I, F, i, s, sheet)
        if x1 < x0 or y1 < y0:
            continue
        o = I[F_SHAPE] + SHAPE_W * s
        height = F[o + 5] - F[o + 3]
        count = int((y1 - y0) / height) + 1 if height > 0 else 1
        count = min(count, (n_memo - lines) // 2)
        total = lines + 2 * count if y1 > y0 else 1
        for line in range(total):
            if line < lines:
                y = y0 + (y1 - y0) * line / max(lines - 1, 1)
            elif line < lines + count:
                y = y0 + height * (line - lines)
            else:
                y = y1 - height * (line - lines - count)
            if y > y1 or y < y0:
                continue
            ok, _, v = admit(I, F, i, s, sheet, x0, y)
            if I[HAS_LATTICE] == 1:
                if not ok:
                    ok, _, v = admit(I, F, i, s, sheet, 0.5 * (x0 + x1), y)
                if not ok:
                    continue
                y = v
            x = max(x0, memo[s, line])
            if x + F[o + 8] >= best:
                continue
            while True:
                x = slide(I, F, J, i, s, sheet, x, y, zero, x, out, zero)
                if x > x1:
                    break
                if I[HAS_LATTICE] == 0:
                    break
                u = next_admissible(I, F, i, s, sheet, x, y)
                if u > x1 + F[TOL] or u <= x + F[TOL]:
                    x = u
                    break
                x = u
            memo[s, line] = max(memo[s, line], x)
            if x > x1 + F[TOL]:
                continue
            score = x + F[o + 8] + 1e-3 * height * (y - y0) / (y1 - y0 + height)
            if score < best:
                best, bs, bx, by = score, s, x, y
    if bs < 0:
        return False
    if I[HAS_LATTICE] == 0:
        x0, y0, x1, y1 = domain(I, F, i, bs, sheet)
        for round_ in range(6):
            along_y = one - round_ % 2
            got = slide(
                I, F, J, i, bs, sheet, bx, by, along_y, y0 if along_y == 1 else x0, out, one
            )
            if along_y == 1:
                by = got
            else:
                bx = got
    put(I, F, i, bs, sheet, bx, by)
    return True


# ---------------------------------------------------------------- constraints for the LP


@kernel
def constraints(I, F, J, reach, pairs, rows):
    """Write for every two near convex parts the half-plane that separates them best.

    `reach`: how far items may come nearer each other. `pairs` (n, 2) integers: the items
    (the second is the number of items for the region); `rows` (n, 3): normal and the
    present gap along it (negative: overlap). Returns their number, -1 if more than n.
    """
    n = I[ITEMS]
    count = 0
    for i in range(n):
        if I[I[AT_SHEET] + i] < 0:
            continue
        qi, stride = I[F_BOX] + i, I[BOX_STRIDE]
        a0, b0 = F[qi] - reach, F[qi + stride] - reach
        a1, b1 = F[qi + 2 * stride] + reach, F[qi + 3 * stride] + reach
        for j in range(i + 1, n + 1):
            sa = I[I[AT_SHAPE] + i]
            xa, ya = F[I[F_POS] + 2 * i], F[I[F_POS] + 2 * i + 1]
            if j < n:
                if not meets(F, U(I[F_BOX] + j), U(stride), a0, b0, a1, b1):
                    continue
                sb = I[I[AT_SHAPE] + j]
                xb, yb = F[I[F_POS] + 2 * j], F[I[F_POS] + 2 * j + 1]
            else:
                sb = I[I[OBSTACLE] + I[I[AT_KIND] + i] * I[SHEETS] + I[I[AT_SHEET] + i]]
                if sb < 0:
                    continue
                xb, yb = F[I[F_SHAPE] + SHAPE_W * sb + 14], 0.0
            swap = sa > sb
            if swap:
                sa, sb = sb, sa
                xa, xb = xb, xa
                ya, yb = yb, ya
            rec = record(I, F, J, sa, sb)
            c, s, flip, dx, dy = seen_from(I, F, sa, xa, ya, xb, yb)
            q = rec + REC_W
            for _ in range(int(F[rec])):
                m = int(F[q])
                if (
                    dx > F[q + 1] - reach
                    and dx < F[q + 3] + reach
                    and dy > F[q + 2] - reach
                    and dy < F[q + 4] + reach
                ):
                    best, bn = -FAR, 0
                    for h in range(LANES * m):
                        k = plane(q, h)
                        gap = F[k] * dx + F[k + LANES] * dy - F[k + 2 * LANES]
                        if gap > best:
                            best, bn = gap, k
                    if best < reach:
                        if count >= rows.shape[0]:
                            return -1
                        nx, ny = F[bn], F[bn + LANES] * flip
                        wx, wy = c * nx - s * ny, s * nx + c * ny
                        if swap:  # the normal points from the second to the first
                            wx, wy = -wx, -wy
                        pairs[count, 0], pairs[count, 1] = i, j
                        rows[count, 0], rows[count, 1], rows[count, 2] = wx, wy, best
                        count += 1
                q = following(F, q)
    return count
