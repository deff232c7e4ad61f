"""What is drawn inside the outlines of a scan: grain arrows, dashed seams; the rest is not read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.pattern.path import Path
from nesting.reading.items import Item, Role
from nesting.reading.pictures.edges import Points
from nesting.reading.pictures.flat import Flat
from nesting.reading.pictures.things import Thing, ink_of

__all__ = ["Inside", "inked_inside"]

Box = tuple[float, float, float, float]
Ink = NDArray[Any]

_SHAFT, _THIN = 25.0, 2.2
"""Shortest shaft (mm) of a grain arrow; no place of it is so many times wider than it mostly is."""
_HEAD, _BROAD, _TIP = 0.3, 2.6, 0.6
"""An arrow's head lies in that share of it at an end, is so many times wider than its shaft, and
at the tip by so much narrower than where it is widest."""
_GAP, _AROUND = 6.0, 0.05
"""Dashes are no farther apart (mm), and go around that share of what lies in their outline."""
_DASHED = (0.35, 0.985)
"""So large a share of a dashed line is dashes, or close to one."""
_SPECK = 0.6
"""What is smaller (mm) is dirt."""
_WORD = 4.0
"""Letters that are no farther apart (mm) are one word."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """What lies in outlines: arrows as `grain`, dashed rings as things, what is `unread` (pixels).

    Boxes are left, top, right, low.
    """

    grain: tuple[Item, ...]
    dashed: tuple[Thing, ...]
    unread: tuple[Box, ...]


def inked_inside(flat: Flat, things: Sequence[Thing]) -> Inside:
    """Return what is drawn inside of drawn outlines."""
    grain: list[Item] = []
    dashed: list[Thing] = []
    unread: list[Box] = []
    ink = ink_of(flat).astype(np.uint8)
    for thing in things:
        if not thing.ink or any(_lies_in(thing, other) for other in things):
            continue
        left, top = (int(value) for value in thing.rim.min(axis=0))
        right, low = (int(value) + 1 for value in thing.rim.max(axis=0))
        inner: NDArray[Any] = np.zeros((low - top, right - left), np.uint8)
        ring = (thing.rim - [left, top]).round().astype(np.int32)
        cv2.fillPoly(inner, [ring], 1)
        deep = 2 * (int(thing.ink) + 3) + 1
        kernel = np.ones((deep, deep), np.uint8)
        inner = cv2.erode(inner, kernel, borderType=cv2.BORDER_CONSTANT, borderValue=0)
        for other in things:
            if other is not thing and other.ink:
                rim = (other.rim - [left, top]).round().astype(np.int32)
                cv2.drawContours(inner, [rim], -1, 0, 2 * int(other.ink) + 7)
        for corners in flat.references:
            square = (corners - [left, top]).round().astype(np.int32)
            cv2.fillPoly(inner, [square], 0)
            cv2.polylines(inner, [square], True, 0, round(2.0 / flat.mm_per_pixel))
        drawn = ink[top:low, left:right] * inner
        corner = np.array([left, top], float)
        found = _ring_of_dashes(drawn, flat.mm_per_pixel, float(inner.sum()))
        if found is not None:
            dots, wide = found
            dashed.append(Thing(rim=dots + corner, ink=wide))
            cv2.drawContours(drawn, [dots.astype(np.int32)], -1, 0, 4 * int(wide) + 7)
        boxes = []
        for pixels in _components(drawn, flat.mm_per_pixel):
            strokes = _arrow(pixels, flat.mm_per_pixel)
            if strokes is None:
                boxes.append(pixels)
            else:
                grain += [_line(flat, points + corner) for points in strokes]
        unread += _words(boxes, corner, drawn.shape, flat.mm_per_pixel)
    return Inside(grain=tuple(grain), dashed=tuple(dashed), unread=tuple(unread))


def _lies_in(thing: Thing, other: Thing) -> bool:
    x, y = (float(value) for value in thing.rim[0])
    rim = other.rim.astype(np.float32)
    return thing is not other and cv2.pointPolygonTest(rim, (x, y), False) >= 0.0


def _components(drawn: Ink, mm: float) -> Iterator[Points]:
    """Yield the pixels (columns and rows, n × 2) of each thing that is no dirt."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(drawn, connectivity=8)
    for i in range(1, count):
        x, y, wide, tall, _ = (int(value) for value in stats[i])
        if max(wide, tall) * mm >= _SPECK:
            rows, columns = np.nonzero(labels[y : y + tall, x : x + wide] == i)
            yield np.column_stack([columns + x, rows + y]).astype(np.float64)


def _ring_of_dashes(drawn: Ink, mm: float, area: float) -> tuple[Points, float] | None:
    """Return the outer rim of dashes that go around much of an outline, and how wide they are.

    All is made so much wider that the gaps close; what the outer rim of that holds, made as much
    smaller again, ends at the dashes' outer edge.
    """
    size = round(_GAP / mm) | 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    padded = cv2.copyMakeBorder(drawn, size, size, size, size, cv2.BORDER_CONSTANT, value=0)
    contours, nesting = cv2.findContours(
        cv2.dilate(padded, kernel), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE
    )
    best, around = 0.0, -1
    for i, contour in enumerate(contours):
        parent = -1 if nesting is None else int(nesting[0][i][3])
        hole = cv2.contourArea(contour) if parent >= 0 else 0.0
        if hole > max(_AROUND * area, best):
            best, around = hole, parent
    if around < 0:
        return None
    whole = np.zeros_like(padded)
    cv2.drawContours(whole, [contours[around]], -1, 1, cv2.FILLED)
    rims, _ = cv2.findContours(cv2.erode(whole, kernel), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    rim = max(rims, key=cv2.contourArea).reshape(-1, 2)
    wide = 2.0 * float(np.percentile(cv2.distanceTransform(padded, cv2.DIST_L2, 3)[padded > 0], 90))
    near = cv2.dilate(padded, np.ones((7, 7), np.uint8))
    share = float(near[rim[:, 1], rim[:, 0]].mean())
    if not _DASHED[0] < share < _DASHED[1] or wide * mm > 0.5 * _GAP:
        return None
    return rim.astype(np.float64) - size, max(wide, 1.0)


def _arrow(pixels: Points, mm: float) -> list[Points] | None:
    """Return an arrow's shaft, and each of its heads as two strokes, in pixels; None if it is none.

    The first end is that without a head, if one has.
    """
    if len(pixels) < 20:
        return None
    middle = pixels.mean(axis=0)
    way = np.linalg.svd(pixels - middle, full_matrices=False)[2][0]
    along, aside = (pixels - middle) @ way, (pixels - middle) @ [-way[1], way[0]]
    low, high = float(along.min()), float(along.max())
    long = high - low
    if long * mm < _SHAFT:
        return None
    count = max(12, int(long / 2.0))
    place = np.minimum(((along - low) / long * count).astype(int), count - 1)
    if len(np.unique(place)) < count:
        return None  # it has gaps
    most, least = np.full(count, -np.inf), np.full(count, np.inf)
    np.maximum.at(most, place, aside)
    np.minimum.at(least, place, aside)
    wide = most - least + 1.0
    shaft = slice(int(_HEAD * count), count - int(_HEAD * count))
    inner, off = wide[shaft], 0.5 * (most + least)[shaft]
    usual = float(np.median(inner))
    if inner.max() > max(_THIN * usual, usual + 3.0) or np.ptp(off) > usual + 0.02 * long:
        return None  # it is bent, or something hangs on it
    ends = wide[: int(_HEAD * count)], wide[count - int(_HEAD * count) :][::-1]
    heads = [_head(end, usual) for end in ends]
    if not any(heads):
        return None
    tips = middle + low * way, middle + high * way
    if heads[0] and not heads[1]:
        heads, tips, way = heads[::-1], tips[::-1], -way
    across = np.array([-way[1], way[0]])
    out = [np.array(tips)]
    for tip, head, inward in zip(tips, heads, (way, -way), strict=True):
        if head is not None:
            far, half = head[0] * long / count, head[1] / 2.0
            base = tip + inward * max(far, half)
            out.append(np.array([base + across * half, tip, base - across * half]))
    return out


def _head(end: NDArray[np.float64], usual: float) -> tuple[float, float] | None:
    """Return how far in from its tip a head is widest, and how wide; a bar is none."""
    i = int(np.argmax(end))
    tip, most = float(end[: max(1, len(end) // 40)].mean()), float(end[i])
    broad = most >= max(_BROAD * usual, usual + 4.0)
    return (float(i), most) if broad and tip <= _TIP * most and i > 1 else None


def _line(flat: Flat, points: Points) -> Item:
    places = [(float(x), float(y)) for x, y in flat.to_mm(points)]
    return Item(role=Role.GRAIN, path=Path.polyline(places, closed=False))


def _words(
    things: Sequence[Points], corner: Points, shape: tuple[int, ...], mm: float
) -> Iterator[Box]:
    """Yield boxes (pixels) around what is near one another."""
    marks = np.zeros(shape[:2], np.uint8)
    for pixels in things:
        columns, rows = pixels.astype(int).T
        marks[rows, columns] = 1
    size = round(_WORD / mm) | 1
    joined = cv2.dilate(marks, np.ones((size, size), np.uint8))
    count, _, stats, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
    for i in range(1, count):
        x, y, wide, tall, _ = (float(value) for value in stats[i])
        yield x + corner[0], y + corner[1], x + wide + corner[0], y + tall + corner[1]
