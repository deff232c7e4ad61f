"""Flat arrays: how they are packed, and how much of them the pairs of shapes take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from nesting.pattern.path import Affine
from nesting.search.kernels import core as k
from nesting.search.shapes import Floats

__all__ = ["Heap", "Shape", "distinct", "keys_of", "record_floats", "turned"]


@dataclass(frozen=True, slots=True)
class Shape:
    """An outline at one turn and flip."""

    outline: int
    angle: float
    flipped: bool


class Heap:
    """Arrays packed one after another into a flat one."""

    def __init__(self, head: int, dtype: Any) -> None:
        self.head: npt.NDArray[Any] = np.zeros(head, dtype=dtype)
        self.size = head
        self.dtype = dtype
        self.parts: list[npt.NDArray[Any]] = []

    def add(self, values: npt.NDArray[Any]) -> int:
        """Append an array; return where it begins."""
        where = self.size
        self.parts.append(np.ascontiguousarray(values, dtype=self.dtype))
        self.size += values.size
        return where

    def done(self, room: int) -> npt.NDArray[Any]:
        """Return the whole, with room for so many numbers more."""
        out = np.empty(self.size + room, dtype=self.dtype)
        out[: self.size] = np.concatenate([self.head, *self.parts])
        return out


def turned(ring: Floats, shape: Shape) -> Floats:
    """Return points about an outline's centre, flipped and turned as a shape is (mm)."""
    turn = Affine.turn(shape.angle)
    xy = ring * np.array([1.0, -1.0 if shape.flipped else 1.0])
    return np.asarray(xy @ np.array([[turn.a, turn.c], [turn.b, turn.d]]))


def distinct(shapes: list[Shape], ring: Floats) -> list[Shape]:
    """Drop shapes that look like an earlier one (a rectangle turned by 180°)."""
    if len(ring) > 60 or len(shapes) > 16:
        return shapes
    seen: list[Floats] = []
    out = []
    grain = 1e-7 * float(np.ptp(ring, axis=0).max())
    for shape in shapes:
        xy = turned(ring, shape)
        xy = xy - (xy.min(axis=0) + xy.max(axis=0)) / 2
        if any(
            np.abs(xy[:, None, :] - old[None, :, :]).max(axis=2).min(axis=1).max() < grain
            for old in seen
        ):
            continue
        seen.append(xy)
        out.append(shape)
    return out


def record_floats(
    keys: npt.NDArray[np.int32],
    parts: list[tuple[int, int]],
    plain: list[tuple[int, int]],
    outline: list[int],
    items: int,
) -> tuple[int, int]:
    """Return how many floats the records of all keys take at most, and the largest of them."""
    if not keys.size:
        return 0, 0
    _, where = np.unique(keys, return_index=True)
    a, b = np.divmod(where, keys.shape[1])
    grown, bare, of = np.array(parts), np.array(plain), np.array(outline)
    one = np.where((b >= items)[:, None], bare[of[a]], grown[of[a]])
    two = grown[of[b]]
    blocks = one[:, 0] * two[:, 0]
    each = k.REC_W + k.PER_BLOCK * blocks + 3 * (one[:, 1] * two[:, 0] + two[:, 1] * one[:, 0])
    return int(each.sum()), int(each.max())


def keys_of(shapes: Sequence[Shape], items: int) -> tuple[npt.NDArray[np.int32], int]:
    """Return numbers for outline pairs at relative turns and flips, (items, all), and how many."""
    total = len(shapes)
    if not items:
        return np.zeros((0, total), dtype=np.int32), 0
    outline = np.array([s.outline for s in shapes], dtype=np.int64)
    angle = np.array([s.angle for s in shapes])
    flip = np.array([int(s.flipped) for s in shapes], dtype=np.int64)
    keys = np.empty((items, total), dtype=np.int64)
    bodies = int(outline.max()) + 1
    for a in range(items):
        relative = (angle - angle[a]) * (-1 if flip[a] else 1)
        turn = np.round((relative % 360.0) * 1e6).astype(np.int64) % 360_000_000
        keys[a] = ((outline[a] * bodies + outline) * 2 + (flip ^ flip[a])) * 360_000_000 + turn
    unique, inverse = np.unique(keys, return_inverse=True)
    return inverse.reshape(keys.shape).astype(np.int32), len(unique)
