"""One repeat of a print, drawn from all that is seen of it: which way is up, where a motif lies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["Tile", "motif", "same_both_ways", "tiled"]

Array = NDArray[np.float64]

_SIDE = 96
"""Pixels along the longer side of a repeat (own choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """The mean of all repeats: colours (h×w×3, CIELAB), upright; `halves` of every other one.

    A pixel of row r and column c is c/w of `right` and 1 − r/h of `up` from the place that the
    repeats were counted from.
    """

    colours: Array
    halves: tuple[Array, Array]


def tiled(colours: Array, mask: Array, *, up: Array, right: Array) -> Tile:
    """Return the mean repeat; `up` and `right` in pixels of `colours`, x right and y *down*.

    Counted from the picture's lower left corner.
    """
    long, wide = float(np.hypot(*up)), float(np.hypot(*right))
    scale = min(1.0, _SIDE / max(long, wide))
    size = (max(8, round(long * scale)), max(8, round(wide * scale)))
    high, across = mask.shape
    back = np.linalg.inv(np.array([up, right]))
    corners = np.array([[x, y] for x in (0, across) for y in (0, high)], float) - [0.0, high - 1.0]
    reach = corners @ back
    low, most = np.floor(reach.min(axis=0)).astype(int), np.ceil(reach.max(axis=0)).astype(int)
    r, c = np.mgrid[0 : size[0], 0 : size[1]]
    inner = (1.0 - r / size[0])[..., None] * up + (c / size[1])[..., None] * right
    inner += [0.0, high - 1.0]
    sums = [np.zeros((*size, 3)) for _ in range(2)]
    counts = [np.zeros(size) for _ in range(2)]
    values = colours.astype(np.float32)
    cells = [(n, m) for n in range(low[0], most[0]) for m in range(low[1], most[1])]
    for n, m in cells[:: max(1, len(cells) // _MOST)]:
        place = (inner + n * up + m * right).astype(np.float32)
        which = (n + m) % 2
        seen = cv2.remap(values, place[..., 0], place[..., 1], cv2.INTER_LINEAR)
        there = cv2.remap(mask.astype(np.float32), place[..., 0], place[..., 1], cv2.INTER_LINEAR)
        good = there > 0.99
        sums[which] += seen * good[..., None]
        counts[which] += good
    halves = [a / np.maximum(b, 1.0)[..., None] for a, b in zip(sums, counts, strict=True)]
    none = [(b == 0)[..., None] for b in counts]
    first = np.where(none[0], halves[1], halves[0])
    second = np.where(none[1], halves[0], halves[1])
    return Tile(
        colours=(sums[0] + sums[1]) / np.maximum(counts[0] + counts[1], 1.0)[..., None],
        halves=(first, second),
    )


_MOST = 400
"""Repeats that are laid upon each other; more tell no more."""


def _like(a: Array, b: Array) -> Array:
    """Return how like two repeats are (−1…1), by how far the second is moved on round and round."""
    a, b = a - a.mean(axis=(0, 1)), b - b.mean(axis=(0, 1))
    both = np.fft.fft2(a, axes=(0, 1)) * np.conj(np.fft.fft2(b, axes=(0, 1)))
    found = np.fft.ifft2(both.sum(axis=-1)).real
    return np.asarray(found / np.sqrt((a**2).sum() * (b**2).sum() + 1e-12))


def same_both_ways(tile: Tile) -> tuple[bool, float, tuple[float, float]]:
    """Return whether a print looks the same when it is turned by 180°, how clearly, and about what.

    Turned it has to be as like the other half of the repeats as these are to each other. How
    clearly it is, or is not: 0…1. About what: shares of `right` and `up`.
    """
    first, second = tile.halves
    lost = max(1.0 - float(_like(first, second)[0, 0]), 0.0)
    whole = _like(tile.colours, tile.colours[::-1, ::-1])
    row, column = np.unravel_index(int(np.argmax(whole)), whole.shape)
    gone = 1.0 - max(float(whole[row, column]), float(_like(first, second[::-1, ::-1]).max()))
    bound = 1.6 * lost + _ALIKE
    high, wide = whole.shape
    # Turned, a pixel of row r comes to rest on row − 1 − r of the other end.
    about = (0.5 * (column - 1) / wide) % 1.0, (-0.5 * (row - 1) / high) % 1.0
    return gone <= bound, float(min(1.0, abs(gone - bound) / bound)), about


_ALIKE = 0.03
"""What a turned print may be less like itself though it is the same (own renders)."""


def motif(
    tile: Tile, *, about: tuple[float, float] | None, stripes: bool = False
) -> tuple[float, float, bool]:
    """Return where a motif's middle lies: shares of `right` and `up`, and whether it is clear.

    What differs from the ground of the print is figure; the largest figure that hangs together is
    the motif, its middle that of its extent. Clear: there is a ground around it. Where the print
    can be turned `about` a point it is the nearest of those, or that with most figure about it.
    """
    high, wide = tile.colours.shape[:2]
    off = np.linalg.norm(tile.colours - _ground(tile.colours), axis=-1)
    x, y, clear = _largest(off, stripes=stripes)
    if about is None:
        return x, y, clear
    centres = [((about[0] + i / 2) % 1.0, (about[1] + j / 2) % 1.0) for i in (0, 1) for j in (0, 1)]
    if clear:
        near = min(centres, key=lambda c: _apart(c, (x, y), stripes))
        return (*near, True) if _apart(near, (x, y), stripes) < _NEAR else (x, y, True)
    around = cv2.blur(np.tile(off, (3, 3)), (max(1, wide // 4), max(1, high // 4)))
    around = around[high : 2 * high, wide : 2 * wide]
    best = max(centres, key=lambda c: around[round(-c[1] * high) % high, round(c[0] * wide) % wide])
    return (*best, True)


_NEAR = 0.12
"""Shares of a repeat within which a motif's middle is that of its symmetry."""


def _apart(a: tuple[float, float], b: tuple[float, float], stripes: bool) -> float:
    x, y = (abs((p - q + 0.5) % 1.0 - 0.5) for p, q in zip(a, b, strict=True))
    return y if stripes else float(np.hypot(x, y))


def _largest(off: Array, *, stripes: bool) -> tuple[float, float, bool]:
    high, wide = off.shape
    level = np.clip(off / max(float(off.max()), 1e-9) * 255.0, 0, 255).astype(np.uint8)
    bound, _ = cv2.threshold(level, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    figure: NDArray[Any] = np.tile((level > 0.6 * bound).astype(np.uint8), (3, 3))
    gap = max(1, round(_GAP * min(high, wide)))
    figure = cv2.morphologyEx(figure, cv2.MORPH_CLOSE, np.ones((gap, gap), np.uint8))
    count, _, stats, _ = cv2.connectedComponentsWithStats(figure, connectivity=8)
    best: tuple[tuple[bool, int], float, float, bool] | None = None
    for i in range(1, count):
        x, y, w, h, area = (int(v) for v in stats[i])
        a, b = x + 0.5 * (w - 1), y + 0.5 * (h - 1)
        fits = (stripes or w < 2 * wide) and h < 2 * high
        inside = (stripes or wide <= a + 0.5 < 2 * wide) and high <= b + 0.5 < 2 * high
        if inside and (best is None or (fits, area) > best[0]):
            clear = (stripes or w <= 1.3 * wide) and h <= 1.3 * high
            best = ((fits, area), (a / wide) % 1.0, (-b / high) % 1.0, clear)
    return (0.5, 0.5, False) if best is None else best[1:]


_GAP = 0.06
"""Shares of a repeat that part what belongs to one motif at most (own choice)."""


def _ground(colours: Array) -> Array:
    """Return the colour that most of a repeat has: of its fullest bin in a coarse cube."""
    flat = colours.reshape(-1, 3)
    bins = np.rint(flat / _COARSE).astype(int)
    _, which, counts = np.unique(bins, axis=0, return_inverse=True, return_counts=True)
    return np.asarray(flat[which.ravel() == int(np.argmax(counts))].mean(axis=0))


_COARSE = 8.0
"""CIELAB units that are one colour of a ground."""
