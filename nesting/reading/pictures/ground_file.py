"""A flat picture kept as the ground of markers: a JPEG beside the file that names it."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.errors import WriteError

__all__ = ["beside", "jpeg"]

_LONGEST = 1600
"""Pixels of the longer side: a marker's picture shows no more."""
_LARGEST = 900_000
"""Bytes: reports hold such pictures."""


def jpeg(pixels: NDArray[np.uint8], *, longest: int = _LONGEST) -> bytes:
    """Return a picture (h×w×3, RGB) as JPEG, made smaller until it is small enough."""
    while True:
        scale = min(1.0, longest / max(pixels.shape[:2]))
        size = (max(1, round(pixels.shape[1] * scale)), max(1, round(pixels.shape[0] * scale)))
        small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
        good, data = cv2.imencode(
            ".jpg", cv2.cvtColor(small, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, 85]
        )
        if not good:
            raise WriteError("the picture can't be written as JPEG", hint="give a smaller picture")
        if len(data) <= _LARGEST or longest < 300:
            return data.tobytes()
        longest = longest * 3 // 4


def beside(file: Path, suffix: str) -> Path:
    """Return the name of what belongs to a file."""
    return file.with_name(file.stem + suffix)
