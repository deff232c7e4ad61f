# mypy: disable-error-code="no-untyped-def, assignment"
"""Outward simplification of rings, compiled."""

from __future__ import annotations

import numpy as np

from nesting.search.kernels.compiled import compiled


@compiled()
def inside(px, py, ax, ay, bx, by, cx, cy):
    """Tell whether a point lies in a triangle, its edges counted in; either orientation."""
    u = (bx - ax) * (py - ay) - (by - ay) * (px - ax)
    v = (cx - bx) * (py - by) - (cy - by) * (px - bx)
    w = (ax - cx) * (py - cy) - (ay - cy) * (px - cx)
    return (u >= 0 and v >= 0 and w >= 0) or (u <= 0 and v <= 0 and w <= 0)


@compiled()
def removal(ring, n, i, limit):
    """Return the area, height and new corner if the ring grows by losing corner or edge i.

    A reflex corner i is dropped; an edge from i between two convex corners is replaced by
    the point where its neighbours meet. The area is infinite if that can't be done.
    """
    h, j, k = (i - 1) % n, (i + 1) % n, (i + 2) % n
    px, py = ring[h, 0], ring[h, 1]
    qx, qy = ring[i, 0], ring[i, 1]
    rx, ry = ring[j, 0], ring[j, 1]
    sx, sy = ring[k, 0], ring[k, 1]
    turn = (qx - px) * (ry - qy) - (qy - py) * (rx - qx)
    if turn <= 0.0:
        chord = np.sqrt((rx - px) ** 2 + (ry - py) ** 2)
        if chord == 0.0:
            return np.inf, 0.0, qx, qy
        return -0.5 * turn, -turn / chord, px, py
    after = (rx - qx) * (sy - ry) - (ry - qy) * (sx - rx)
    if after <= 0.0:
        return np.inf, 0.0, qx, qy
    ux, uy, vx, vy = qx - px, qy - py, sx - rx, sy - ry
    cross = ux * vy - uy * vx
    if cross <= 1e-9 * np.sqrt((ux * ux + uy * uy) * (vx * vx + vy * vy)):
        return np.inf, 0.0, qx, qy
    t = ((rx - qx) * vy - (ry - qy) * vx) / cross
    mx, my = qx + t * ux, qy + t * uy
    area = 0.5 * abs((mx - qx) * (ry - qy) - (my - qy) * (rx - qx))
    edge = np.sqrt((rx - qx) ** 2 + (ry - qy) ** 2)
    return area, 2.0 * area / edge if edge > 0 else np.inf, mx, my


@compiled()
def simplify(ring, area_limit, height_limit, fewest):
    """Return a ring of fewer corners that contains a counter-clockwise ring.

    Greedy by area added; stops when the area added reaches `area_limit`, and never moves
    the outline by more than `height_limit` in one step.
    """
    ring = ring.copy()
    n = ring.shape[0]
    added = 0.0
    blocked = np.zeros(n, np.bool_)
    while n > max(fewest, 3):
        best, bi = np.inf, -1
        for i in range(n):
            if not blocked[i]:
                area, height, _, _ = removal(ring, n, i, height_limit)
                if height <= height_limit and area < best:
                    best, bi = area, i
        if bi < 0 or added + best > area_limit:
            break
        i = bi
        area, _, mx, my = removal(ring, n, i, height_limit)
        h, j = (i - 1) % n, (i + 1) % n
        qx, qy, rx, ry = ring[i, 0], ring[i, 1], ring[j, 0], ring[j, 1]
        drop = (qx - ring[h, 0]) * (ry - qy) - (qy - ring[h, 1]) * (rx - qx) <= 0.0
        ax, ay = (ring[h, 0], ring[h, 1]) if drop else (mx, my)
        free = True
        for m in range(n):
            if m in (i, j) or (m == h and drop):
                continue
            if inside(ring[m, 0], ring[m, 1], ax, ay, qx, qy, rx, ry):
                free = False
                break
        if not free:
            blocked[i] = True
            continue
        added += area
        if not drop:
            ring[j, 0], ring[j, 1] = mx, my
        for m in range(i, n - 1):
            ring[m, 0], ring[m, 1] = ring[m + 1, 0], ring[m + 1, 1]
            blocked[m] = blocked[m + 1]
        n -= 1
        for m in range(-4, 4):
            blocked[(i + m) % n] = False
    return ring[:n].copy()
