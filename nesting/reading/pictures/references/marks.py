"""Our own printed marks in a picture."""

from __future__ import annotations

import cv2
import numpy as np

from nesting.reading.pictures.picture import Pixels
from nesting.reading.pictures.references.quads import Quad, refined
from nesting.reading.pictures.references.reference import MARKS

__all__ = ["DICTIONARY", "mark_quads"]

DICTIONARY = cv2.aruco.DICT_4X4_50
"""The marks' patterns: published squares of 4 × 4 (S. Garrido-Jurado and others, 2014,
doi 10.1016/j.patcog.2014.01.005), of which the first ones are ours."""


def mark_quads(pixels: Pixels) -> dict[int, Quad]:
    """Return the marks that are in the picture, by their number (from 0)."""
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(DICTIONARY))
    corners, numbers, _ = detector.detectMarkers(grey)
    found: dict[int, Quad] = {}
    if numbers is None:
        return found
    for four, number in zip(corners, np.asarray(numbers).ravel(), strict=True):
        quad = refined(pixels, np.asarray(four, np.float64).reshape(4, 2), drawn=False, reach=5.0)
        if quad is not None and int(number) < MARKS:
            found[int(number)] = quad
    return found
