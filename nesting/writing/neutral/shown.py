"""A picture of goods as pixels of a box, where that is painted and not written."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence

import numpy as np
from matplotlib.path import Path as Outline
from numpy.typing import NDArray
from PIL import Image

from nesting.pattern.path import Path
from nesting.tolerance import TOLERANCE
from nesting.writing.neutral.drawing import Box, Shown

__all__ = ["shown_pixels"]

_MOST = 1600
"""Pixels along the longer side."""


def shown_pixels(shown: Shown, box: Box) -> NDArray[np.uint8]:
    """Return the picture (h×w×4, RGBA, the first row on top) as it lies in a box (mm)."""
    x0, y0, x1, y1 = box
    scale = _MOST / max(x1 - x0, y1 - y0, 1e-9)
    wide, high = (max(1, round(side * scale)) for side in (x1 - x0, y1 - y0))
    x = x0 + (np.arange(wide) + 0.5) * (x1 - x0) / wide
    y = y1 - (np.arange(high) + 0.5) * (y1 - y0) / high
    gx, gy = np.meshgrid(x, y)
    back = shown.place.inverse
    u, v = back.a * gx + back.b * gy + back.e, back.c * gx + back.d * gy + back.f
    if shown.along is not None and shown.across is not None:
        row = np.floor(v / shown.across)
        u = np.remainder(u - (row % 2) * shown.shift, shown.along)
        v = np.remainder(v, shown.across)
    length, width = shown.picture.size
    pixels = _opened(shown.picture.data)
    column = np.floor(u / length * pixels.shape[1]).astype(int)
    line = np.floor(v / width * pixels.shape[0]).astype(int)
    inside = (column >= 0) & (column < pixels.shape[1]) & (line >= 0) & (line < pixels.shape[0])
    inside &= _within(shown.within, np.column_stack([gx.ravel(), gy.ravel()])).reshape(gx.shape)
    found = np.zeros((high, wide, 4), np.uint8)
    found[inside, :3] = pixels[line[inside], column[inside]]
    found[inside, 3] = 255
    return found


def _opened(data: str) -> NDArray[np.uint8]:
    with Image.open(io.BytesIO(base64.b64decode(data)), formats=("PNG", "JPEG")) as image:
        image.thumbnail((_MOST, _MOST))
        return np.asarray(image.convert("RGB"))


def _within(paths: Sequence[Path], points: NDArray[np.float64]) -> NDArray[np.bool_]:
    found = np.zeros(len(points), bool)
    for path in paths:
        found ^= Outline(path.points(TOLERANCE.search_chord)).contains_points(points)
    return found
