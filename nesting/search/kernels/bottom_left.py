# mypy: disable-error-code="no-untyped-def, assignment"
"""First markers: an item as far left, then as low, as it will go among those that lie."""

from __future__ import annotations

import numpy as np

from nesting.search.kernels.compiled import inlined, kernel
from nesting.search.kernels.pairs import (
    BOTTOM,
    GROUPS,
    LEFT,
    RIGHT,
    TOP,
    following,
    pair_of,
    plane,
    seen_from,
)
from nesting.search.kernels.places import admit, domain, meets, neighbour, put
from nesting.search.kernels.tables import (
    FAR,
    U,
    blocks_of,
    boxes_of,
    first_option_of,
    item_at,
    kind_of,
    obstacles_of,
    on_sheet,
    options_of,
    shape_at,
)
from nesting.search.kernels.vectors import LANES

ALONG, ACROSS = np.int64(0), np.int64(1)
"""The axis on which an item slides: x or y."""
FLAT = 1e-12
"""A component of a direction that is no larger counts as none."""
SETTLINGS = 6
"""So often an item sinks, across and along in turn, once it has its place."""
TILT = 1e-3
"""What a share of the width counts for beside as many heights of length."""


@inlined
def cut(low, high, rest, slope):
    """Return the part of low..high where slope · t < rest; empty if it is nowhere."""
    if slope > FLAT:
        high = min(high, rest / slope)
    elif slope < -FLAT:
        low = max(low, rest / slope)
    elif rest <= 0.0:
        high = -FAR
    return low, high


@kernel
def forbid(state, own, other, axis, out, count):
    """Append the intervals in which a shape would overlap another; return how many there are.

    `own`, `other`: shape, x, y; the first slides along an axis, where its own coordinate
    does not count. `out`: (n, 2) floats.
    """
    s, x, y = own
    o, xb, yb = other
    swap = s > o
    a, b = (o, s) if swap else (s, o)
    pair, shape, blocks = pair_of(state, a, b), shape_at(state, a), blocks_of(state)
    tolerance = 0.5 * state.tolerance
    # second less first at coordinate 0, and how it changes: a line in the record's frame
    sign = 1.0 if swap else -1.0
    ahead = sign * ((0.0 if axis == ALONG else x) - xb)
    aside = sign * ((0.0 if axis == ACROSS else y) - yb)
    px, py = seen_from(shape, ahead, aside)
    ux, uy = (sign, 0.0) if axis == ALONG else (0.0, sign)
    vx, vy = seen_from(shape, ux, uy)
    q = pair.blocks
    for _ in range(pair.count):
        low, high = -FAR, FAR
        if abs(vx) > FLAT:
            t0, t1 = (blocks[q + LEFT] - px) / vx, (blocks[q + RIGHT] - px) / vx
            low, high = max(low, min(t0, t1)), min(high, max(t0, t1))
        elif px <= blocks[q + LEFT] or px >= blocks[q + RIGHT]:
            high = -FAR
        if abs(vy) > FLAT:
            t0, t1 = (blocks[q + BOTTOM] - py) / vy, (blocks[q + TOP] - py) / vy
            low, high = max(low, min(t0, t1)), min(high, max(t0, t1))
        elif py <= blocks[q + BOTTOM] or py >= blocks[q + TOP]:
            high = -FAR
        for number in range(LANES * int(blocks[q + GROUPS])):
            if low >= high:
                break
            h = plane(q, number)
            nx, ny = blocks[h], blocks[h + LANES]
            rest = blocks[h + 2 * LANES] - nx * px - ny * py - tolerance
            low, high = cut(low, high, rest, nx * vx + ny * vy)
        if low < high and count < out.shape[0]:
            out[count, 0], out[count, 1] = low, high
            count += 1
        q = np.int64(following(blocks, U(q)))
    return count


@kernel
def forbidden(state, i, own, sheet, axis, low, high, out):
    """Write the intervals that an item may not be in if it slides from low to high."""
    s, x, y = own
    shape, boxes, stride = shape_at(state, s), boxes_of(state), U(state.stride)
    x0, x1 = (low, high) if axis == ALONG else (x, x)
    y0, y1 = (low, high) if axis == ACROSS else (y, y)
    left, bottom, right, top = x0 + shape.left, y0 + shape.bottom, x1 + shape.right, y1 + shape.top
    count = 0
    for j in range(state.item_count):
        if (
            meets(boxes, U(j), stride, left, bottom, right, top)
            and j != i
            and item_at(state, j).sheet == sheet
        ):
            count = forbid(state, own, neighbour(state, j, -1), axis, out, count)
    obstacle = obstacles_of(state)[on_sheet(state, i, sheet)]
    if obstacle >= 0:
        region = neighbour(state, state.item_count, obstacle)
        count = forbid(state, own, region, axis, out, count)
    return count


@kernel
def slide(state, i, own, sheet, axis, low, out):
    """Return an item's least free coordinate on an axis from low on."""
    count = forbidden(state, i, own, sheet, axis, low, FAR, out)
    moved = True
    while moved:
        moved = False
        for k in range(count):
            if out[k, 0] < low and low < out[k, 1]:
                low = out[k, 1]
                moved = True
    return low


@kernel
def sink(state, i, own, sheet, axis, low, out):
    """Return how far an item can sink towards low without jumping over another."""
    here = own[1] if axis == ALONG else own[2]
    count = forbidden(state, i, own, sheet, axis, low, here, out)
    for k in range(count):
        if out[k, 1] <= here + state.tolerance:
            low = max(low, out[k, 1])
        elif out[k, 0] < here:
            return here
    return min(low, here)


@kernel
def next_admissible(state, i, s, sheet, x, y):
    """Return the least x' >= x at which the item is on its lattice (y is already)."""
    ok, u, _ = admit(state, i, s, sheet, x, y)
    if not ok:
        return FAR
    if u >= x - state.tolerance:
        return u
    ok, u, _ = admit(state, i, s, sheet, x + 0.6 * kind_of(state, i).along, y)
    return u if ok and u >= x - state.tolerance else FAR


@kernel
def first_free(state, i, own, sheet, end, out):
    """Return the least free and admissible x of an item from its own on; beyond `end` is none."""
    s, x, y = own
    while True:
        x = slide(state, i, (s, x, y), sheet, ALONG, x, out)
        if x > end or state.has_lattice == 0:
            return x
        u = next_admissible(state, i, s, sheet, x, y)
        if u > end + state.tolerance or u <= x + state.tolerance:
            return u
        x = u


@inlined
def line_at(number, lines, stack, height, low, high):
    """Return the y of a line: evenly between low and high, or stacked from either edge."""
    if number < lines:
        return low + (high - low) * number / max(lines - 1, 1)
    if number < lines + stack:
        return low + height * (number - lines)
    return high - height * (number - lines - stack)


@kernel
def on_lattice(state, i, s, sheet, y, ends):
    """Return whether there is an admissible y near y, and which."""
    x0, x1 = ends
    if state.has_lattice == 0:
        return True, y
    ok, _, v = admit(state, i, s, sheet, x0, y)
    if not ok:
        ok, _, v = admit(state, i, s, sheet, 0.5 * (x0 + x1), y)
    return ok, v


@kernel
def settle(state, i, own, sheet, out):
    """Put an item where it sinks to from a place, up and down and to the left in turn."""
    s, x, y = own
    if state.has_lattice == 0:
        x0, y0, _, _ = domain(state, i, s, sheet)
        for round_ in range(SETTLINGS):
            if round_ % 2 == 0:
                y = sink(state, i, (s, x, y), sheet, ACROSS, y0, out)
            else:
                x = sink(state, i, (s, x, y), sheet, ALONG, x0, out)
    put(state, i, s, sheet, x, y)


@kernel
def bottom_left(state, i, sheet, lines, memo, out, turn):
    """Put an item as far left as its lines allow; return whether it found room.

    `lines`: tries across the sheet; `memo` (shapes, >= 3 * lines) holds how far left
    each line can at best be used, which only grows while a sheet fills up. `turn`: the
    turn number it must take, or -1.
    """
    first_option, options = first_option_of(state), options_of(state)
    place = on_sheet(state, i, sheet)
    least, best = FAR, (np.int64(-1), 0.0, 0.0)
    for k in range(first_option[place], first_option[place + U(1)]):
        s = options[k]
        shape = shape_at(state, s)
        if turn >= 0 and shape.turn != turn:
            continue
        x0, y0, x1, y1 = domain(state, i, s, sheet)
        if x1 < x0 or y1 < y0:
            continue
        height = shape.top - shape.bottom
        stack = int((y1 - y0) / height) + 1 if height > 0 else 1
        stack = min(stack, (memo.shape[1] - lines) // 2)
        for line in range(lines + 2 * stack if y1 > y0 else 1):
            y = line_at(line, lines, stack, height, y0, y1)
            if y > y1 or y < y0:
                continue
            ok, y = on_lattice(state, i, s, sheet, y, (x0, x1))
            x = max(x0, memo[s, line])
            if not ok or x + shape.true_right >= least:
                continue
            x = first_free(state, i, (s, x, y), sheet, x1, out)
            memo[s, line] = max(memo[s, line], x)
            if x > x1 + state.tolerance:
                continue
            score = x + shape.true_right + TILT * height * (y - y0) / (y1 - y0 + height)
            if score < least:
                least, best = score, (s, x, y)
    if best[0] < 0:
        return False
    settle(state, i, best, sheet, out)
    return True
