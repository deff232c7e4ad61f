"""Kernels of the beam search that fills a box from the bottom, gap by gap.

A state is a skyline (the upper edge of what is laid, as steps from left to right), how
many boxes of each kind are left, and the area wasted below the skyline. All arrays of
a `States` have one row a state.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from nesting.search.kernels.compiled import compiled

__all__ = ["Children", "Room", "States", "Trail", "breed", "grow"]


class Room(NamedTuple):
    """What is to be filled, and with what.

    `ways`: m × 3 of (width, height, kind), one row for each kind and turn, tallest
    first. `worth`: of laying one, for each way. `turns`: how many ways each kind has.
    `salt`: a random number for each kind. `base` and `wall`: inner width and height;
    `budget`: area that may be wasted.
    """

    ways: np.ndarray
    worth: np.ndarray
    turns: np.ndarray
    salt: np.ndarray
    base: int
    wall: int
    budget: int


class States(NamedTuple):
    """Rows of states: steps (left end `x`, level `y`, `steps` of them), what is left, sums."""

    x: np.ndarray
    y: np.ndarray
    steps: np.ndarray
    left: np.ndarray
    waste: np.ndarray
    worth: np.ndarray
    key: np.ndarray


class Children(NamedTuple):
    """Possible next states: their score (less is better), parent row, way laid,
    gaps given up before, and whether it lies at the right end of the gap.
    """

    score: np.ndarray
    parent: np.ndarray
    way: np.ndarray
    lifts: np.ndarray
    right: np.ndarray


class Trail(NamedTuple):
    """How the rows of one level came about: parent row, way, and place of its corner."""

    parent: np.ndarray
    way: np.ndarray
    x: np.ndarray
    y: np.ndarray


@compiled(nogil=True)
def _mix(a):  # type: ignore[no-untyped-def]
    """Scramble 64 bits (the finaliser of MurmurHash3, public domain)."""
    a = np.uint64(a)
    a ^= a >> np.uint64(33)
    a *= np.uint64(0xFF51AFD7ED558CCD)
    a ^= a >> np.uint64(33)
    a *= np.uint64(0xC4CEB9FE1A85EC53)
    a ^= a >> np.uint64(33)
    return a


@compiled(nogil=True)
def _lowest(ys, n):  # type: ignore[no-untyped-def]
    """Return the leftmost of the lowest steps."""
    j = 0
    for i in range(1, n):
        if ys[i] < ys[j]:
            j = i
    return j


@compiled(nogil=True)
def _drop(xs, ys, n, j):  # type: ignore[no-untyped-def]
    """Remove step j: the one before it takes over."""
    for i in range(j, n - 1):
        xs[i] = xs[i + 1]
        ys[i] = ys[i + 1]
    return n - 1


@compiled(nogil=True)
def _merge(xs, ys, n, j):  # type: ignore[no-untyped-def]
    """Join step j with neighbours of its level."""
    if j + 1 < n and ys[j + 1] == ys[j]:
        n = _drop(xs, ys, n, j + 1)
    if j > 0 and ys[j - 1] == ys[j]:
        n = _drop(xs, ys, n, j)
    return n


@compiled(nogil=True)
def _lift(xs, ys, n, room):  # type: ignore[no-untyped-def]
    """Give up the lowest gap: raise it to its lower neighbour; return steps and waste."""
    j = _lowest(ys, n)
    gap = (xs[j + 1] if j + 1 < n else room.base) - xs[j]
    left = ys[j - 1] if j > 0 else room.wall
    right = ys[j + 1] if j + 1 < n else room.wall
    to = min(left, right)
    waste = gap * (to - ys[j])
    ys[j] = to
    return _merge(xs, ys, n, j), waste


@compiled(nogil=True)
def _two_narrowest(left, ways):  # type: ignore[no-untyped-def]
    """Return the least width among the boxes left, and among those without one such."""
    first = second = np.int64(1) << 60
    for v in range(ways.shape[0]):
        count = left[ways[v, 2]]
        if count <= 0:
            continue
        width = ways[v, 0]
        if width < first:
            second = first if count == 1 else width
            first = width
        elif width < second:
            second = width
        if count > 1 and width < second:
            second = width
    return first, second


@compiled(nogil=True)
def breed(states, rows, room, children, weights, both, seed):  # type: ignore[no-untyped-def]
    """Write down every way to fill the lowest gap of every state; return how many.

    Parameters
    ----------
    states, rows
        The states, and how many rows count.
    room
        What is to be filled.
    children
        Receives the children; its size limits their number.
    weights
        (roughness, noise): a child scores waste + roughness × steps, less the worth of
        all that is laid, plus up to noise.
    both
        Whether a box may also lie at the right end of a gap.
    seed
        Of the noise.

    """
    ways = room.ways
    rough, noise = weights[0], weights[1]
    xs = np.empty(states.x.shape[1], np.int64)
    ys = np.empty(states.x.shape[1], np.int64)
    made = 0
    for k in range(rows):
        n = states.steps[k]
        xs[:n] = states.x[k, :n]
        ys[:n] = states.y[k, :n]
        waste = states.waste[k]
        narrow, narrow2 = _two_narrowest(states.left[k], ways)
        lifts = 0
        fits = False
        while not fits:
            j = _lowest(ys, n)
            y = ys[j]
            if y >= room.wall:
                break
            gap = (xs[j + 1] if j + 1 < n else room.base) - xs[j]
            inner_l, inner_r = j > 0, j + 1 < n
            up_l = (ys[j - 1] if inner_l else room.wall) - y
            up_r = (ys[j + 1] if inner_r else room.wall) - y
            for v in range(ways.shape[0] if gap >= narrow else 0):
                width, height = ways[v, 0], ways[v, 1]
                if states.left[k, ways[v, 2]] <= 0 or width > gap or y + height > room.wall:
                    continue
                fits = True
                rest = gap - width
                least = narrow2 if width == narrow else narrow
                for right in range(2 if both and rest > 0 else 1):
                    near, far = (up_r, up_l) if right else (up_l, up_r)
                    inner_near, inner_far = (inner_r, inner_l) if right else (inner_l, inner_r)
                    lost = waste
                    steps = n
                    if inner_near and near == height:
                        steps -= 1
                    if rest >= least:
                        steps += 1
                    else:
                        lost += rest * min(height, far)
                        if inner_far and far == height:
                            steps -= 1
                    if lost > room.budget or made >= children.score.shape[0]:
                        continue
                    score = lost + rough * steps - states.worth[k] - room.worth[v]
                    if noise > 0.0:
                        dice = _mix(
                            np.uint64(seed) ^ _mix(states.key[k] ^ np.uint64(2 * v + right))
                        )
                        score += noise * (np.float64(dice >> np.uint64(11)) / 2.0**53)
                    children.score[made] = score
                    children.parent[made] = k
                    children.way[made] = v
                    children.lifts[made] = lifts
                    children.right[made] = right
                    made += 1
            if not fits:
                n, lost = _lift(xs, ys, n, room)
                waste += lost
                if waste > room.budget:
                    break
                lifts += 1
    return made


@compiled(nogil=True)
def _known(table, level, value):  # type: ignore[no-untyped-def]
    """Whether a hash stands in the table for this level; it does afterwards."""
    mask = np.uint64(table.shape[0] - 1)
    slot = value & mask
    while table[slot, 0] == level:
        if table[slot, 1] == value:
            return True
        slot = (slot + np.uint64(1)) & mask
    table[slot, 0] = level
    table[slot, 1] = value
    return False


@compiled(nogil=True)
def _put(xs, ys, n, way, right, room):  # type: ignore[no-untyped-def]
    """Lay a box into the lowest gap; return the steps and the box's corner."""
    j = _lowest(ys, n)
    gap = (xs[j + 1] if j + 1 < n else room.base) - xs[j]
    width, height = way[0], way[1]
    y = ys[j]
    if width < gap:
        for i in range(n, j + 1, -1):
            xs[i] = xs[i - 1]
            ys[i] = ys[i - 1]
        n += 1
        xs[j + 1] = xs[j] + (gap - width if right else width)
        ys[j + 1] = y
        if right:
            j += 1
    ys[j] = y + height
    x = xs[j]
    return _merge(xs, ys, n, j), x, y


@compiled(nogil=True)
def _fits(xs, ys, n, left, room):  # type: ignore[no-untyped-def]
    """Whether no box left is plainly too much for the room above the skyline.

    Each must find a run of steps low and wide enough, and the boxes of at least a given
    height must find enough width if each place holds as many as may stand on one another.
    """
    ways = room.ways
    misses = np.zeros(left.shape[0], np.int64)
    ample = (room.wall - np.max(ys[:n])) // 2  # above every step at least two stand so tall
    wide = 0
    for v in range(ways.shape[0]):
        width, height, kind = ways[v, 0], ways[v, 1], ways[v, 2]
        if height <= ample:
            break
        count = left[kind]
        if count <= 0:
            continue
        places = run = widest = 0
        for i in range(n):
            across = (xs[i + 1] if i + 1 < n else room.base) - xs[i]
            stack = (room.wall - ys[i]) // height
            places += across * stack
            run = run + across if stack > 0 else 0
            widest = max(widest, run)
        if room.turns[kind] == 1:
            wide += width * count
            if wide > places:
                return False
        if widest < width:
            misses[kind] += 1
            if misses[kind] == room.turns[kind]:
                return False
    return True


@compiled(nogil=True)
def grow(states, order, children, room, new, trail, table, level):  # type: ignore[no-untyped-def]
    """Make the states of the next level; return how many.

    Parameters
    ----------
    states, children
        The level's states, and what `breed` wrote down.
    order
        Children, best first; equal states are made once.
    room
        What is to be filled.
    new, trail
        Receive the new states and where they come from; their size limits the number.
    table
        2^k × 2 of uint64, more than twice as many rows as `new`, to find equals with.
    level
        From 1, each time another.

    """
    ways = room.ways
    out = 0
    for q in range(order.shape[0]):
        c = order[q]
        k = children.parent[c]
        n = states.steps[k]
        xs = new.x[out]
        ys = new.y[out]
        xs[:n] = states.x[k, :n]
        ys[:n] = states.y[k, :n]
        waste = states.waste[k]
        for _ in range(children.lifts[c]):
            n, lost = _lift(xs, ys, n, room)
            waste += lost
        way = ways[children.way[c]]
        n, x, y = _put(xs, ys, n, way, children.right[c] == 1, room)
        new.left[out] = states.left[k]
        new.left[out, way[2]] -= 1
        narrow, _ = _two_narrowest(new.left[out], ways)
        if narrow < room.base + 1:
            while waste <= room.budget:
                j = _lowest(ys, n)
                gap = (xs[j + 1] if j + 1 < n else room.base) - xs[j]
                if gap >= narrow or ys[j] >= room.wall:
                    break
                n, lost = _lift(xs, ys, n, room)
                waste += lost
            if waste > room.budget:
                continue
        key = states.key[k] + room.salt[way[2]]
        full = np.uint64(key)
        for i in range(n):
            full = _mix(_mix(full ^ np.uint64(xs[i])) ^ np.uint64(ys[i]))
        if not _fits(xs, ys, n, new.left[out], room):
            continue
        if _known(table, np.uint64(level), full):
            continue
        new.steps[out] = n
        new.waste[out] = waste
        new.worth[out] = states.worth[k] + room.worth[children.way[c]]
        new.key[out] = key
        trail.parent[out] = k
        trail.way[out] = children.way[c]
        trail.x[out] = x
        trail.y[out] = y
        out += 1
        if out >= trail.x.shape[0]:
            break
    return out
