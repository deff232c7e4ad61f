"""From peaks of likeness to the lattice of a print: its own repeat, no multiple and no fraction.

The finest lattice on whose every point the picture is *rather* like itself comes first; a motif
that nearly repeats halfway makes it too fine. Then each sublattice is asked whether the picture is
more like itself on it than beside it, by regression over all peaks, with what distance takes off.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nesting.reading.pictures.prints.likeness import REACH, Likeness
from nesting.reading.pictures.prints.peaks import peak_near, peaks

__all__ = ["Found", "finest_moves", "lattice", "stripe"]

Array = NDArray[Any]

_RATHER = 0.72
"""Share of the best likeness from which on a move may be a repeat."""

_SHORT = 28
"""Of the likely moves so many, the shortest, are tried in pairs."""

_MISSED = 0.12
"""Share of a lattice's points that may have no peak: a shadow lies there."""

_CLEARER = 0.004
"""By so much at least a sublattice is liker than what lies between."""

_SURE = 4.0
"""So many standard errors make a difference one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A lattice in pixels of the table (x right, y down), and how far it can be trusted.

    `basis`: its two shortest vectors as rows, or one for stripes. `like`: the mean likeness on its
    points, `between`: the highest of what it was told apart from (between its points). `seen`: how
    often the repeat is in the picture each way. `error`: standard error of the basis (pixels).
    """

    basis: Array
    like: float
    between: float
    seen: float
    error: float


def lattice(like: Likeness) -> Found | None:
    """Return the lattice of a print, None where nothing repeats both ways."""
    found = _finest(like)
    if found is None:
        return None
    basis, points = _fitted(like, found)
    while (coarser := _coarser(points)) is not None:
        basis, points = _fitted(like, _reduced(coarser @ basis))
    return _told(like, basis, points)


def finest_moves(like: Likeness) -> list[tuple[float, float]]:
    """Return some moves (x, y, pixels) by which the picture is at least rather like itself."""
    found = _finest(like)
    if found is None:
        return []
    points = _points(like, found)
    assert points is not None
    good = points[~np.isnan(points[:, 2])]
    near = good[np.argsort(np.hypot(good[:, 2], good[:, 3]))][:_SOME]
    return [(float(x), float(y)) for x, y in near[:, 2:4]]


_SOME = 8
"""Moves from which it is seen how the light falls off."""


def _finest(like: Likeness) -> Array | None:
    """Return the finest lattice that may be the print's."""
    every = peaks(like)
    if len(every) < 2:
        return None
    best = float(every[0, 2])
    likely = every[every[:, 2] >= _RATHER * best]
    likely = likely[np.argsort(np.hypot(likely[:, 0], likely[:, 1]))][:_SHORT]
    pairs = sorted(
        (abs(_cross(a, b)), i, j)
        for (i, a), (j, b) in combinations(enumerate(likely), 2)
        if abs(_cross(a, b)) > 0.2 * np.hypot(*a[:2]) * np.hypot(*b[:2])
    )
    for _, i, j in pairs:
        basis = _reduced(np.array([likely[i, :2], likely[j, :2]]))
        points = _points(like, basis)
        if points is not None and _held(points, _RATHER * best) and len(points) >= 3:
            return basis
    return None


def _cross(a: Array, b: Array) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def _reduced(basis: Array) -> Array:
    """Return the two shortest vectors of a lattice (Lagrange and Gauss)."""
    a, b = sorted(basis, key=lambda v: float(v @ v))
    while True:
        b = b - np.rint((a @ b) / (a @ a)) * a
        if b @ b >= a @ a * (1.0 - 1e-9):
            return np.array([a, b])
        a, b = b, a


def _indices(like: Likeness, basis: Array, *, within: float) -> Iterator[tuple[int, int]]:
    """Yield the lattice points of the half plane that are within reach, and a length (pixels)."""
    inverse = np.linalg.inv(basis)
    corners = np.array([[x, y] for x in (-1, 1) for y in (-1, 1)]) * like.reach[::-1]
    most = np.ceil(np.abs(corners @ inverse).max(axis=0)).astype(int)
    if most[0] * most[1] > _MOST:
        most = np.minimum(most, int(np.sqrt(_MOST)))
    for n in range(-most[0], most[0] + 1):
        for m in range(most[1] + 1):
            if m == 0 and n <= 0:
                continue
            x, y = n * basis[0] + m * basis[1]
            if like.holds(x, y) and np.hypot(x, y) <= within:
                yield n, m


_MOST = 4000
"""Points of a lattice that are looked at."""


def _points(like: Likeness, basis: Array, *, within: float = np.inf) -> Array | None:
    """Return lattice points (n, m, x, y, likeness): of those without a peak that at the place."""
    apart = 0.25 * float(np.hypot(*basis[0]))
    rows = []
    for n, m in _indices(like, basis, within=within):
        x, y = n * basis[0] + m * basis[1]
        peak = peak_near(like, x, y, within=min(apart, 6.0))
        rows.append((n, m, *(peak or (np.nan, np.nan, float(like.at(x, y)[0])))))
    return np.array(rows) if rows else None


def _held(points: Array, least: float) -> bool:
    weak = (points[:, 4] < least) | np.isnan(points[:, 2])
    return bool(weak.mean() <= _MISSED)


def _fitted(like: Likeness, basis: Array) -> tuple[Array, Array]:
    """Return the basis fitted to peaks farther and farther off, and these peaks."""
    within = 2.1 * float(np.hypot(*basis[1]))
    whole = float(np.hypot(*like.reach))
    while True:
        points = _points(like, basis, within=within)
        if points is None:
            return basis, np.zeros((0, 5))
        good = points[~np.isnan(points[:, 2])]
        if len(good) >= 2 and np.linalg.matrix_rank(good[:, :2]) == 2:
            basis, *_ = np.linalg.lstsq(good[:, :2], good[:, 2:4], rcond=None)
        if within > whole:
            return basis, points
        within *= 1.6


_INDEX_TWO = (((2, 0), (0, 1)), ((1, 0), (0, 2)), ((1, 1), (1, -1)))
_INDEX_THREE = (((3, 0), (0, 1)), ((1, 0), (0, 3)), ((1, 1), (3, 0)), ((1, -1), (3, 0)))


def _coarser(points: Array) -> Array | None:
    """Return the sublattice (rows in the lattice's own steps) that is clearly liker, if any is."""
    good = points[~np.isnan(points[:, 2])]
    found = None
    for steps in (*_INDEX_TWO, *_INDEX_THREE):
        matrix = np.array(steps, dtype=float)
        own = good[:, :2] @ np.linalg.inv(matrix)
        upon = np.all(np.abs(own - np.rint(own)) < 1e-6, axis=1)
        gain, error = _gain(good, upon)
        if gain > _CLEARER and gain > _SURE * error and (found is None or gain > found[0]):
            found = (gain, matrix)
    return None if found is None else found[1]


def _gain(points: Array, upon: NDArray[np.bool_]) -> tuple[float, float]:
    """Return by how much the likeness is higher `upon` a sublattice, and its standard error."""
    if not (upon.any() and (~upon).any()):
        return 0.0, 1.0
    far = np.hypot(points[:, 2], points[:, 3])
    far /= far.max()
    terms = np.stack([np.ones_like(far), far, upon.astype(float)], axis=1)
    spare = len(points) - terms.shape[1]
    if spare < 1:
        return float(points[upon, 4].min() - points[~upon, 4].max()), _FEW
    fit, *_ = np.linalg.lstsq(terms, points[:, 4], rcond=None)
    left = points[:, 4] - terms @ fit
    cov = np.linalg.pinv(terms.T @ terms) * float(left @ left) / spare
    return float(fit[2]), float(np.sqrt(cov[2, 2])) + (_FEW / len(points))


_FEW = 0.005
"""Standard error where there are too few peaks to have one; of many it counts less."""


def _told(like: Likeness, basis: Array, points: Array) -> Found | None:
    good = points[~np.isnan(points[:, 2])]
    if len(good) < 2:
        return None
    off = good[:, 2:4] - good[:, :2] @ basis
    size = np.hypot(*(good[:, :2].T))
    error = np.sqrt((off**2).sum() / max(1, len(good) - 2)) / np.sqrt((size**2).sum())
    middle = float(np.median(good[:, 4]))
    near = float(like.at(basis[:, 0], basis[:, 1]).min())
    cell = abs(_cross(basis[0], basis[1]))
    picture = 4.0 * like.reach[0] * like.reach[1] / (2.0 * REACH) ** 2
    return Found(
        basis=basis,
        like=middle,
        # Both as near: likeness falls off with distance.
        between=_between(like, basis) + min(0.0, middle - near),
        seen=float(picture / cell) if cell else 0.0,
        error=float(error),
    )


def _between(like: Likeness, basis: Array) -> float:
    """Return the highest likeness halfway and a third of the way to the next points."""
    shares = (
        (0.5, 0.0),
        (0.0, 0.5),
        (0.5, 0.5),
        (1 / 3, 0.0),
        (0.0, 1 / 3),
        (1 / 3, 1 / 3),
        (1 / 3, -1 / 3),
    )
    moves = np.array(shares) @ basis
    return float(like.at(moves[:, 0], moves[:, 1]).max())


def stripe(like: Array) -> Found | None:
    """Return the repeat of stripes from the likeness by moves square to them (pixels)."""
    inner = like[1:-1]
    tops = np.nonzero((inner >= like[:-2]) & (inner > like[2:]))[0] + 1
    tops = tops[tops >= 4]
    if not len(tops):
        return None
    places = np.array([_top(like, int(i)) for i in tops])
    likely = places[places[:, 1] >= _RATHER * places[:, 1].max()]
    for first in likely[:, 0]:
        rows = _multiples(places, first, len(like))
        if len(rows) and np.isnan(rows[:, 1]).mean() <= _MISSED:
            break
    else:
        return None
    step, rows = _step(places, first, len(like))
    while True:
        gains = []
        for often in (2, 3):
            upon = rows[:, 0] % often == 0
            full = np.column_stack(
                [rows[:, 0], 0 * rows[:, 0], rows[:, 1], 0 * rows[:, 1], rows[:, 2]]
            )
            gain, error = _gain(full, upon)
            if gain > _CLEARER and gain > _SURE * error:
                gains.append((gain, often))
        if not gains:
            break
        step, rows = _step(places, step * max(gains)[1], len(like))
    off = rows[:, 1] - rows[:, 0] * step
    error = np.sqrt((off**2).sum() / max(1, len(rows) - 1) / (rows[:, 0] ** 2).sum())
    halves = [like[round(step * share)] for share in (0.5, 1 / 3, 2 / 3)]
    return Found(
        basis=np.array([[step, 0.0]]),
        like=float(np.median(rows[:, 2])),
        between=float(max(halves)),
        seen=len(like) / REACH / step,
        error=float(error),
    )


def _top(like: Array, i: int) -> tuple[float, float]:
    a, b, c = like[i - 1], like[i], like[i + 1]
    bend = a - 2.0 * b + c
    if bend >= 0.0:
        return i, b
    off = 0.5 * (a - c) / bend
    return i + off, b - 0.25 * (a - c) * off


def _multiples(places: Array, step: float, reach: int) -> Array:
    """Return (how often, where, likeness) of the multiples of a step; nan where no peak is."""
    rows = []
    for k in range(1, int((reach - 2) / step) + 1):
        near = places[np.argmin(np.abs(places[:, 0] - k * step))]
        close = abs(near[0] - k * step) <= 0.2 * step
        rows.append((k, near[0], near[1]) if close else (k, np.nan, np.nan))
    return np.array(rows) if rows else np.zeros((0, 3))


def _step(places: Array, step: float, reach: int) -> tuple[float, Array]:
    """Return a step fitted to all its multiples, the nearer ones first, and these."""
    most = 2
    while True:
        rows = _multiples(places, step, min(reach, int(step * (most + 0.5)) + 2))
        rows = rows[~np.isnan(rows[:, 1])] if len(rows) else rows
        if len(rows):
            step = float((rows[:, 0] @ rows[:, 1]) / (rows[:, 0] @ rows[:, 0]))
        if step * most > reach:
            return step, rows
        most *= 2
