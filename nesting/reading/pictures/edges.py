"""Where edges and lines lie in a picture, to a fraction of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.reading.pictures.picture import Pixels

__all__ = ["Across", "Points", "across", "line_points", "step_points"]

Points = NDArray[np.float64]
"""Places, n × 2: x to the right, y downwards, in pixels; the middle of the first is (0, 0)."""

_STEP = 0.5
_SOFT = 1.0
"""The profile is smoothed by so many pixels (standard deviation) before its slope is taken."""
_WIDEST = 24_000
"""So many profiles are read at a time: the library can't address more."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Across:
    """Profiles across a line: `values` (n × m × 3) at `offsets` (m, pixels) along `normals`."""

    at: Points
    normals: Points
    offsets: NDArray[np.float64]
    values: NDArray[np.float64]


def across(pixels: Pixels, at: Points, normals: Points, reach: float) -> Across:
    """Sample the picture along the normals at places, as far as `reach` to both sides."""
    half = max(2, int(np.ceil(reach / _STEP)))
    offsets = np.arange(-half, half + 1, dtype=np.float64) * _STEP
    parts = []
    for first in range(0, len(at), _WIDEST):
        some = slice(first, first + _WIDEST)
        x = at[some, :1] + normals[some, :1] * offsets
        y = at[some, 1:] + normals[some, 1:] * offsets
        parts.append(
            cv2.remap(
                pixels,
                x.astype(np.float32),
                y.astype(np.float32),
                cv2.INTER_LINEAR,
                borderMode=cv2.BORDER_REPLICATE,
            )
        )
    values = np.concatenate(parts).astype(np.float64)
    return Across(at=at, normals=normals, offsets=offsets, values=values)


def step_points(lines: Across, group: int) -> tuple[Points, NDArray[np.float64], Points]:
    """Return where the step across an edge is steepest, one place for each `group` of profiles.

    Returns
    -------
    tuple
        The places (pixels), how high each step is (0 to 441, the way between two colours), and the
        normals there.

    """
    signal, height = _signal(lines, group)
    slope = _slope(signal)
    place, found = _peak(slope)
    at, normals = _grouped(lines.at, group), _grouped(lines.normals, group)
    ends = np.clip(place, 2, len(lines.offsets) - 3)
    inner = found & (np.abs(place - ends) < 0.5)
    off = lines.offsets[0] + place * _STEP
    return at + normals * off[:, None], np.where(inner, height, 0.0), normals


def line_points(
    lines: Across, group: int
) -> tuple[Points, NDArray[np.float64], NDArray[np.float64]]:
    """Return the middle of a line that is darker than both its sides, one for each `group`.

    Returns
    -------
    tuple
        The places (pixels), how dark the line is there, and how wide it is (pixels).

    """
    grey = _grouped(lines.values.mean(axis=2), group)
    slope = _slope(grey)
    middle = len(lines.offsets) // 2
    window = np.exp(-0.5 * ((np.arange(len(lines.offsets)) - middle) / (0.5 * middle)) ** 2)
    darkest = np.argmin(_smooth(grey) - 40.0 * window, axis=1)
    index = np.arange(slope.shape[1])[None, :]
    down, fell = _peak(np.where(index <= darkest[:, None], -slope, -np.inf))
    up, rose = _peak(np.where(index >= darkest[:, None], slope, -np.inf))
    place = 0.5 * (down + up)
    depth = np.percentile(grey, 80, axis=1) - grey.min(axis=1)
    at, normals = _grouped(lines.at, group), _grouped(lines.normals, group)
    off = lines.offsets[0] + place * _STEP
    good = fell & rose & (up > down)
    return at + normals * off[:, None], np.where(good, depth, 0.0), (up - down) * _STEP


def _signal(lines: Across, group: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return profiles along the way from the colour before the edge to that behind it."""
    values = _grouped(lines.values, group)
    third = max(2, values.shape[1] // 4)
    before, behind = values[:, :third].mean(axis=1), values[:, -third:].mean(axis=1)
    gap = behind - before
    common = np.median(gap, axis=0)
    way = common / max(float(np.linalg.norm(common)), 1e-9)
    return values @ way, gap @ way


def _grouped(values: NDArray[np.float64], group: int) -> NDArray[np.float64]:
    """Return the means of so many neighbours; what is left over at the end goes unused."""
    count = max(1, len(values) // group)
    kept = values[: count * group] if len(values) >= group else values
    shape = (count, -1, *values.shape[1:])
    return np.asarray(kept.reshape(shape).mean(axis=1), np.float64)


def _smooth(signal: NDArray[np.float64]) -> NDArray[np.float64]:
    soft = cv2.GaussianBlur(
        signal, (0, 0), sigmaX=_SOFT / _STEP, sigmaY=1e-6, borderType=cv2.BORDER_REPLICATE
    )
    return np.asarray(soft, np.float64)


def _slope(signal: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.gradient(_smooth(signal), axis=1), np.float64)


def _peak(slope: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return where each row is highest, between its samples by a parabola.

    Samples that don't count are minus infinity: beside them, and where none counts because a line
    is darkest at its profile's end, there is no parabola.
    """
    last = slope.shape[1] - 1
    best = np.clip(np.argmax(slope, axis=1), 1, last - 1)
    three = slope[np.arange(len(slope))[:, None], best[:, None] + [-1, 0, 1]]
    top = three[:, 1]
    a, b, c = np.where(np.isfinite(three).all(axis=1)[:, None], three, 0.0).T
    bend = a - 2.0 * b + c
    sound = (bend < -1e-12) & (b > 0.0)
    shift = np.where(sound, 0.5 * (a - c) / np.where(sound, bend, 1.0), 0.0)
    return best + np.clip(shift, -0.5, 0.5), np.isfinite(top) & (top > 0.0)
