"""Moves by which a picture falls upon itself: places of peaks between pixels, and ridges."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.reading.pictures.prints.likeness import Likeness

__all__ = ["peak_near", "peaks", "ridge", "upon_ridge"]

Array = NDArray[np.float64]

_NEAREST = 4.0
"""Pixels: of a nearer move a picture is like itself because motifs are larger than that."""

_HALF = 2
"""Pixels to each side by which the place of a peak is fitted."""


def _fit_matrix() -> Array:
    """Return what gives the quadratic of the window's values: 1, x, y, x², xy, y²."""
    y, x = np.mgrid[-_HALF : _HALF + 1, -_HALF : _HALF + 1].reshape(2, -1).astype(float)
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)
    return np.asarray(np.linalg.pinv(terms))


_FIT = _fit_matrix()


def peaks(like: Likeness) -> Array:
    """Return all peaks (n×3: x, y, likeness) of the half plane, the likest first."""
    values = like.values
    highest = cv2.dilate(values, np.ones((5, 5)))
    rows, columns = np.nonzero((values >= highest) & (values > 0.0))
    y, x = rows - like.reach[0], columns - like.reach[1]
    half = (y > 0) | ((y == 0) & (x > 0))
    far = np.hypot(x, y) >= _NEAREST
    found = [
        peak
        for a, b in zip(x[half & far], y[half & far], strict=True)
        if (peak := _refined(like, int(a), int(b))) is not None
    ]
    if not found:
        return np.zeros((0, 3))
    table = np.array(found)
    return np.asarray(table[np.argsort(-table[:, 2])][:_MOST])


_MOST = 600
"""Peaks that are looked at; more are of noise."""


def peak_near(
    like: Likeness, x: float, y: float, *, within: float
) -> tuple[float, float, float] | None:
    """Return the highest peak no farther than `within` pixels from a move, None if none is."""
    w = max(1, int(np.ceil(within)))
    a, b = round(x), round(y)
    if not like.holds(abs(a) + w, abs(b) + w):
        return None
    part = like.values[
        b + like.reach[0] - w : b + like.reach[0] + w + 1,
        a + like.reach[1] - w : a + like.reach[1] + w + 1,
    ]
    row, column = np.unravel_index(int(np.argmax(part)), part.shape)
    return _refined(like, a + int(column) - w, b + int(row) - w)


def _refined(like: Likeness, x: int, y: int) -> tuple[float, float, float] | None:
    """Return the top of the quadratic through what lies about a pixel: x, y, likeness."""
    if not like.holds(x, y):
        return None
    row, column = y + like.reach[0], x + like.reach[1]
    part = like.values[row - _HALF : row + _HALF + 1, column - _HALF : column + _HALF + 1]
    _, a, b, aa, ab, bb = _FIT @ part.ravel()
    det = 4.0 * aa * bb - ab * ab
    if not (det > 1e-12 and aa < 0.0 and bb < 0.0):
        return None
    dx, dy = (ab * b - 2.0 * bb * a) / det, (ab * a - 2.0 * aa * b) / det
    if max(abs(dx), abs(dy)) > 1.5:
        return None
    return x + dx, y + dy, float(like.at(x + dx, y + dy)[0])


def ridge(like: Likeness) -> float | None:
    """Return the direction (radians) of stripes: the way in which nothing changes, or None."""
    reach = 0.92 * min(like.reach)
    steps = np.arange(_NEAREST, reach)

    def least(angle: float) -> tuple[float, float]:
        along = like.at(steps * np.cos(angle), steps * np.sin(angle))
        return float(np.percentile(along, 3.0)), float(np.percentile(along, 97.0))

    angles = np.radians(np.arange(0.0, 180.0, 0.5))
    best = max(angles, key=lambda angle: least(angle)[0])
    for step in (0.1, 0.02):
        near = best + np.radians(np.arange(-5, 6) * step)
        best = max(near, key=lambda angle: least(angle)[0])
    low, high = least(float(best))
    return float(best) if low > _ALIKE * high and high > _SEEN else None


_ALIKE, _SEEN = 0.93, 0.2
"""Along a stripe the likeness falls by no more than this, and there is some (own choices)."""


def upon_ridge(like: Likeness, angle: float) -> Array:
    """Return the likeness by how far a striped picture is moved square to its stripes (pixels).

    It is the mean over moves along the stripes, from none to as far as there is a table.
    """
    along, square = (np.cos(angle), np.sin(angle)), (-np.sin(angle), np.cos(angle))
    reach = np.hypot(*like.reach)
    for size in np.arange(reach, 0.0, -1.0):
        if like.holds(size * square[0], size * square[1]):
            reach = size
            break
    far = np.arange(0, int(reach))
    moves = np.linspace(-0.25, 0.25, 41) * min(like.reach)
    x = far[:, None] * square[0] + moves * along[0]
    y = far[:, None] * square[1] + moves * along[1]
    found = like.at(x.ravel(), y.ravel()).reshape(x.shape)
    outside = (np.abs(x) > like.reach[1] - 2) | (np.abs(y) > like.reach[0] - 2)
    return np.asarray(np.ma.array(found, mask=outside | (found <= -1.0)).mean(axis=1).filled(-1.0))
