"""Invented hides on invented floors, drawn to a scale that is known."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

__all__ = ["Scene", "floor_of", "outline"]

Array = NDArray[np.float64]
Colour = tuple[int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """A hide on a floor: sizes in mm, y upwards, the floor from (0, 0) to `size`.

    `sheets`: middles, turns (degrees) and sizes of sheets of paper. `rings`: middles and radii of
    what is ringed in chalk; `stickers`: middles of round ones of 24 mm; `spine`: a line of chalk.
    """

    size: tuple[float, float]
    hide: Array
    floor: str = "plain"
    leather: Colour = (140, 90, 55)
    sheets: Sequence[tuple[float, float, float, float, float]] = ()
    rings: Sequence[tuple[float, float, float]] = ()
    stickers: Sequence[tuple[float, float]] = ()
    spine: Sequence[tuple[float, float]] = ()
    chalk: Colour = (238, 236, 228)
    sticker: Colour = (205, 40, 45)
    mm: float = field(default=0.7)


def outline(
    long: float, high: float, *, at: tuple[float, float], turn: float = 0.0, seed: int = 1
) -> Array:
    """Return a hide's outline (n×2, mm): four shanks, a neck and a tail, and an uneven edge."""
    random = np.random.default_rng(seed)
    t = np.linspace(0.0, 2.0 * np.pi, 1600, endpoint=False)
    r = 0.80 + 0.0 * t
    for where, how, wide in ((40, 0.30, 13), (140, 0.32, 14), (220, 0.32, 14), (320, 0.30, 13)):
        off = np.remainder(np.degrees(t) - where + 180.0, 360.0) - 180.0
        r += how * np.exp(-((off / wide) ** 2))
    for where, how, wide in ((0, 0.16, 16), (180, 0.18, 12)):
        off = np.remainder(np.degrees(t) - where + 180.0, 360.0) - 180.0
        r += how * np.exp(-((off / wide) ** 2))
    for k in range(3, 30):
        a, b = random.normal(0.0, 0.018 / k, 2)
        r += a * np.cos(k * t) + b * np.sin(k * t)
    points = np.column_stack([r * np.cos(t), r * np.sin(t)])
    points -= 0.5 * (points.max(axis=0) + points.min(axis=0))
    points *= np.array([long, high]) / np.ptp(points, axis=0)
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    return np.asarray(points @ np.array([[c, s], [-s, c]]) + at)


def floor_of(scene: Scene, *, seed: int = 1) -> Callable[[Array, Array], Array]:
    """Return the colours of a scene's points, for `photograph`."""
    wide, high = (round(side / scene.mm) for side in scene.size)
    random = np.random.default_rng(seed)
    image = _bare(scene.floor, wide, high, scene.mm, random)
    for dx, dark in ((6.0, 0.12), (3.0, 0.12)):  # a soft shadow along two sides
        image -= dark * image * _cover(scene.hide + np.array([dx, -dx]), image.shape, scene.mm)
    leather = _leather(scene.leather, wide, high, random)
    image += (leather - image) * _cover(scene.hide, image.shape, scene.mm)

    def paint(ring: Array, colour: Colour) -> None:
        nonlocal image
        image += (np.array(colour, np.float32) - image) * _cover(ring, image.shape, scene.mm)

    for x, y, r in scene.rings:
        inner = _round(x, y, r - 2.5)[::-1]
        paint(np.concatenate([_round(x, y, r + 2.5), inner]), scene.chalk)
    for ends in pairwise(scene.spine):
        line = shapely.LineString(ends).buffer(2.5)
        paint(shapely.get_coordinates(line.exterior)[:-1], scene.chalk)
    for x, y in scene.stickers:
        paint(_round(x, y, 12.0), scene.sticker)
    for x, y, turn, a, b in scene.sheets:
        c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        box = np.array([[-a, -b], [a, -b], [a, b], [-a, b]]) * 0.5
        paint(box @ np.array([[c, s], [-s, c]]) + [x, y], (250, 250, 248))

    image = np.clip(np.rint(image), 0, 255).astype(np.uint8)

    def at(x: Array, y: Array) -> Array:
        column = (x / scene.mm - 0.5).astype(np.float32).reshape(1, -1)
        row = (high - 0.5 - y / scene.mm).astype(np.float32).reshape(1, -1)
        found = [
            cv2.remap(
                image,
                column[:, i : i + 30000],
                row[:, i : i + 30000],
                cv2.INTER_LINEAR,
                borderMode=cv2.BORDER_REFLECT,
            )
            for i in range(0, column.shape[1], 30000)
        ]
        return np.concatenate(found, axis=1).reshape(*x.shape, 3).astype(np.float64)

    return at


def _round(x: float, y: float, r: float) -> Array:
    t = np.linspace(0.0, 2.0 * np.pi, 120)  # closed, so that a smaller one may follow it
    return np.column_stack([x + r * np.cos(t), y + r * np.sin(t)])


def _cover(ring: Array, shape: tuple[int, ...], mm: float) -> NDArray[Any]:
    """Return what share of each pixel a ring (mm) covers: by points, sixteen of them each.

    OpenCV's own smooth polygons are half a pixel too large.
    """
    high, wide = shape[:2]
    column, row = ring[:, 0] / mm, high - ring[:, 1] / mm  # from the corner of the first pixel
    left, top = max(0, int(column.min()) - 1), max(0, int(row.min()) - 1)
    right, low = min(wide, int(column.max()) + 2), min(high, int(row.max()) + 2)
    found = np.zeros((high, wide, 1), np.float32)
    if right <= left or low <= top:
        return found
    path = shapely.Polygon(np.column_stack([column, row])).buffer(0)
    fine = np.zeros(((low - top) * _FINE, (right - left) * _FINE), np.uint8)
    # A filled polygon has the pixels on its edge, too: half of one of the fine ones is taken off.
    inner = path.buffer(-0.5 / _FINE)
    for part in getattr(inner, "geoms", [inner]):
        rings = [
            np.rint(((shapely.get_coordinates(r) - [left, top]) * _FINE - 0.5) * 256).astype(int)
            for r in (part.exterior, *part.interiors)
        ]
        cv2.fillPoly(fine, [r.astype(np.int32) for r in rings], 255, cv2.LINE_8, 8)
    share = cv2.resize(fine, (right - left, low - top), interpolation=cv2.INTER_AREA)
    found[top:low, left:right, 0] = share / np.float32(255.0)
    return found


_FINE = 4


def _bare(kind: str, wide: int, high: int, mm: float, random: np.random.Generator) -> NDArray[Any]:
    base = {"plain": (178, 176, 170), "tiles": (205, 202, 196), "boards": (196, 160, 112)}[kind]
    image = np.broadcast_to(np.array(base, np.float64), (high, wide, 3)).copy()
    if kind == "tiles":
        step = 330.0 / mm
        for i in range(int(high / step) + 1):
            for j in range(int(wide / step) + 1):
                part = np.s_[
                    int(i * step) : int((i + 1) * step), int(j * step) : int((j + 1) * step)
                ]
                image[part] += random.normal(0.0, 4.0)
        joint = round(4.0 / mm)
        for i in range(int(max(high, wide) / step) + 2):
            a = int(i * step)
            image[a : a + joint], image[:, a : a + joint] = (140, 138, 134), (140, 138, 134)
    if kind == "boards":
        step = 120.0 / mm
        for i in range(int(high / step) + 1):
            image[int(i * step) : int((i + 1) * step)] += random.normal(0.0, 9.0)
            image[int(i * step) : int(i * step) + round(2.0 / mm)] = (110, 84, 54)
    grain: NDArray[Any] = random.normal(0.0, 1.0, (high // 4 + 1, wide // 4 + 1)).astype(np.float32)
    grain = cv2.resize(grain, (wide, high), interpolation=cv2.INTER_CUBIC)
    return np.clip(image + 3.0 * grain[..., None], 0, 255).astype(np.float32)


def _leather(colour: Colour, wide: int, high: int, random: np.random.Generator) -> Array:
    broad = random.normal(0.0, 1.0, (high // 150 + 2, wide // 150 + 2)).astype(np.float32)
    fine = random.normal(0.0, 1.0, (high // 3 + 1, wide // 3 + 1)).astype(np.float32)
    cloud = cv2.resize(broad, (wide, high), interpolation=cv2.INTER_CUBIC)
    grain = cv2.resize(fine, (wide, high), interpolation=cv2.INTER_LINEAR)
    return np.asarray(np.array(colour, np.float32) + (6.0 * cloud + 4.0 * grain)[..., None])
