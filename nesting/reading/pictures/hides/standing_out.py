"""What else stands out on a hide: patches that nothing was said of, such as stickers or holes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from nesting.reading.pictures.hides.chalk import LONG, SMALLEST, inside_of, off_leather

__all__ = ["standing_out"]

_APART = 20.0
"""CIELAB units by which a patch differs from the leather around it (own choice: more than chalk has
to; of a render with mottled leather it finds the stickers and nothing else)."""


def standing_out(
    pixels: NDArray[Any],
    hide: shapely.Polygon,
    taken: Sequence[shapely.Polygon],
    *,
    mm: float,
    without: NDArray[np.bool_] | None = None,
) -> tuple[shapely.Polygon, ...]:
    """Return the patches (pixels) on a hide that differ in colour and are not `taken` for flaws.

    Strokes and long lines are none. `mm`: length of a pixel's side; `without`: where sheets lie.
    """
    inside = inside_of(hide, pixels.shape[:2], mm=mm, without=without)
    _, off = off_leather(pixels, inside, mm)
    marked = (np.linalg.norm(off, axis=-1) > _APART) & inside
    gap = max(1, round(SMALLEST / mm / 2))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (gap, gap))
    closed = cv2.morphologyEx(marked.astype(np.uint8), cv2.MORPH_CLOSE, kernel)
    contours, _ = cv2.findContours(closed, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    length = float(np.hypot(*np.ptp(shapely.get_coordinates(hide), axis=0)))
    known = shapely.union_all(list(taken)).buffer(SMALLEST / mm)
    found = []
    for contour in contours:
        _, (a, b), _ = cv2.minAreaRect(contour)
        if min(a, b) * mm < SMALLEST or max(a, b) > LONG * length:
            continue
        patch = shapely.Polygon(contour.reshape(-1, 2)).buffer(0.5)
        if isinstance(patch, shapely.Polygon) and not known.intersects(patch):
            found.append(patch)
    return tuple(found)
