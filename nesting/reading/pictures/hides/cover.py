"""Where a hide covers the floor, in a flat picture, and its edge between pixels.

What is floor and what is hide is told by colours: those of the picture's rim are the floor's, and
the border between the two runs where colours change (GrabCut: C. Rother and others, 2004,
doi 10.1145/1015706.1015720). Its edge is then where the step across it is steepest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from nesting.errors import PatternError
from nesting.reading.pictures.edges import Points, across, step_points
from nesting.reading.pictures.ground import shrunk

__all__ = ["Cover", "covered"]

Pixels = NDArray[Any]
Mask = NDArray[np.bool_]

_SIDE = 560
"""Pixels of the longer side in which floor and hide are told apart."""
_RIM = 0.025
"""Share of the picture's sides that is floor: a hide lies inside."""
_SMALLEST = 0.03
"""Share of the picture that a hide covers at least."""
_REACH = 3.5
"""Pixels of that smaller picture to each side within which the edge is looked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """A hide in a flat picture: its outline and its holes (pixels, x right, y down).

    `scatter`: how far places of the edge lie off it as it is drawn through them (pixels, 95 of
    100 less). `unclear`: share of the edge where no step of colour is seen.
    """

    outline: shapely.Polygon
    scatter: float
    unclear: float


def covered(pixels: Pixels, seen: Mask, *, references: Sequence[Points] = ()) -> Cover:
    """Return where the hide lies.

    Parameters
    ----------
    pixels, seen
        The flat picture, and where it shows anything.
    references
        Corners of sheets, which are neither floor nor hide.

    Raises
    ------
    PatternError
        No hide is seen, it runs off the picture, or it can't be told from the floor.

    """
    small, scale = shrunk(pixels, _SIDE)
    rim, sheets = _known(small.shape[:2], seen, references, scale)
    mask = _told_apart(small, rim, sheets)
    _refuse(mask, rim, seen, small)
    if _alike(small, mask, ~mask & ~sheets):
        raise PatternError(
            "places of the floor have the hide's colour, as boards and shadows may: nobody knows"
            " how far its outline would be off there",
            hint="lay it on a plain floor of another colour, or draw its outline over the picture"
            " (thriftlay page)",
        )
    rough, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    largest = max(rough, key=cv2.contourArea).reshape(-1, 2)
    start = (_smooth(largest.astype(np.float64)) + 0.5) * scale - 0.5
    return _refined(pixels, start, reach=_REACH * scale + 2.0)


def _alike(small: Pixels, hide: Mask, floor: Mask) -> bool:
    """Whether places of the floor have the hide's colour: joints of boards, knots, shadows."""
    lab = cv2.cvtColor(small.astype(np.float32) / np.float32(255.0), cv2.COLOR_RGB2LAB)
    usual = np.median(lab[hide], axis=0)
    away = cv2.erode(floor.astype(np.uint8), np.ones((9, 9))) > 0
    if not away.any():
        return False
    near = np.linalg.norm(lab[away] - usual, axis=-1) < _NEAR
    return bool(near.mean() > _SOME)


_NEAR, _SOME = 22.0, 0.002
"""CIELAB units within which a colour is the hide's, and the share of the floor that is told."""


def _known(
    size: tuple[int, int], seen: Mask, references: Sequence[Points], scale: float
) -> tuple[Mask, Mask]:
    """Return where the rim of what is seen is, and where sheets lie."""
    high, wide = size
    inside = cv2.resize(seen.astype(np.uint8), (wide, high), interpolation=cv2.INTER_AREA)
    padded = np.pad(inside, 1)
    thick = max(3, round(_RIM * max(size)))
    deep = cv2.erode(padded, np.ones((2 * thick + 1, 2 * thick + 1)))[1:-1, 1:-1]
    sheets: Pixels = np.zeros(size, np.uint8)
    for corners in references:
        cv2.fillPoly(sheets, [np.rint((corners + 0.5) / scale - 0.5).astype(np.int32)], 1)
    sheets = cv2.dilate(sheets, np.ones((5, 5)))
    return deep == 0, sheets > 0


def _told_apart(small: Pixels, rim: Mask, sheets: Mask) -> Mask:
    """Return where the hide is: what hangs together, holes filled."""
    lab = cv2.cvtColor(small, cv2.COLOR_RGB2LAB)
    far = _from_floor(lab, rim & ~sheets)
    bound, _ = cv2.threshold(far, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    trimap = np.where(far > bound, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    trimap[rim | sheets] = cv2.GC_BGD
    if not (trimap == cv2.GC_PR_FGD).any():
        return np.zeros(rim.shape, bool)
    cv2.setRNGSeed(1)
    floor, hide = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.grabCut(lab, trimap, (0, 0, 1, 1), floor, hide, 4, cv2.GC_INIT_WITH_MASK)
    mask: Pixels = np.isin(trimap, (cv2.GC_FGD, cv2.GC_PR_FGD)).astype(np.uint8)
    # A sheet that lies upon the hide is no hole, and chalk no gap.
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((3, 3)))
    mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((3, 3)))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask)
    if count < 2:
        return np.zeros(rim.shape, bool)
    largest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    return _filled(labels == largest)


def _from_floor(lab: Pixels, rim: Mask) -> Pixels:
    """Return how far each pixel's colour is from the nearest of the floor's main colours."""
    samples = lab[rim].astype(np.float32)
    criteria = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.5)
    cv2.setRNGSeed(1)
    labels: Pixels = np.zeros((len(samples), 1), np.int32)
    _, labels, centres = cv2.kmeans(samples, 4, labels, criteria, 1, cv2.KMEANS_PP_CENTERS)
    share = np.bincount(labels.ravel(), minlength=4) / len(samples)
    main = centres[share > 0.02]
    off = np.linalg.norm(lab[..., None, :].astype(np.float32) - main, axis=-1).min(axis=-1)
    return np.asarray(np.clip(off * 2.0, 0, 255), np.uint8)


def _filled(mask: Mask) -> Mask:
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    whole = np.zeros(mask.shape, np.uint8)
    cv2.drawContours(whole, contours, -1, 1, cv2.FILLED)
    return whole > 0


def _refuse(mask: Mask, rim: Mask, seen: Mask, small: Pixels) -> None:
    if mask.mean() < _SMALLEST:
        raise PatternError(
            "no hide is seen apart from the floor: it runs off the picture, or has the floor's"
            " colours",
            hint="lay it on a plain floor of another colour, a hand's breadth of it all around",
        )
    near = cv2.dilate(rim.astype(np.uint8), np.ones((5, 5))) > 0
    if (mask & near).sum() > 0.02 * np.sqrt(mask.sum()) * 4.0:
        raise PatternError(
            "the hide runs off the picture, or its colour is that of the floor",
            hint="leave a hand's breadth of floor around it, of another colour",
        )


def _smooth(ring: Points) -> Points:
    """Return a ring of pixels without their steps: a running mean round and round."""
    width = 5
    around = np.concatenate([ring[-width:], ring, ring[:width]])
    kernel = np.ones(width) / width
    return np.stack(
        [np.convolve(around[:, k], kernel, mode="same")[width:-width] for k in (0, 1)], axis=1
    )


def _refined(pixels: Pixels, ring: Points, *, reach: float) -> Cover:
    """Return the ring drawn to where the step across the edge is steepest."""
    line = shapely.Polygon(ring).buffer(0)
    line = max(getattr(line, "geoms", [line]), key=lambda p: p.area)
    off, unclear = np.zeros(0), 1.0
    for wide in (reach, 0.5 * reach):
        at, normals = _walk(line.exterior, step=1.5)
        lines = across(pixels, at, normals, wide)
        places, height, normals = step_points(lines, _GROUP)
        base = at[: len(places) * _GROUP].reshape(-1, _GROUP, 2).mean(axis=1)
        off = ((places - base) * normals).sum(axis=1)
        usual = float(np.median(height[height > 0])) if (height > 0).any() else 0.0
        sound = height > max(_STEP, 0.25 * usual)
        unclear = 1.0 - float(sound.mean())
        off = _agreed(off, sound)
        moved = base + normals * off[:, None]
        next_line = shapely.Polygon(moved).buffer(0)
        line = max(getattr(next_line, "geoms", [next_line]), key=lambda p: p.area)
    rough = np.abs(off - _median(off, 9))
    return Cover(outline=line, scatter=float(np.percentile(rough, 95.0)), unclear=unclear)


_GROUP = 3
"""Profiles across the edge that give one place of it."""
_STEP = 6.0
"""Colours (way between two, of 441) by which an edge is one."""


def _walk(ring: shapely.LinearRing, *, step: float) -> tuple[Points, Points]:
    """Return places along a ring, and the normals there."""
    count = max(30, int(ring.length / step) // _GROUP * _GROUP)
    at = shapely.get_coordinates(
        shapely.line_interpolate_point(ring, np.arange(count) / count, normalized=True)
    )
    way = np.roll(at, -2, axis=0) - np.roll(at, 2, axis=0)
    way /= np.maximum(np.hypot(*way.T), 1e-9)[:, None]
    return at, np.stack([-way[:, 1], way[:, 0]], axis=1)


def _agreed(off: NDArray[np.float64], sound: Mask) -> NDArray[np.float64]:
    """Return moves of an edge's places, those that leap or have no step as their neighbours."""
    known = np.where(sound, off, np.nan)
    near = _median(known, 15)
    spread = 3.0 * 1.4826 * float(np.nanmedian(np.abs(known - near))) + 1.0
    good = sound & (np.abs(known - near) <= spread)
    if not good.any():
        return np.zeros_like(off)
    index = np.arange(len(off))
    return np.asarray(np.interp(index, index[good], off[good], period=len(off)))


def _median(values: NDArray[np.float64], width: int) -> NDArray[np.float64]:
    """Return the running median round and round, of what is known."""
    half = width // 2
    around = np.concatenate([values[-half:], values, values[:half]])
    windows = np.lib.stride_tricks.sliding_window_view(around, width)
    known = np.isfinite(windows).any(axis=1)
    out = np.zeros(len(values))
    out[known] = np.nanmedian(windows[known], axis=1)
    return out
