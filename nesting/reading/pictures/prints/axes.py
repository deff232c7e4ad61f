"""From a lattice to a repeat along and across the cloth, its drop, and how it lies turned."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

__all__ = ["Axes", "axes_of"]

Array = NDArray[np.float64]

_SQUARE = 0.06
"""Cosine up to which the two ways of a repeat count as square: cloth hangs askew by 3°."""

_ASKEW = 0.45
"""Sine up to which a way of the repeat may lie off the picture's edge."""

_FAR = 6
"""Steps of the lattice that are looked through each way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Axes:
    """A repeat upright in the picture: `up` and `right` as vectors (x, y, y upwards).

    `columns`: over how many columns the print is the same again; in every next one it is moved
    by `drop` of the repeat up (1 column and 0: not at all; 2 and ½: half drop).
    """

    up: Array
    right: Array
    columns: int
    drop: float

    @property
    def turn(self) -> float:
        """By how many degrees it lies turned counter-clockwise in the picture."""
        of_up = np.degrees(np.arctan2(-self.up[0], self.up[1]))
        of_right = np.degrees(np.arctan2(self.right[1], self.right[0]))
        return float(0.5 * (of_up + of_right))

    @property
    def askew(self) -> float:
        """By how many degrees the two ways are not square to each other."""
        of_up = np.degrees(np.arctan2(-self.up[0], self.up[1]))
        of_right = np.degrees(np.arctan2(self.right[1], self.right[0]))
        return float(of_right - of_up)


def axes_of(basis: Array) -> Axes | None:
    """Return how a lattice (two rows, y upwards) repeats up and to the right, if it does.

    Of all pairs of its vectors that are square, or nearly, and upright, or nearly, the one with
    the fewest points between them is taken, of these the one that lies straightest.
    """
    steps = [(n, m) for n, m in product(range(-_FAR, _FAR + 1), repeat=2) if (n, m) != (0, 0)]
    ways = np.array(steps) @ basis
    sizes = np.hypot(*ways.T)
    ups = [i for i in range(len(ways)) if ways[i, 1] > 0 and abs(ways[i, 0]) <= _ASKEW * sizes[i]]
    rights = [
        i for i in range(len(ways)) if ways[i, 0] > 0 and abs(ways[i, 1]) <= _ASKEW * sizes[i]
    ]
    best: tuple[float, ...] | None = None
    for i, j in product(ups, rights):
        (a, b), (c, d) = steps[i], steps[j]
        count = abs(a * d - b * c)
        if not 1 <= count <= _MOST:
            continue
        cosine = abs(float(ways[i] @ ways[j])) / (sizes[i] * sizes[j])
        if cosine > _SQUARE:
            continue
        lean = abs(ways[i, 0]) / sizes[i] + abs(ways[j, 1]) / sizes[j]
        rank = (count, round(lean, 2), sizes[i] + sizes[j], i, j)
        if best is None or rank < best:
            best = rank
    if best is None:
        return None
    count, i, j = int(best[0]), int(best[3]), int(best[4])
    return Axes(
        up=ways[i],
        right=ways[j] / count,
        columns=count,
        drop=_drop(ways[i], ways[j], basis, count),
    )


_MOST = 4
"""Columns after which a print is the same again, at most."""


def _drop(up: Array, right: Array, basis: Array, count: int) -> float:
    """Return how far the next column is moved up, as a share of the repeat."""
    if count == 1:
        return 0.0
    back = np.linalg.inv(np.array([up, right]))
    for n, m in product(range(-_FAR, _FAR + 1), repeat=2):
        of_up, of_right = (np.array([n, m]) @ basis) @ back
        if abs(of_right - 1.0 / count) < 1e-6:
            return float(np.round(of_up * count) / count % 1.0)
    return 0.0
