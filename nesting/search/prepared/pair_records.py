"""Room for pair records and their tables: how many pairs there are, and how much they take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nesting.search.kernels.pairs import BEGIN, MOST_BESIDE, PAIR_FLOATS
from nesting.search.prepared.forms import Shape
from nesting.search.prepared.laying import Laying, Table, blank_rows, bodies_of

__all__ = ["Capacity", "room_for_pairs"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacity:
    """Sizes of the store of pair records (floats) and depth tables (the others).

    `hits`: after how many tests a pair gets a table.
    """

    floats: int = 40_000_000
    singles: int = 40_000_000
    ints: int = 30_000_000
    hits: int = 200


def room_for_pairs(of: Laying, capacity: Capacity) -> tuple[dict[str, float], dict[str, Table]]:
    """Make room for pair records and their tables."""
    keys, count = _keys(of.all_shapes, len(of.shapes))
    needed, largest = _floats(keys, of)
    room = min(needed, max(capacity.floats, largest))
    numbers: dict[str, float] = {
        "blocks_used": BEGIN,
        "room": room,
        "most_cells": 64 if count < 3000 else 24 if count < 20000 else 12,
    }
    return numbers, {
        "keys": keys.ravel() if keys.size else blank_rows("keys", 1),
        "pairs": blank_rows("pairs", count),
        "blocks": np.empty(BEGIN + room),
        "depths": np.empty(capacity.singles, dtype=np.float32),
        "lists": np.empty(capacity.ints, dtype=np.int32),
    }


def _floats(keys: npt.NDArray[np.int32], of: Laying) -> tuple[int, int]:
    """Return how many floats the records of all keys take at most, and the largest of them."""
    if not keys.size:
        return 0, 0
    _, where = np.unique(keys, return_index=True)
    a, b = np.divmod(where, keys.shape[1])
    bodies, outline = bodies_of(of), np.array([s.outline for s in of.all_shapes])
    grown, plain = (
        np.array([(len(body[side]), sum(map(len, body[side]))) for body in bodies])
        for side in (0, 1)
    )
    one = np.where((b >= len(of.shapes))[:, None], plain[outline[a]], grown[outline[a]])
    two = grown[outline[b]]
    blocks = one[:, 0] * two[:, 0]
    planes = one[:, 1] * two[:, 0] + two[:, 1] * one[:, 0]
    each = PAIR_FLOATS + MOST_BESIDE * blocks + 3 * planes
    return int(each.sum()), int(each.max())


def _keys(shapes: Sequence[Shape], items: int) -> tuple[npt.NDArray[np.int32], int]:
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
