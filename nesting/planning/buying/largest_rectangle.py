"""The largest rectangle in an area: what a next job of rectangles can count on."""

from __future__ import annotations

from itertools import product

import numpy as np
import numpy.typing as npt
from shapely import Polygon, box, contains, contains_xy, get_coordinates, prepare, segmentize

__all__ = ["largest_rectangle"]

Numbers = npt.NDArray[np.float64]

# Cells of the grid on which the largest rectangle is looked for, along the longer side.
_CELLS = 160


def largest_rectangle(area: Polygon) -> tuple[float, float, float, float]:
    """Return (x, y, length, width) of a large axis-parallel rectangle inside `area` (mm).

    The largest on a grid of cells that lie wholly inside, by the histogram method; so
    it is never too large, and short of the largest by two cells a side at most.
    """
    left, low, right, high = area.bounds
    size = max(right - left, high - low) / _CELLS
    columns, rows = (max(1, int((b - a) / size)) for a, b in ((left, right), (low, high)))
    xs = left + np.arange(columns + 1) * (right - left) / columns
    ys = low + np.arange(rows + 1) * (high - low) / rows
    # A corner on the area's own edge counts as inside: hence the hair's breadth.
    grown = area.buffer(1e-6 * max(1.0, size))
    gx, gy = np.meshgrid(xs, ys, indexing="ij")
    corner = contains_xy(grown, gx.ravel(), gy.ravel()).reshape(gx.shape)
    inside = corner[:-1, :-1] & corner[1:, :-1] & corner[:-1, 1:] & corner[1:, 1:]
    i, j = np.nonzero(inside & _bordering(grown, xs, ys))
    prepare(grown)
    inside[i, j] = contains(grown, box(xs[i], ys[j], xs[i + 1], ys[j + 1]))
    a, b, n, m = _largest_block(inside)
    return (float(xs[a]), float(ys[b]), float(xs[a + n] - xs[a]), float(ys[b + m] - ys[b]))


def _bordering(area: Polygon, xs: Numbers, ys: Numbers) -> npt.NDArray[np.bool_]:
    """Return which cells of a grid the border of an area may run through."""
    near = np.zeros((len(xs) - 1, len(ys) - 1), dtype=bool)
    apart = min(xs[1] - xs[0], ys[1] - ys[0])
    border = get_coordinates(segmentize(area.boundary, max_segment_length=apart))
    i, j = (
        np.clip(((line - at[0]) / (at[1] - at[0])).astype(int), 0, len(at) - 2)
        for line, at in zip(border.T, (xs, ys), strict=True)
    )
    # Between two such points it runs through cells next to theirs, if not through theirs.
    for a, b in product((-1, 0, 1), repeat=2):
        near[np.clip(i + a, 0, len(xs) - 2), np.clip(j + b, 0, len(ys) - 2)] = True
    return near


def _largest_block(inside: npt.NDArray[np.bool_]) -> tuple[int, int, int, int]:
    """Return (i, j, rows, columns) of the largest block of true cells."""
    best, found = 0, (0, 0, 0, 0)
    depth = np.zeros(inside.shape[1], dtype=int)
    ends = inside & ~np.roll(inside, -1, axis=0)
    ends[-1:] = inside[-1:]
    for i in range(inside.shape[0]):
        depth = np.where(inside[i], depth + 1, 0)
        if not ends[i].any() or depth.sum() <= best:
            continue  # no column ends here that a largest block must end with
        stack: list[tuple[int, int]] = []
        for j, d in enumerate([*depth.tolist(), 0]):
            start = j
            while stack and stack[-1][1] >= d:
                start, height = stack.pop()
                if height * (j - start) > best:
                    best = height * (j - start)
                    found = (i - height + 1, start, height, j - start)
            stack.append((start, d))
    return found
