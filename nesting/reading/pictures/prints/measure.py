"""From a flat picture of cloth to its print: what is cloth in it, turned as people say it lies."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np

from nesting.errors import Finding, PatternError, Severity
from nesting.reading.pictures.flat import Flat
from nesting.reading.pictures.prints.repeat import Repeat, repeat_of

__all__ = ["measure_repeat"]

_TURNS = {"top": 0, "right": 1, "bottom": 2, "left": 3}
"""Quarter turns counter-clockwise that bring the print's top up."""

_SLANT, _SKEW = 0.3, 0.5
"""Degrees from which on it is told that a print lies turned, or askew."""

_FRAME = 0.2
"""Share of the picture from which on a reference is a frame around all, and no sheet upon it."""

_UNSURE = 0.5


def measure_repeat(
    flat: Flat,
    *,
    up: str = "top",
    corner: tuple[float, float] | None = None,
    file: Path | None = None,
) -> tuple[Flat, Repeat, tuple[Finding, ...]]:
    """Measure a print whose top is at one side of the picture; return it upright, too.

    `corner`: where the cloth can first be cut, as the column and row of the picture as it was
    taken: looking up along the print it is on the right, where the cloth begins.

    Raises
    ------
    PatternError
        Nothing is printed there, or nothing repeats.

    """
    mask = flat.seen.copy()
    for corners in flat.references:
        sheet = np.zeros(mask.shape, np.uint8)
        cv2.fillPoly(sheet, [np.rint(corners).astype(np.int32)], 1)
        if sheet.mean() < _FRAME:
            mask &= cv2.dilate(sheet, np.ones((15, 15))) == 0
    quarter = _TURNS[up]
    begins = None if corner is None else _upright(flat, corner, quarter)
    upright = replace(flat, pixels=np.ascontiguousarray(np.rot90(flat.pixels, quarter)))
    try:
        found = repeat_of(
            upright.pixels, np.ascontiguousarray(np.rot90(mask, quarter)), mm=flat.mm_per_pixel
        )
    except PatternError as error:
        raise error.located(file=None if file is None else str(file)) from error
    high, wide = flat.pixels.shape[:2]
    share = flat.off / (np.hypot(high, wide) * flat.mm_per_pixel)
    longest = max(found.up or 0.0, found.right or 0.0)
    found = replace(found, error=3.0 * found.error + share * longest)
    if begins is not None:
        found = replace(found, origin=found.origin_from(begins))
    return upright, found, (*flat.findings, *_told(found))


def _upright(flat: Flat, corner: tuple[float, float], quarter: int) -> tuple[float, float]:
    """Return where a place of the photograph lies in the upright picture, from its lower left."""
    ((x, y),) = flat.of_picture(np.array([corner])) + 0.5
    high, wide = flat.pixels.shape[:2]
    if not (0.0 <= x <= wide and 0.0 <= y <= high):
        raise PatternError(
            f"the cloth's corner {corner[0]:g},{corner[1]:g} lies outside of the picture",
            hint="count columns and rows of the photograph from its upper left, in pixels",
        )
    for _ in range(quarter):
        x, y, wide, high = y, wide - x, high, wide
    return float(x * flat.mm_per_pixel), float((high - y) * flat.mm_per_pixel)


def _told(found: Repeat) -> list[Finding]:
    said = []
    if abs(found.turn) > _SLANT:
        way = "left" if found.turn > 0 else "right"
        said.append(("print-turn", f"the print leans {abs(found.turn):.1f}° to the {way}"))
    if abs(found.askew) > _SKEW:
        said.append(
            (
                "print-askew",
                f"its ways along and across are {abs(found.askew):.1f}° off square: the cloth was"
                " pulled askew, or is printed so",
            )
        )
    if found.columns > 2:
        said.append(
            (
                "print-columns",
                f"it is the same again after {found.columns} columns, each moved along: a job says"
                " this as one repeat across of all of them, which has fewer places for motifs than"
                " there are",
            )
        )
    if found.sure < _UNSURE:
        said.append(
            ("print-sure", "this is not sure: measure one repeat with a ruler before you cut")
        )
    return [Finding(kind=kind, text=text, severity=Severity.NOTE) for kind, text in said]
