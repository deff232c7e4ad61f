"""Dual feasible functions: sizes so revalued that what fits side by side is worth one at most.

S. P. Fekete, J. Schepers, "A general framework for bounds for higher-dimensional orthogonal
packing problems", Math. Methods of Operations Research 60 (2004); S. Martello, D. Vigo, "Exact
solution of the two-dimensional finite bin packing problem", Management Science 44 (1998).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

__all__ = ["WHOLE", "Dual", "Floats", "Ints", "duals", "portion", "shares"]

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

# Heights are counted in whole shares of the width, rounded down, so that a dual
# feasible function meets no rounding; divisible by 2 … 16, so that halves, thirds … stay exact.
WHOLE = 720_720_000


# The shares that sizes are rounded down to: so many make a whole, of which the halves to 16ths,
# to 12ths, 10ths, 8ths and 6ths stay exact.
_GRIDS = (WHOLE, 720_720, 55_440, 5_040, 840, 60)


def shares(size: Floats, whole: float, *, passed: float = 0.0) -> Ints:
    """Return sizes as whole shares of `whole`, rounded down (up by no more than 1e-14).

    `passed`: what all sizes on a line may be too long together and still be let pass. The
    shares are coarser than that, so that they add up to no more than the whole then, either.
    """
    grid = next((grid for grid in _GRIDS if passed * grid < whole), _GRIDS[-1])
    counted = np.floor(size / whole * grid + 1e-5 * (grid / WHOLE))
    return np.minimum(counted, grid).astype(np.int64) * (WHOLE // grid)


# A dual feasible function gives whole numbers and what they are shares of, so that sums are exact.
Dual = Callable[[Ints], tuple[Ints, int]]


def _identity(x: Ints) -> tuple[Ints, int]:
    return x, WHOLE


def _rounded(k: int) -> Dual:
    """Fekete & Schepers' u(k): whole multiples of 1/(k+1) stay, others go to floor/k."""

    def dual(x: Ints) -> tuple[Ints, int]:
        whole, rest = np.divmod((k + 1) * x, WHOLE)
        return np.where(rest == 0, k * x, whole * WHOLE), k * WHOLE

    return dual


def _cut_off(edge: int) -> Dual:
    """Martello & Vigo's U(edge): sizes below the edge vanish, their partners grow to 1."""

    def dual(x: Ints) -> tuple[Ints, int]:
        return np.where(x < edge, 0, np.where(x > WHOLE - edge, WHOLE, x)), WHOLE

    return dual


def _counted(edge: int) -> Dual:
    """Carlier, Clautiaux & Moukrim's f1 (2007): how many of size `edge` a part displaces."""
    most = WHOLE // edge

    def dual(x: Ints) -> tuple[Ints, int]:
        # A part above half takes what it does not leave to others; the rest count themselves.
        return np.where(2 * x > WHOLE, most - (WHOLE - x) // edge, x // edge), most

    return dual


def portion(dual: Dual, x: Ints) -> Floats:
    """Return what sizes are worth by a function, as shares of the whole."""
    value, whole = dual(x)
    return np.asarray(value / whole, dtype=np.float64)


def duals(shares: Ints, most: int = 40) -> list[Dual]:
    """Return dual feasible functions worth trying on these sizes, for `most` edges."""
    edges = np.unique(np.minimum(shares, WHOLE - shares))
    edges = edges[(edges > WHOLE // 100) & (2 * edges <= WHOLE)]
    if len(edges) > most:
        edges = edges[np.linspace(0, len(edges) - 1, most).astype(int)]
    out: list[Dual] = [_identity, *(_rounded(k) for k in range(1, 17))]
    for edge in [*edges.tolist(), WHOLE // 2]:
        out += [_cut_off(edge), _counted(edge)]
    return out
