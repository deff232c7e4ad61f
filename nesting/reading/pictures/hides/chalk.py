"""What is drawn or stuck on a hide: lines of chalk, stickers of one colour."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from nesting.errors import PatternError

__all__ = [
    "COLOURS",
    "LONG",
    "SMALLEST",
    "Drawn",
    "Ink",
    "drawn_on",
    "inside_of",
    "off_leather",
    "parse_ink",
]

Pixels = NDArray[Any]
Mask = NDArray[np.bool_]
Ring = NDArray[Any]
Ends = tuple[tuple[float, float], tuple[float, float]]

COLOURS = {
    "white": None,
    "silver": None,
    "black": None,
    "red": 35.0,
    "pink": 0.0,
    "orange": 60.0,
    "yellow": 95.0,
    "green": 145.0,
    "blue": 270.0,
}
"""Colours of chalk, pens, tape and stickers: hue in CIELAB (degrees), None for those without."""

_THINGS = ("chalk", "line", "lines", "pen", "tape", "sticker", "stickers", "dots")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ink:
    """What marks are made with: a colour, and how it is said; `lines`: it is drawn, not stuck."""

    colour: str
    name: str
    lines: bool


def parse_ink(text: str) -> Ink:
    """Return what is meant by "chalk", "red stickers", "yellow tape", "silver pen".

    Raises
    ------
    PatternError
        It is none of these.

    """
    words = re.split(r"[\s-]+", text.strip().casefold())
    colour = "white"
    if words and words[0] in COLOURS:
        colour = words.pop(0)
    thing = words[0] if words else "chalk"
    if len(words) > 1 or thing not in _THINGS:
        raise PatternError(
            f"{text!r} is nothing that flaws are marked with",
            hint=f"say chalk, red stickers, yellow tape …; colours are {', '.join(COLOURS)}",
        )
    lines = thing not in ("sticker", "stickers", "dots")
    return Ink(colour=colour, name=f"{colour} {thing}", lines=lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What was found (pixels): areas that are flaws, the ends of a long line, what was unclear.

    `open_`: how many rings are not closed; their hull is taken.
    """

    flaws: tuple[shapely.Polygon, ...]
    line: Ends | None
    open_: int


_STRONG = 16.0
"""CIELAB units by which a mark differs from the leather around it (own measurement on renders)."""
_HUE = 40.0
"""Degrees by which its colour may lie off the hue that is said."""
_GAP = 8.0
"""Gaps (mm) in a line that are closed."""
LONG = 0.35
"""Share of the hide's length from which on a line is the backbone."""
SMALLEST = 5.0
"""What is smaller (mm) is dust."""
_EDGE = 6.0
"""So near to the edge (mm) nothing is looked for."""


def drawn_on(
    pixels: Pixels, hide: shapely.Polygon, ink: Ink, *, mm: float, without: Mask | None = None
) -> Drawn:
    """Return what is marked on a hide.

    Parameters
    ----------
    pixels, hide
        The flat picture, and the hide's outline in it (pixels).
    ink
        What marks are made with.
    mm
        Length of a pixel's side.
    without
        Where sheets lie, which are no marks.

    """
    inside = inside_of(hide, pixels.shape[:2], mm=mm, without=without)
    marked = _marked(pixels, inside, ink, mm)
    gap = max(1, round(_GAP / mm / 2))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * gap + 1, 2 * gap + 1))
    closed = cv2.morphologyEx(marked.astype(np.uint8), cv2.MORPH_CLOSE, kernel)
    length = float(np.hypot(*np.ptp(shapely.get_coordinates(hide), axis=0)))
    contours, nesting = cv2.findContours(closed, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    flaws: list[shapely.Polygon] = []
    line: Ends | None = None
    open_ = 0
    for i, contour in enumerate(contours):
        if nesting[0][i][3] >= 0 or len(contour) < 3:
            continue
        _, (a, b), _ = cv2.minAreaRect(contour)
        if max(a, b) * mm < SMALLEST:
            continue
        if max(a, b) > LONG * length and ink.lines:
            ends = _ends(contour.reshape(-1, 2))
            if line is None or _long(ends) > _long(line):
                line = ends
            # Rings that the long line runs into are its holes.
            flaws += [_area(hole, grow=gap) for hole in _children(contours, np.asarray(nesting), i)]
            continue
        ring = nesting[0][i][2] >= 0 or not ink.lines
        if not ring and min(a, b) * mm < SMALLEST:
            continue  # a stroke of chalk that rings nothing
        outline = contour if ring else cv2.convexHull(contour)
        open_ += not ring
        flaws.append(_area(outline, grow=0.5))
    return Drawn(flaws=tuple(_sound(flaws)), line=line, open_=open_)


def inside_of(
    hide: shapely.Polygon, size: tuple[int, ...], *, mm: float, without: Mask | None
) -> Mask:
    """Return the pixels (rows, columns) of a hide that lie off its edge and `without` nothing."""
    inside = _mask(hide.buffer(-_EDGE / mm), size)
    return inside if without is None else inside & ~without


def _children(contours: Sequence[Ring], nesting: Ring, i: int) -> Iterator[Ring]:
    """Yield the holes of a contour that are large enough."""
    child = int(nesting[0][i][2])
    while child >= 0:
        if len(contours[child]) >= 12:
            yield contours[child]
        child = int(nesting[0][child][0])


def _area(contour: Ring, *, grow: float) -> shapely.Polygon:
    return shapely.Polygon(contour.reshape(-1, 2)).buffer(grow, join_style="mitre")


def _sound(areas: list[shapely.Polygon]) -> list[shapely.Polygon]:
    whole = shapely.union_all(areas) if areas else shapely.Polygon()
    parts = getattr(whole, "geoms", [whole])
    return [shapely.Polygon(part.exterior) for part in parts if part.area > 0.0]


def _mask(area: shapely.Polygon, size: tuple[int, ...]) -> Mask:
    mask = np.zeros(size, np.uint8)
    for part in getattr(area, "geoms", [area]):
        if not part.is_empty:
            ring = np.rint(shapely.get_coordinates(part.exterior)).astype(np.int32)
            cv2.fillPoly(mask, [ring], 1)
    return mask > 0


def _marked(pixels: Pixels, inside: Mask, ink: Ink, mm: float) -> Mask:
    """Return which pixels have the colour of the marks, against the leather around them."""
    lab, off = off_leather(pixels, inside, mm)
    hue = COLOURS[ink.colour]
    if ink.colour == "black":
        found = off[..., 0] < -_STRONG
    elif hue is None:
        chroma = np.hypot(lab[..., 1], lab[..., 2])
        found = (off[..., 0] > _STRONG) & (chroma < 30.0)
    else:
        turn = np.radians(hue)
        strong = off[..., 1] * np.cos(turn) + off[..., 2] * np.sin(turn)
        angle = np.degrees(np.arctan2(lab[..., 2], lab[..., 1])) - hue
        near = np.abs(np.remainder(angle + 180.0, 360.0) - 180.0) < _HUE
        found = (strong > _STRONG) & near
    return np.asarray(found & inside, bool)


def off_leather(pixels: Pixels, inside: Mask, mm: float) -> tuple[Pixels, Pixels]:
    """Return colours in CIELAB (rows, columns, 3), and how far off the leather around them."""
    lab = cv2.cvtColor(pixels.astype(np.float32) / np.float32(255.0), cv2.COLOR_RGB2LAB)
    return lab, cv2.GaussianBlur(lab, (0, 0), 0.8) - _around(lab, inside, mm)


def _around(lab: NDArray[Any], inside: Mask, mm: float) -> NDArray[Any]:
    """Return the leather's colour about each place: the median over some centimetres."""
    step = max(1, round(_PATCH / mm / 15))
    weight = inside.astype(np.float32)
    size = (max(1, lab.shape[1] // step), max(1, lab.shape[0] // step))
    share = cv2.resize(weight, size, interpolation=cv2.INTER_AREA)
    some = cv2.resize(lab * weight[..., None], size, interpolation=cv2.INTER_AREA)
    usual = np.median(lab[inside][:: max(1, int(inside.sum()) // 20000)], axis=0)
    small = np.where(share[..., None] > 0.5, some / np.maximum(share, 1e-3)[..., None], usual)
    scaled = np.clip(small + np.array([0, 128, 128]), 0, 255).astype(np.uint8)
    near = cv2.medianBlur(scaled, 15).astype(np.float32) - np.array([0, 128, 128], np.float32)
    wide = cv2.resize(near, lab.shape[1::-1], interpolation=cv2.INTER_LINEAR)
    return np.asarray(wide, np.float32)


_PATCH = 120.0
"""Millimetres over which the leather's colour is taken: more than a ring, less than its shades."""


def _long(ends: Ends) -> float:
    return float(np.hypot(ends[0][0] - ends[1][0], ends[0][1] - ends[1][1]))


def _ends(points: Ring) -> Ends:
    """Return the ends of the straight line through a long stroke."""
    x, y, x0, y0 = cv2.fitLine(points.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01).ravel()
    along = (points - [x0, y0]) @ [x, y]
    low, high = float(along.min()), float(along.max())
    return (float(x0 + low * x), float(y0 + low * y)), (
        float(x0 + high * x),
        float(y0 + high * y),
    )
