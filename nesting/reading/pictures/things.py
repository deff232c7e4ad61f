"""What is a piece in a flat picture: paper that lies on the ground, or outlines that are drawn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.reading.pictures.edges import Points
from nesting.reading.pictures.flat import Flat
from nesting.reading.pictures.ground import apart, blurred

__all__ = ["Found", "Thing", "drawn_things", "ink_of", "lying_things"]

Mask = NDArray[np.bool_]

SMALLEST = 100.0
"""What covers less (mm²) is no piece: 1 cm²."""
_SMALLEST_HOLE = 7.0
"""A cut-out that covers less (mm²) is not told from a spot: an eyelet's hole of 3 mm."""
_SIDE = 1600
_PEN = 4.0
"""What is no wider (mm) is a thread, and around an opening a drawn line, and no paper."""
_INK = 0.5
"""A drawn line covers less than this share of what lies within it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Thing:
    """A thing in a flat picture: the pixels along its rim, and along those of its cut-outs.

    `ink`: it is drawn with a line so wide (pixels), and the rims are those of the line. `line`: it
    lies there, but is no wider than a line around what it leaves out.
    """

    rim: Points
    holes: tuple[Points, ...] = ()
    ink: float = 0.0
    line: bool = False


@dataclass(slots=True, kw_only=True)
class Found:
    """The things, and how many were left out: cut off by the picture, on a reference, unclear."""

    things: list[Thing]
    cut_off: int = 0
    on_reference: int = 0
    unclear: int = 0
    divided: int = 0


def lying_things(flat: Flat) -> Found:
    """Return what lies on the ground, but for the references."""
    parted = apart(flat.pixels, side=_SIDE)
    scale = parted.scale
    height, width = parted.mask.shape
    seen = cv2.resize(flat.seen.astype(np.uint8), (width, height), interpolation=cv2.INTER_AREA)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(
        (parted.mask & (seen > 0)).astype(np.uint8), connectivity=4
    )
    least = SMALLEST / (flat.mm_per_pixel * scale) ** 2
    rim = cv2.dilate((seen == 0).astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    rim[:2] = rim[-2:] = rim[:, :2] = rim[:, -2:] = True
    at_rim = set(np.unique(labels[rim]).tolist())
    found = Found(things=[])
    for i in range(1, count):
        if stats[i, cv2.CC_STAT_AREA] < least:
            continue
        mask = labels == i
        verdict = _reference(mask, flat, scale)
        if verdict == "is":
            continue
        if i in at_rim:
            found.cut_off += 1
        elif verdict == "touches":
            found.on_reference += 1
        elif thing := _lying(flat, mask, parted.mask & ~mask, scale):
            found.things.append(thing)
    return found


def _reference(mask: Mask, flat: Flat, scale: float) -> str:
    """Tell whether a thing is a reference, or the paper of a mark, or has one on it."""
    area = float(mask.sum())
    for corners, alone in zip(flat.references, flat.alone, strict=True):
        small = np.zeros(mask.shape, np.uint8)
        places = ((corners + 0.5) / scale - 0.5).round().astype(np.int32)
        cv2.fillPoly(small, [places], 1)
        own = float(small.sum())
        if own < 1.0:
            continue
        shared = float((mask & (small > 0)).sum())
        if shared > 0.8 * own and area < (1.25 if alone else 5.0) * own:
            return "is"
        if area < 0.5 * own and shared > 0.6 * area and not alone:
            return "is"  # a black field of a mark
        if shared > 0.8 * own and alone:
            return "touches"
    return ""


def _lying(flat: Flat, mask: Mask, others: Mask, scale: float) -> Thing | None:
    """Return the thing at full size: where its colour and the ground's are mixed half and half."""
    reach = int(np.ceil(1.5 * scale)) + 2
    rows, columns = (np.flatnonzero(mask.any(axis=axis)) for axis in (1, 0))
    far = int(np.ceil(6.0 * reach / scale)) + 3
    top, left = max(rows[0] - far, 0), max(columns[0] - far, 0)
    part = np.s_[top : rows[-1] + far + 1, left : columns[-1] + far + 1]
    small, beside = mask[part].astype(np.uint8), others[part].astype(np.uint8)
    y0, x0 = round(top * scale), round(left * scale)
    y1 = min(round((top + small.shape[0]) * scale), flat.pixels.shape[0])
    x1 = min(round((left + small.shape[1]) * scale), flat.pixels.shape[1])
    colours = flat.pixels[y0:y1, x0:x1].astype(np.float32)
    size = (colours.shape[1], colours.shape[0])
    large = cv2.resize(small, size, interpolation=cv2.INTER_LINEAR) > 0
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    core = cv2.erode(large.astype(np.uint8), kernel, borderValue=0) > 0
    around = cv2.dilate(large.astype(np.uint8), kernel) > 0
    foreign = cv2.dilate(cv2.resize(beside, size, interpolation=cv2.INTER_NEAREST), kernel) > 0
    own, ground = (_near(colours, where, 2.0 * reach) for where in (core, ~around & ~foreign))
    way = own - ground
    share = ((colours - ground) * way).sum(axis=2) / np.maximum((way * way).sum(axis=2), 25.0)
    inside = core | (around & (share > 0.5))
    return _rims(inside, flat.mm_per_pixel, np.array([x0, y0], float))


def _near(colours: NDArray[np.float32], where: Mask, sigma: float) -> NDArray[np.float32]:
    """Return the mean colour near every place of what is marked; of all of it where none is."""
    weight = where.astype(np.float32)
    mean = colours[where].mean(axis=0) if where.any() else colours.mean(axis=(0, 1))
    total = blurred(colours * weight[..., None], sigma) + 1e-4 * mean
    return np.asarray(total / (blurred(weight, sigma) + 1e-4)[..., None], np.float32)


def _rims(inside: Mask, scale: float, corner: Points) -> Thing | None:
    """Return the largest thing's rims, pixel by pixel."""
    kernel = np.ones((3, 3), np.uint8)
    tidy = cv2.morphologyEx(inside.astype(np.uint8), cv2.MORPH_CLOSE, kernel)
    contours, nesting = cv2.findContours(tidy, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    if nesting is None:
        return None
    rings = [contour.reshape(-1, 2).astype(np.float64) for contour in contours]
    outer = [i for i in range(len(rings)) if nesting[0][i][3] < 0]
    best = max(outer, key=lambda i: cv2.contourArea(contours[i]))
    holes = tuple(
        rings[i] + corner
        for i in range(len(rings))
        if nesting[0][i][3] == best and cv2.contourArea(contours[i]) * scale**2 > _SMALLEST_HOLE
    )
    empty = sum(cv2.contourArea(ring.astype(np.float32)) for ring in holes)
    whole, around = cv2.contourArea(contours[best]), cv2.arcLength(contours[best], True)
    if 2.0 * whole * scale < _PEN * around:
        return None  # a thread, a shadow's rim
    line = empty > 0.5 * whole and (whole - empty) * scale < _PEN * around
    return Thing(rim=rings[best] + corner, holes=holes, line=line)


def ink_of(flat: Flat) -> Mask:
    """Return what is darker than the paper around it: drawn lines, letters, dark things."""
    grey = cv2.cvtColor(flat.pixels, cv2.COLOR_RGB2GRAY)
    wide = max(15, round(8.0 / flat.mm_per_pixel) | 1)
    paper = cv2.dilate(grey, np.ones((wide, wide), np.uint8))
    paper = np.asarray(blurred(paper.astype(np.float32), wide / 2.0), np.float32)
    depth = paper - grey
    strong = float(np.percentile(depth[::4, ::4], 99.7))
    return np.asarray((depth > max(20.0, 0.45 * strong)) & flat.seen, bool)


def drawn_things(flat: Flat, *, close: float) -> Found:
    """Return outlines that are drawn with a pen or printed, but for the references.

    Gaps of the line that are no wider than `close` (mm) are closed.
    """
    ink = ink_of(flat).astype(np.uint8)
    gap = int(np.clip(round(close / flat.mm_per_pixel), 1, 15))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (gap + 1, gap + 1))
    joined = cv2.morphologyEx(ink, cv2.MORPH_CLOSE, kernel)
    contours, nesting = cv2.findContours(joined, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    found = Found(things=[])
    if nesting is None:
        return found
    area = flat.mm_per_pixel**2
    grey = cv2.cvtColor(flat.pixels, cv2.COLOR_RGB2GRAY)
    for i, contour in enumerate(contours):
        whole = cv2.contourArea(contour)
        if nesting[0][i][3] >= 0 or whole * area < SMALLEST:
            continue
        children = list(_children(nesting[0], i))
        inner = [cv2.contourArea(contours[j]) for j in children]
        if sum(inner) < (1.0 - _INK) * whole:
            continue  # a dark thing, letters, hatching
        if not _hollow(grey, contour, max((contours[j] for j in children), key=cv2.contourArea)):
            continue  # a dark thing so large that no paper is near its middle
        ring = contour.reshape(-1, 2).astype(np.float64)
        if _is_reference(ring, flat):
            continue
        low, high = ring.min(axis=0), ring.max(axis=0)
        if (low < 2).any() or (high > np.array(ink.shape[::-1]) - 3).any():
            found.cut_off += 1
            continue
        found.divided += sum(part > 0.05 * whole for part in inner) > 1
        around = cv2.arcLength(contour, True)
        wide = max((whole - sum(inner)) / around, 1.0)
        found.things.append(Thing(rim=ring, ink=wide))
    return found


def _hollow(grey: NDArray[Any], rim: NDArray[Any], hole: NDArray[Any]) -> bool:
    """Tell whether the inside of a drawn line is nearer to the paper outside than to the line."""
    x, y, wide, tall = cv2.boundingRect(rim)
    left, top = max(x - 4, 0), max(y - 4, 0)
    part = grey[top : y + tall + 4, left : x + wide + 4]
    there = [np.zeros(part.shape, np.uint8) for _ in range(2)]
    for mask, ring in zip(there, (rim, hole), strict=True):
        cv2.drawContours(mask, [ring], -1, 1, cv2.FILLED, offset=(-left, -top))
    whole, inside = there
    around = (cv2.dilate(whole, np.ones((7, 7), np.uint8)) > 0) & (whole == 0)
    line = (whole > 0) & (inside == 0)
    if not (line.any() and around.any()):
        return True
    ink, paper, within = (float(part[at].mean()) for at in (line, around, inside > 0))
    return abs(within - paper) < abs(within - ink)


def _children(nesting: NDArray[np.int32], i: int) -> Iterator[int]:
    child = int(nesting[i][2])
    while child >= 0:
        yield child
        child = int(nesting[child][0])


def _is_reference(ring: Points, flat: Flat) -> bool:
    """Tell whether a drawn figure is a reference, or lies in one of our marks."""
    middle = (ring.min(axis=0) + ring.max(axis=0)) / 2.0
    size = float(np.ptp(ring, axis=0).max())
    for corners, alone in zip(flat.references, flat.alone, strict=True):
        far = float(np.hypot(*(corners.mean(axis=0) - middle)))
        own = float(np.ptp(corners, axis=0).max())
        if far < 0.1 * own and 0.8 * own < size < 1.25 * own:
            return True
        if not alone and far < own:
            return True
    return False
