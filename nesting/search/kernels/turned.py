# mypy: disable-error-code="no-untyped-def, assignment"
"""Separating lines between convex parts at any turn, compiled."""

from __future__ import annotations

import numpy as np

from nesting.search.kernels.compiled import compiled


@compiled()
def best_edge(xy, a0, a1, b0, b1, ox, oy):
    """Return the edge of ring A that separates ring B + (ox, oy) best, and the gap.

    Edge -1 if the gap is below that of no edge at all. Rings: xy[a0:a1], xy[b0:b1].
    """
    best, which, corner = -1e300, -1, -1
    for e in range(a0, a1):
        f = e + 1 if e + 1 < a1 else a0
        ex, ey = xy[f, 0] - xy[e, 0], xy[f, 1] - xy[e, 1]
        length = np.sqrt(ex * ex + ey * ey)
        if length == 0.0:
            continue
        nx, ny = ey / length, -ex / length
        level = nx * xy[e, 0] + ny * xy[e, 1]
        low, at = 1e300, -1
        for v in range(b0, b1):
            d = nx * (xy[v, 0] + ox) + ny * (xy[v, 1] + oy)
            if d < low:
                low, at = d, v
        if low - level > best:
            best, which, corner = low - level, e, at
    return best, which, corner


@compiled()
def turning_rows(xy, first, of, at, own, moved, reach, pairs, rows):
    """Write for near convex parts of two items, one of which moves, what keeps them apart.

    `of` (all, 4): the parts of items and then of obstacles, and those of an item that count
    against its obstacle, whose number among the obstacles is `own` (items,), or -1. `moved`
    (all,): whether it moves.

    For each pair of near parts the edge of one that separates the other best, and a row for
    each corner of the other within `reach` of it: normal from the first item to the second
    (2), change of the gap with a turn of the first and of the second (per radian), the gap.
    Returns the number of rows, or -1 if they don't fit.
    """
    n = own.shape[0]
    everything = at.shape[0]
    parts = first.shape[0] - 1
    box = np.empty((parts, 4))
    item_box = np.empty((everything, 4))
    for i in range(everything):
        item_box[i, 0] = item_box[i, 1] = 1e300
        item_box[i, 2] = item_box[i, 3] = -1e300
        for p in range(of[i, 0], max(of[i, 1], of[i, 3])):
            box[p, 0] = box[p, 1] = 1e300
            box[p, 2] = box[p, 3] = -1e300
            for v in range(first[p], first[p + 1]):
                for axis in range(2):
                    c = xy[v, axis] + at[i, axis]
                    box[p, axis] = min(box[p, axis], c)
                    box[p, 2 + axis] = max(box[p, 2 + axis], c)
            for axis in range(2):
                item_box[i, axis] = min(item_box[i, axis], box[p, axis])
                item_box[i, 2 + axis] = max(item_box[i, 2 + axis], box[p, 2 + axis])
    count = 0
    for i in range(n):
        for j in range(i + 1, everything):
            blocked = j >= n
            if (blocked and own[i] != j - n) or not (moved[i] or moved[j]):
                continue
            if (
                item_box[i, 0] > item_box[j, 2] + reach
                or item_box[j, 0] > item_box[i, 2] + reach
                or item_box[i, 1] > item_box[j, 3] + reach
                or item_box[j, 1] > item_box[i, 3] + reach
            ):
                continue
            ox, oy = at[j, 0] - at[i, 0], at[j, 1] - at[i, 1]
            p0, p1 = (of[i, 2], of[i, 3]) if blocked else (of[i, 0], of[i, 1])
            for p in range(p0, p1):
                for q in range(of[j, 0], of[j, 1]):
                    if (
                        box[p, 0] > box[q, 2] + reach
                        or box[q, 0] > box[p, 2] + reach
                        or box[p, 1] > box[q, 3] + reach
                        or box[q, 1] > box[p, 3] + reach
                    ):
                        continue
                    a0, a1, b0, b1 = first[p], first[p + 1], first[q], first[q + 1]
                    gap, edge, _ = best_edge(xy, a0, a1, b0, b1, ox, oy)
                    other, edge2, _ = best_edge(xy, b0, b1, a0, a1, -ox, -oy)
                    swap = other > gap
                    if swap:
                        gap, edge = other, edge2
                    if gap > reach:
                        continue
                    e0, e1 = (b0, b1) if swap else (a0, a1)
                    v0, v1 = (a0, a1) if swap else (b0, b1)
                    sx, sy = (-ox, -oy) if swap else (ox, oy)
                    f = edge + 1 if edge + 1 < e1 else e0
                    ex, ey = xy[f, 0] - xy[edge, 0], xy[f, 1] - xy[edge, 1]
                    length = np.sqrt(ex * ex + ey * ey)
                    nx, ny = ey / length, -ex / length
                    level = nx * xy[edge, 0] + ny * xy[edge, 1]
                    for v in range(v0, v1):
                        wx, wy = xy[v, 0] + sx, xy[v, 1] + sy
                        slack = nx * wx + ny * wy - level
                        if slack > gap + reach:
                            continue
                        if count >= pairs.shape[0]:
                            return -1
                        # the edge's item turns the point w the other way round it
                        by_edge = nx * wy - ny * wx
                        by_corner = -nx * xy[v, 1] + ny * xy[v, 0]
                        pairs[count, 0], pairs[count, 1] = i, j
                        rows[count, 0] = -nx if swap else nx
                        rows[count, 1] = -ny if swap else ny
                        rows[count, 2] = by_corner if swap else by_edge
                        rows[count, 3] = by_edge if swap else by_corner
                        rows[count, 4] = slack
                        count += 1
    return count
