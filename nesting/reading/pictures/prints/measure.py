"""From a flat picture of cloth to its print: what is cloth in it, turned as people say it lies."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.errors import Finding, PatternError, Severity
from nesting.reading.pictures.flat import Flat
from nesting.reading.pictures.prints.repeat import Repeat, repeat_of, what_repeats

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
    flat = _straightened(flat)
    mask = _cloth(flat)
    quarter = _TURNS[up]
    begins = None if corner is None else _upright(flat, corner, quarter)
    upright = replace(flat, pixels=np.ascontiguousarray(np.rot90(flat.pixels, quarter)))
    try:
        found = repeat_of(
            upright.pixels, np.ascontiguousarray(np.rot90(mask, quarter)), mm=flat.mm_per_pixel
        )
    except PatternError as error:
        raise error.located(file=None if file is None else str(file)) from error
    found = _rated(found, flat, mask, quarter)
    if begins is not None:
        found = replace(found, origin=found.origin_from(begins))
    return upright, found, (*flat.findings, *_told(found))


_AIM = 0.005
"""Share within which a repeat is sure."""


def _rated(found: Repeat, flat: Flat, mask: NDArray[np.bool_], quarter: int) -> Repeat:
    """Return the repeat with what it may be off, and how sure it is to lie within the aim.

    That has two parts: that it is the repeat and no multiple or fraction (`found.sure`), and what
    the scale, the lens and the lattice may be off, as a normal deviation.
    """
    nodes = np.argwhere(mask[::_STEP, ::_STEP])[:, ::-1].astype(np.float64) * _STEP
    turn = np.radians(found.turn - 90.0 * quarter)
    ways = (-np.sin(turn), np.cos(turn)), (np.cos(turn), np.sin(turn))
    worst, off = 0.0, 0.0
    for length, way in zip((found.up, found.right), ways, strict=True):
        if length is not None:
            share = math.hypot(flat.stretch(nodes, np.array(way)), found.error / length)
            worst, off = max(worst, share), max(off, share * length)
    within = math.erf(_AIM / (worst * 2.0**0.5))
    return replace(found, error=3.0 * off, sure=found.sure * within)


_STEP = 40
"""Of so many rows and columns one is enough to reckon what the scale may be off."""


def _cloth(flat: Flat) -> NDArray[np.bool_]:
    """Return where cloth is seen: what gave the scale lies on it, or is a frame around all."""
    mask = flat.seen.copy()
    for corners, lying in zip(flat.references, flat.lying, strict=True):
        sheet = np.zeros(mask.shape, np.uint8)
        cv2.fillPoly(sheet, [np.rint(corners).astype(np.int32)], 1)
        if lying and sheet.mean() < _FRAME:
            mask &= cv2.dilate(sheet, np.ones((15, 15))) == 0
    return mask


def _straightened(flat: Flat) -> Flat:
    """Return the picture made flat again by what the print itself tells of the lens.

    A sheet upon the cloth says little of how lines bend far from it; a print's rows are straight
    and its repeats alike.
    """
    if flat.again is None or (told := what_repeats(flat.pixels, _cloth(flat))) is None:
        return flat
    return flat.again(replace(told, points=flat.in_picture(told.points)))


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
