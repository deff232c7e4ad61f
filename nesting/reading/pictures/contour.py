"""The rim of a thing, from whole pixels to where its edge really lies."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.reading.pictures.edges import Across, Points, across, line_points, step_points
from nesting.reading.pictures.flat import Flat
from nesting.reading.pictures.things import Thing

__all__ = ["SHARP", "edge_ring", "evenly", "line_ring", "roughness", "sharpness"]

_REACH = 4.0
_MOST = 1.8
"""An edge that seems to lie farther (pixels) from its rim is another's, or noise."""
_ALONG = 5
"""Profiles that are averaged along the rim, against noise."""
SHARP = 0.6
"""What of its step in colour an edge makes within three pixels to both sides, at least. Paper does
0.97, blurred by three pixels 0.70; the soft rim of a shadow that wide 0.62 (own renders)."""
_NEAR, _FAR = 3.0, 8.0


def edge_ring(flat: Flat, rim: Points) -> tuple[Points, float]:
    """Return where the edge of a thing lies along its rim, and along what share it is hardly seen.

    The line is closed, with a place at every pixel.
    """
    ring, normals = _smooth(rim)
    lines = _averaged(across(flat.pixels, ring, normals, _REACH))
    points, height, _ = step_points(lines, 1)
    off = ((points - ring) * normals).sum(axis=1)
    sound = (height > 0.3 * np.median(height)) & (np.abs(off - np.median(off)) < _MOST)
    return evenly(ring + normals * _filled(off, sound)[:, None]), 1.0 - float(sound.mean())


def line_ring(flat: Flat, thing: Thing, *, outside: bool) -> tuple[Points, float]:
    """Return the middle of a drawn line, or its outer edge; and the share that is hardly seen."""
    ring, normals = _smooth(thing.rim)
    inward = normals if _turns_in(ring, normals) else -normals
    ring = ring + inward * (thing.ink / 2.0)
    lines = _averaged(across(flat.pixels, ring, inward, thing.ink + 3.5))
    points, depth, width = line_points(lines, 1)
    off = ((points - ring) * inward).sum(axis=1)
    sound = (depth > 0.4 * np.median(depth)) & (np.abs(off - np.median(off)) < thing.ink / 2 + 1.0)
    usual = np.median(width[sound]) if sound.any() else thing.ink
    sound &= np.abs(width - usual) < 0.5 * usual + 1.0
    off = _filled(off, sound)
    if outside:
        off = off - _filled(width, sound) / 2.0
    return evenly(ring + inward * off[:, None]), 1.0 - float(sound.mean())


def sharpness(flat: Flat, ring: Points) -> NDArray[np.float64]:
    """Return what of the step in colour across an edge is made right at it, along its line.

    1 is an edge of paper. Less is a picture out of focus, or a thing whose shadow has its colour:
    what is seen then is the rim of the shadow, and the thing ends somewhere within.
    """
    normals = _normals(ring)
    x, y = ring.T
    wide = abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / len(ring)  # of a strip, its width
    far = float(np.clip(0.4 * wide, 0.5 * _FAR, _FAR))
    near = _NEAR * far / _FAR
    lines = across(flat.pixels, ring, normals, far)
    at = lines.offsets

    def step(low: float, high: float) -> NDArray[np.float64]:
        """Return how much the colour between two distances differs on the two sides."""
        sides = [
            lines.values[:, (side * at >= low) & (side * at <= high)].mean(axis=1)
            for side in (1, -1)
        ]
        soft = _blurred(sides[0] - sides[1], 2.0)
        return np.asarray(np.hypot(np.hypot(soft[:, 0], soft[:, 1]), soft[:, 2]), np.float64)

    whole = step(0.75 * far, far)
    return step(near - 0.5, near + 0.5) / np.maximum(whole, max(0.5 * float(np.median(whole)), 1.0))


def roughness(ring: Points) -> float:
    """Return how far places of a closed line lie off their neighbours' line, half of them more."""
    middle = (np.roll(ring, 3, axis=0) + np.roll(ring, -3, axis=0)) / 2.0
    way = np.roll(ring, -3, axis=0) - np.roll(ring, 3, axis=0)
    gap = ring - middle
    off = (gap[:, 0] * way[:, 1] - gap[:, 1] * way[:, 0]) / np.maximum(np.hypot(*way.T), 1e-9)
    return float(np.median(np.abs(off)))


def _smooth(rim: Points) -> tuple[Points, Points]:
    """Return a rim without the steps of its pixels, and the normals there (n × 2 each)."""
    ring = evenly(_blurred(rim, 1.0))
    return ring, _normals(ring)


def _normals(ring: Points) -> Points:
    """Return the normals of a closed line."""
    way = _blurred(np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0), 1.5)
    way /= np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
    return np.stack([-way[:, 1], way[:, 0]], axis=1)


def _turns_in(ring: Points, normals: Points) -> bool:
    """Tell whether the normals of a ring point into it."""
    x, y = ring.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0.0


def _blurred(values: NDArray[np.float64], sigma: float) -> NDArray[np.float64]:
    """Return values along a closed line, smoothed."""
    room = min(int(4 * sigma) + 2, len(values))
    wide = np.concatenate([values[-room:], values, values[:room]])
    soft = cv2.GaussianBlur(wide, (0, 0), sigmaX=1e-6, sigmaY=sigma)
    return np.asarray(soft.reshape(wide.shape)[room : room + len(values)], np.float64)


def _averaged(lines: Across) -> Across:
    """Return profiles that are each the mean of some neighbours, the nearer the more."""
    weights = np.bartlett(_ALONG + 2)[1:-1]
    half = _ALONG // 2
    total = sum(
        weight * np.roll(lines.values, shift - half, axis=0) for shift, weight in enumerate(weights)
    )
    return Across(
        at=lines.at,
        normals=lines.normals,
        offsets=lines.offsets,
        values=np.asarray(total / weights.sum(), np.float64),
    )


def _filled(values: NDArray[np.float64], sound: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Return values with the unsound ones put in between their sound neighbours, around."""
    if sound.all() or not sound.any():
        return values if sound.any() else np.zeros_like(values)
    count = len(values)
    at = np.flatnonzero(sound)
    around = np.concatenate([at - count, at, at + count])
    return np.interp(np.arange(count), around, np.tile(values[at], 3))


def evenly(ring: Points, step: float = 1.0) -> Points:
    """Return a closed line with places so many pixels apart."""
    closed = np.vstack([ring, ring[:1]])
    gaps = np.hypot(*np.diff(closed, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(gaps)])
    count = max(8, round(along[-1] / step))
    where = np.arange(count) * (along[-1] / count)
    return np.stack([np.interp(where, along, closed[:, k]) for k in (0, 1)], axis=1)
