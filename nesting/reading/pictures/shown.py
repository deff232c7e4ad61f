"""What was photographed, made flat, with what was found in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nesting.pattern.path import Path

__all__ = ["Shown"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shown:
    """A flat picture (rows × columns × red, green, blue), and paths in mm on it.

    The middle of pixel (column, row) lies at (origin x + column · scale, origin y - row · scale).
    `references`: where what gave the scale lies, as columns and rows; `unread`: boxes (left, top,
    right, low) of what is drawn there and was not read.
    """

    pixels: NDArray[np.uint8]
    mm_per_pixel: float
    origin: tuple[float, float]
    outlines: tuple[Path, ...]
    references: tuple[tuple[tuple[float, float], ...], ...]
    unread: tuple[tuple[float, float, float, float], ...] = ()

    def __repr__(self) -> str:
        """Say how large it is, not what every pixel is."""
        return f"Shown({self.pixels.shape[1]} × {self.pixels.shape[0]} pixels)"
