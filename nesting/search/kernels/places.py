# mypy: disable-error-code="no-untyped-def, assignment"
"""Where items are, where they may be, and which lie near a place.

Neighbours are found by looking at all boxes, or, of many items, in a grid (see `grid`); those
that are much bigger than most stand in a list.
"""

from __future__ import annotations

import math

import numpy as np

from nesting.search.kernels.compiled import inlined, kernel
from nesting.search.kernels.grid import cell_at, link, lowered, unlink
from nesting.search.kernels.tables import (
    FAR,
    HIGH,
    LOW,
    MEMBERS,
    NOWHERE,
    WORDS,
    U,
    big_of,
    boxes_of,
    buckets_of,
    domains_of,
    ends_of,
    item_at,
    items_of,
    kind_of,
    members_of,
    movers_of,
    neighbours_of,
    obstacles_of,
    on_sheet,
    phases_of,
    shape_at,
)
from nesting.search.kernels.vectors import BOXES, hits, lowest_bit

# ---------------------------------------------------------------- putting


@kernel
def mark(state, i):
    """Note that an item has moved since overlaps were listed."""
    item = item_at(state, i)
    if item.moved == 0:
        item.moved = 1
        movers_of(state)[state.mover_count] = i
        state.mover_count += 1


@kernel
def unmark(state, count):
    """Forget what has moved, but for the first so many."""
    movers = movers_of(state)
    for k in range(count, state.mover_count):
        item_at(state, movers[k]).moved = 0
    state.mover_count = min(count, state.mover_count)


@kernel
def put(state, i, s, sheet, x, y):
    """Move an item."""
    item, shape, boxes, stride = (
        item_at(state, i),
        shape_at(state, s),
        boxes_of(state),
        state.stride,
    )
    if state.grid_x > 0 and item.big == 0:
        unlink(state, i)
    mark(state, i)
    item.x, item.y, item.form, item.sheet = x, y, s, sheet
    boxes[i], boxes[stride + i] = x + shape.left, y + shape.bottom
    boxes[2 * stride + i], boxes[3 * stride + i] = x + shape.right, y + shape.top
    if state.grid_x > 0 and item.big == 0:
        link(state, i)


@kernel
def remove(state, i):
    """Take an item off: its box is nowhere."""
    mark(state, i)
    boxes, stride = boxes_of(state), state.stride
    if state.grid_x > 0 and item_at(state, i).big == 0:
        unlink(state, i)
    boxes[i] = boxes[stride + i] = FAR
    boxes[2 * stride + i] = boxes[3 * stride + i] = -FAR
    item_at(state, i).sheet = NOWHERE


# ---------------------------------------------------------------- where it may be


@inlined
def domain(state, i, s, sheet):
    """Return the least and largest x and y of an item's origin in that shape on that sheet."""
    room, shape = domains_of(state)[on_sheet(state, i, sheet)], shape_at(state, s)
    x0, y0 = room.left - shape.true_left, room.bottom - shape.true_bottom
    x1, y1 = room.right - shape.true_right, room.top - shape.true_top
    slack = state.tolerance
    if x1 < x0 and x1 > x0 - slack:
        x1 = x0
    if y1 < y0 and y1 > y0 - slack:
        y1 = y0
    edge = kind_of(state, i).edge
    if edge == LOW:
        y1 = min(y0, y1)
    elif edge == HIGH:
        y0 = max(y0, y1)
    return x0, y0, x1, y1


@kernel
def nearest_on(value, period, origin, tolerance, low, high, slack):
    """Return the number nearest to `value` within `tolerance` of a multiple, from low to high.

    If there is none it lies outside low..high. What is beyond by no more than `slack` is
    rounding, and not worth a whole period.
    """
    k = math.floor((value - origin) / period + 0.5)
    centre = origin + k * period
    if centre - tolerance > high + slack:
        centre -= period
    elif centre + tolerance < low - slack:
        centre += period
    got = min(max(value, centre - tolerance), centre + tolerance)
    kept = min(max(got, low), high)
    return kept if abs(kept - centre) <= tolerance else got


@kernel
def lattice_origin(state, i, s):
    """Return where an item's origin is if its anchor is on its lattice's origin."""
    kind, shape = kind_of(state, i), shape_at(state, s)
    x, y = kind.origin_x - shape.anchor_x, kind.origin_y - shape.anchor_y
    if kind.phase >= 0:
        phase = phases_of(state)[kind.phase]
        x += phase.x
        y += phase.y
    return x, y


@kernel
def admit(state, i, s, sheet, x, y):
    """Return the nearest admissible position: in the sheet's box, on the lattice.

    The first value is False if there is none.
    """
    x0, y0, x1, y1 = domain(state, i, s, sheet)
    if x1 < x0 or y1 < y0:
        return False, x, y
    x, y = min(max(x, x0), x1), min(max(y, y0), y1)
    if state.has_lattice == 0:
        return True, x, y
    kind = kind_of(state, i)
    along, across = kind.along, kind.across
    if along <= 0.0 and across <= 0.0:
        return True, x, y
    ox, oy = lattice_origin(state, i, s)
    slack = state.tolerance
    here, there, odd = x, y, 0
    if across > 0.0:
        there = nearest_on(y, across, oy, kind.tolerance, y0, y1, slack)
        odd = math.floor((there - oy) / across + 0.5) & 1
    if along > 0.0:
        shift = kind.drop * along if odd == 1 else 0.0
        here = nearest_on(x, along, ox + shift, kind.tolerance, x0, x1, slack)
    good = x0 - slack <= here <= x1 + slack and y0 - slack <= there <= y1 + slack
    if not good and along > 0.0 and across > 0.0 and kind.drop != 0.0:
        # Rows that are shifted by a drop may have a place where those nearest have none.
        row, shift = (oy, 0.0) if odd == 1 else (oy + across, kind.drop * along)
        there = nearest_on(y, 2.0 * across, row, kind.tolerance, y0, y1, slack)
        here = nearest_on(x, along, ox + shift, kind.tolerance, x0, x1, slack)
        good = x0 - slack <= here <= x1 + slack and y0 - slack <= there <= y1 + slack
    return good, here, there


@kernel
def put_all(state, at, forms, sheets, first):
    """Put items from number `first` on, each at its nearest admissible position.

    `at` (n, 2), `forms` and `sheets` (n,). Returns the first item that has none, which stays
    where it was; the number of items if all have one.
    """
    for i in range(first, state.item_count):
        if sheets[i] < 0:
            remove(state, i)
            continue
        ok, x, y = admit(state, i, forms[i], sheets[i], at[i, 0], at[i, 1])
        if not ok:
            return i
        put(state, i, forms[i], sheets[i], x, y)
    return state.item_count


@kernel
def all_domains(state, forms, sheets, out):
    """Write the domains of all items, see `domain`; (n, 4), zeros for what lies nowhere."""
    for i in range(state.item_count):
        out[i, 0] = out[i, 1] = out[i, 2] = out[i, 3] = 0.0
        if sheets[i] >= 0:
            x0, y0, x1, y1 = domain(state, i, forms[i], sheets[i])
            out[i, 0], out[i, 1], out[i, 2], out[i, 3] = x0, y0, x1, y1


# ---------------------------------------------------------------- what is near


@inlined
def meets(boxes, j, stride, left, bottom, right, top):
    """Tell whether an item's box overlaps a box."""
    return (
        (boxes[j] < right)
        & (boxes[j + stride] < top)
        & (boxes[j + U(2) * stride] > left)
        & (boxes[j + U(3) * stride] > bottom)
    )


@inlined
def list_by_boxes(state, i, left, bottom, right, top):
    """List the other items whose boxes overlap a box; return how many."""
    boxes, near = boxes_of(state), neighbours_of(state)
    stride, count = U(state.stride), U(0)
    for first in range(0, state.stride, 64):
        found = U(0)
        for j in range(first, min(first + 64, state.stride), BOXES):
            found |= hits(boxes, U(j), stride, left, bottom, right, top) << U(j - first)
        if first <= i < first + 64:
            found &= ~(U(1) << U(i - first))
        while found > U(0):
            near[count] = first + np.int64(lowest_bit(found))
            count += U(1)
            found &= found - U(1)
    return np.int64(count)


@inlined
def list_by_grid(state, i, left, bottom, right, top):
    """List the other items whose boxes overlap a box; return how many."""
    boxes, near, members = boxes_of(state), neighbours_of(state), members_of(state)
    big, buckets, ends, stride = big_of(state), buckets_of(state), ends_of(state), U(state.stride)
    count = U(0)
    for k in range(state.big_count):
        j = big[U(k)]
        near[count] = j  # it counts only if it hits: cheaper than a branch
        count += U(meets(boxes, U(j), stride, left, bottom, right, top) & (j != i))
    x0, y0 = cell_at(state, left, bottom)
    x1, y1 = cell_at(state, right, top)
    low_x, low_y, high_x, high_y = lowered(left), lowered(bottom), -lowered(-right), -lowered(-top)
    for cy in range(y0, y1 + 1):
        for cx in range(x0, x1 + 1):
            b = cy * state.grid_x + cx
            while b >= 0:
                bucket, at = buckets[U(b)], U(WORDS * b)
                found = hits(ends, at, U(BOXES), low_x, low_y, high_x, high_y)
                if cx > x0:
                    found &= bucket.begin_x
                if cy > y0:
                    found &= bucket.begin_y
                while found > U(0):
                    j = members[at + U(MEMBERS) + lowest_bit(found)]
                    near[count] = j
                    count += U(j != i)
                    found &= found - U(1)
                b = bucket.following
    return np.int64(count)


@inlined
def drop_held(state, count):
    """Leave held items out of those that are near: what is held is never in its own way."""
    near, items = neighbours_of(state), items_of(state)
    kept = 0
    for k in range(count):
        j = near[k]
        if items[j].held == 0:
            near[kept] = j
            kept += 1
    return kept


@inlined
def around(state, i, s, sheet, x, y):
    """List what may overlap an item at a position; return how many, and the region's obstacle.

    The region is number `item_count`.
    """
    shape = shape_at(state, s)
    left, bottom, right, top = x + shape.left, y + shape.bottom, x + shape.right, y + shape.top
    if state.grid_x == 0:
        count = list_by_boxes(state, i, left, bottom, right, top)
    else:
        count = list_by_grid(state, i, left, bottom, right, top)
    if state.has_held == 1 and item_at(state, i).held == 1:
        count = drop_held(state, count)
    obstacle = obstacles_of(state)[on_sheet(state, i, sheet)]
    if obstacle >= 0:
        neighbours_of(state)[U(count)] = state.item_count
        count += 1
    return count, obstacle


@inlined
def neighbour(state, j, obstacle):
    """Return the shape and position of an item, or of the region if j is the number of items."""
    if j == state.item_count:
        return obstacle, shape_at(state, obstacle).x, 0.0
    item = item_at(state, j)
    return item.form, item.x, item.y
