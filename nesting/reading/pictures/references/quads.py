"""Four-sided things in a picture, with their sides to a fraction of a pixel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.reading.pictures.edges import Points, across, line_points, step_points
from nesting.reading.pictures.ground import Apart, shrunk
from nesting.reading.pictures.picture import Pixels

__all__ = ["Quad", "bright_quads", "drawn_quads", "lying_quads", "refined", "unlike"]

_BINS = 48
"""Places along a side at which it is measured."""
_ENDS = 0.05
"""So large a share of a side at each end is left out: corners are round, and curl."""
_SMALLEST = 12.0
"""Pixels of the picture that is looked through: a smaller square gives no scale."""
_STEP = 12.0
"""A step in colour that is lower (of 441) is no edge of paper."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Quad:
    """A four-sided thing: `corners` (4 × 2, pixels, as one walks around it), points on its sides.

    `drawn`: it is a line, and the points lie on its middle. `noise`: how far (pixels) the points
    lie off a smooth line. `seen`: there is something, and its corners were not only said.
    """

    corners: Points
    sides: tuple[Points, Points, Points, Points]
    drawn: bool = False
    noise: float = 0.05
    seen: bool = True


def lying_quads(pixels: Pixels, things: Apart) -> list[Quad]:
    """Return the four-sided things that lie on the ground."""
    contours, _ = cv2.findContours(
        things.mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
    )
    return [
        quad
        for contour in contours
        for corners in _four(contour, things.scale)
        if (quad := refined(pixels, corners, drawn=False, reach=3.0 * things.scale + 4.0))
    ]


def bright_quads(pixels: Pixels, *, side: int = 1200) -> list[Quad]:
    """Return four-sided things that are brighter in all colours than what lies about them.

    So paper is seen on tiles, boards or printed cloth, where there is no plain ground. How bright
    it is depends on the light: several bounds are tried.
    """
    small, scale = shrunk(pixels, side)
    dim = cv2.medianBlur(np.ascontiguousarray(small.min(axis=2)), 5).astype(np.float64)
    even = dim / _light(dim)
    found: list[Quad] = []
    for share in _BRIGHT:
        mask = cv2.morphologyEx(
            (even > share).astype(np.uint8), cv2.MORPH_OPEN, np.ones((5, 5), np.uint8)
        )
        for quad in lying_quads(pixels, Apart(mask=mask > 0, scale=scale)):
            middle = quad.corners.mean(axis=0)
            near = [np.hypot(*(middle - other.corners.mean(axis=0))) for other in found]
            if min(near, default=np.inf) > 2.0 * scale + 2.0:
                found.append(quad)
    return found


_BRIGHT = (1.04, 1.06, 1.08, 1.11, 1.15, 1.2, 1.28, 1.4, 1.6, 2.0)
"""So many times brighter than most of the picture paper may be; each is tried."""


def _light(grey: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how bright most of a picture is, as light falls off over it.

    That is a polynomial of the second degree through what is not much darker or brighter.
    """
    y, x = np.mgrid[-1 : 1 : grey.shape[0] * 1j, -1 : 1 : grey.shape[1] * 1j]
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
    some, values = terms[::7, ::7].reshape(-1, 6), grey[::7, ::7].ravel()
    kept = np.ones(len(values), bool)
    fit = np.zeros(6)
    for _ in range(8):
        fit, *_ = np.linalg.lstsq(some[kept], values[kept], rcond=None)
        off = values - some @ fit
        kept = np.abs(off) <= max(4.0, 1.5 * float(np.median(np.abs(off))))
        if kept.sum() < 50:
            break
    return np.asarray(np.maximum(terms @ fit, 1.0))


def drawn_quads(pixels: Pixels, *, side: int = 3000) -> list[Quad]:
    """Return the four-sided figures that are drawn with lines."""
    small, scale = shrunk(pixels, side)
    grey = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY)
    near = max(15, (max(grey.shape) // 40) | 1)
    ink = cv2.adaptiveThreshold(
        grey, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, near, 18
    )
    ink = cv2.morphologyEx(ink, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    contours, nesting = cv2.findContours(ink, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    if nesting is None:
        return []
    found = []
    for contour, (_, _, _, parent) in zip(contours, nesting[0], strict=True):
        if parent < 0:
            continue  # the outside of ink; a drawn figure is a hole in it
        for corners in _four(contour, scale):
            quad = refined(pixels, corners, drawn=True, reach=4.0 * scale + 5.0)
            if quad is not None:
                found.append(quad)
    return found


def _four(contour: NDArray[Any], scale: float) -> list[Points]:
    """Return the corners of a contour that has four, in pixels of the whole picture."""
    around = cv2.arcLength(contour, True)
    if around < 4.0 * _SMALLEST:
        return []
    hull = cv2.convexHull(contour)
    if cv2.contourArea(contour) < 0.94 * cv2.contourArea(hull):
        return []
    for share in (0.02, 0.03, 0.045):
        corners = cv2.approxPolyDP(hull, share * around, True).reshape(-1, 2).astype(np.float64)
        if len(corners) == 4 and cv2.contourArea(corners.astype(np.float32)) > 0.93 * (
            cv2.contourArea(hull)
        ):
            x, y = corners.T
            if float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) < 0.0:
                corners = corners[::-1]  # always the way of the clock, as one looks at it
            return [(corners + 0.5) * scale - 0.5]
    return []


def refined(pixels: Pixels, corners: Points, *, drawn: bool, reach: float) -> Quad | None:
    """Return the figure with its sides where they are; None if they can't be seen."""
    height, width = pixels.shape[:2]
    if (corners < 1.0).any() or (corners > np.array([width, height]) - 2.0).any():
        return None  # it runs off the picture
    sides: list[Points] = []
    for again in range(3):
        sides = []
        for i in range(4):
            a, b = corners[i], corners[(i + 1) % 4]
            points = _side(pixels, a, b, reach if again == 0 else max(5.0, 0.5 * reach), drawn)
            if points is None:
                return None
            sides.append(points)
        met = _corners(sides)
        if met is None or np.abs(met - corners).max() > 0.2 * np.ptp(corners, axis=0).max():
            return None
        corners = met
    noise = float(np.median([_roughness(side) for side in sides]))
    if noise > 1.5:
        return None
    return Quad(
        corners=corners, sides=(sides[0], sides[1], sides[2], sides[3]), drawn=drawn, noise=noise
    )


def _side(pixels: Pixels, a: Points, b: Points, reach: float, drawn: bool) -> Points | None:
    long = float(np.hypot(*(b - a)))
    if long < _SMALLEST:
        return None
    count = int(np.clip(long, 60, 4000))
    along = _ENDS + (1.0 - 2.0 * _ENDS) * (np.arange(count) + 0.5) / count
    at = a + (b - a) * along[:, None]
    way = (b - a) / long
    normals = np.tile([-way[1], way[0]], (count, 1))
    lines = across(pixels, at, normals, min(reach, 0.25 * long))
    group = max(1, count // _BINS)
    points, height = (line_points if drawn else step_points)(lines, group)[:2]
    good = height > max(_STEP, 0.4 * float(np.median(height)))
    if good.sum() < 0.6 * len(points):
        return None
    points = points[good]
    off = _off_curve(points, a, way)
    bound = 4.0 * 1.4826 * float(np.median(np.abs(off))) + 0.1
    return points[np.abs(off) < bound]


def _off_curve(points: Points, origin: Points, way: Points) -> NDArray[np.float64]:
    """Return how far points lie off the smooth curve (a lens bends sides) through them."""
    along = (points - origin) @ way
    off = (points - origin) @ np.array([-way[1], way[0]])
    span = (along - along.mean()) / max(float(np.ptp(along)), 1e-9)
    sound = np.ones(len(span), bool)
    left = off
    for _ in range(4):
        left = off - np.polyval(np.polyfit(span[sound], off[sound], 3), span)
        sound = np.abs(left) < 3.0 * 1.4826 * np.median(np.abs(left)) + 0.05
        if sound.sum() < 8:
            break
    return np.asarray(left, np.float64)


def _roughness(points: Points) -> float:
    way = points[-1] - points[0]
    off = _off_curve(points, points[0], way / max(float(np.hypot(*way)), 1e-9))
    return 1.4826 * float(np.median(np.abs(off)))


def _corners(sides: Sequence[Points]) -> Points | None:
    """Return where sides meet, each carried on as it bends."""
    met = []
    for before, after in zip([sides[3], *sides[:3]], sides, strict=True):
        (pa, va), (pb, vb) = _end_line(before[::-1]), _end_line(after)
        turn = va[0] * vb[1] - va[1] * vb[0]
        if abs(turn) < 0.1:
            return None
        gap = pb - pa
        met.append(pa + va * (gap[0] * vb[1] - gap[1] * vb[0]) / turn)
    return np.array(met)


def _end_line(points: Points) -> tuple[Points, Points]:
    """Return a place and the direction of a side near its first end."""
    some = points[: max(6, len(points) // 2)]
    middle = some.mean(axis=0)
    way = np.linalg.svd(some - middle)[2][0]
    return middle, np.asarray(way, np.float64)


def unlike(
    corners: Points, sides: tuple[float, float], size: tuple[int, int]
) -> tuple[float, bool]:
    """Return how unlike a rectangle of such sides it looks, as a share, and whether it lies turned.

    Of all cameras with square pixels whose lens is in the picture's middle, the one through which
    the four corners are most like that rectangle is taken (R. Hartley, A. Zisserman, Multiple View
    Geometry, 2nd ed., section 8.8: the plane's axes have to be square and alike). Turned: the
    second side is the one from the first corner to the second.
    """
    radius = 0.5 * float(np.hypot(*size))
    centred = (corners - (np.array(size) - 1.0) / 2.0) / radius
    best = (np.inf, False)
    for turned in (False, True):
        w, h = sides[::-1] if turned else sides
        plane = np.array([[0, 0], [w, 0], [w, h], [0, h]], np.float32)
        to = cv2.getPerspectiveTransform(plane, centred.astype(np.float32))
        a, b = to[:, 0], to[:, 1]
        for focal in np.geomspace(0.8, 12.0, 60):
            k = np.array([1.0 / focal, 1.0 / focal, 1.0])
            p, q = a * k, b * k
            lengths = float(np.linalg.norm(p)), float(np.linalg.norm(q))
            off = abs(np.log(lengths[0] / lengths[1])) + abs(p @ q) / (lengths[0] * lengths[1])
            if off < best[0]:
                best = (float(off), turned)
    return best
