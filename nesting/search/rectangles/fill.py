"""Filling a box with smaller boxes by a beam search over skylines.

The lowest gap of the skyline is filled or given up, step after step; of all states with
equally many boxes laid the best `width` go on. A state is good if little is wasted and
its skyline has few steps. Sources: E. K. Burke, G. Kendall, G. Whitwell, "A new placement
heuristic for the orthogonal stock-cutting problem", Operations Research 52 (2004), for
the lowest gap; N. Lesh, J. Marks, A. McMahon, M. Mitzenmacher, "Exhaustive approaches to
2D rectangular perfect packings", Information Processing Letters 90 (2004), for giving up
a state once more is wasted than there is to waste; L. Libralesso, F. Fontan, "An anytime
tree search algorithm for the 2018 ROADEF/EURO challenge glass cutting problem", European
Journal of Operational Research 291 (2021), for growing beams guided by waste.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nesting.search.kernels.skyline import Children, Room, States, Trail, breed, grow
from nesting.search.rectangles.boxes import Boxes, Spot

__all__ = ["Beam", "Filler"]

_MOST_CHILDREN = 4_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Beam:
    """How a box is filled.

    `width`: states kept a level, more by the power `flare` as fewer boxes are left.
    `rough`: how much waste a step of the skyline counts for, as a share of the mean
    box's area. `tall`, `large`: what laying a box early is worth, as a share of its
    area times its height (its larger side) relative to the whole. `noise`: how far a score
    is disturbed at most (mean boxes). `both`: lay at both ends of a gap. `upright`: build
    up from one edge across the strip to the other rather than along it.
    """

    width: int
    flare: float = 1.0
    rough: float = 0.1
    tall: float = 0.1
    large: float = 0.0
    noise: float = 0.0
    both: bool = False
    upright: bool = False
    seed: int = 1


class Filler:
    """The boxes of one lay, ready to be filled in."""

    def __init__(self, boxes: Boxes) -> None:
        self._boxes = boxes
        self._kinds: dict[tuple[tuple[int, int], ...], list[int]] = {}
        for i, box in enumerate(boxes.items):
            self._kinds.setdefault(box.sizes, []).append(i)
        self._count = np.array([len(group) for group in self._kinds.values()], np.int32)
        rng = np.random.default_rng(len(boxes.items))
        self._salt = rng.integers(0, 1 << 62, len(self._kinds)).astype(np.uint64)

    def _ways(self, upright: bool) -> tuple[NDArray[np.int64], list[int]]:
        """Return rows (width, height, kind) as seen from the base, and the way of each."""
        rows, which = [], []
        for kind, sizes in enumerate(self._kinds):
            for way, (length, height) in enumerate(sizes):
                rows.append((length, height, kind) if upright else (height, length, kind))
                which.append(way)
        ways = np.array(rows, np.int64).reshape(-1, 3)
        order = np.lexsort((ways[:, 2], -ways[:, 0], -ways[:, 1]))
        return ways[order], [which[k] for k in order]

    def run(
        self, reach: int, beam: Beam, stop: Callable[[], bool] = lambda: False
    ) -> tuple[Spot, ...] | None:
        """Return spots that reach no farther than `reach` (units), or None if none were found."""
        boxes = self._boxes
        base, wall = (reach, boxes.width) if beam.upright else (boxes.width, reach)
        budget = base * wall - boxes.area
        if budget < 0:
            return None
        ways, which = self._ways(beam.upright)
        width, height = ways[:, 0], ways[:, 1]
        large = np.maximum(width / base, height / wall)
        tall = height / wall
        worth = width * height * (beam.large * large + beam.tall * tall)
        turns = np.array([len(sizes) for sizes in self._kinds], np.int64)
        room = Room(ways, worth, turns, self._salt, base, wall, budget)
        trails = self._levels(room, beam, stop)
        return None if trails is None else self._spots(trails, room, which, beam.upright)

    def _levels(self, room: Room, beam: Beam, stop: Callable[[], bool]) -> list[Trail] | None:
        total = len(self._boxes.items)
        widths = _widths(beam, total)
        states, new = (_states(max(widths), total, len(self._count)) for _ in range(2))
        states.steps[0] = 1
        states.left[0] = self._count
        ways = len(room.ways)
        most = max(w * min(ways, 2 * (total - k)) for k, w in enumerate([1, *widths[:-1]]))
        children = _children(min(most << beam.both, _MOST_CHILDREN))
        table = np.zeros((1 << (3 * max(widths)).bit_length(), 2), np.uint64)
        mean = self._boxes.area / total
        weights = np.array([beam.rough * mean, beam.noise * mean])
        rows = 1
        trails: list[Trail] = []
        for level, width in enumerate(widths, 1):
            made = breed(states, rows, room, children, weights, beam.both, beam.seed)
            order = _best(children.score[:made], 4 * width)
            trail = _trail(min(width, len(order)))
            rows = grow(states, order, children, room, new, trail, table, level) if made else 0
            if rows == 0 or stop():
                return None
            trails.append(trail)
            states, new = new, states
        return trails

    def _spots(
        self, trails: list[Trail], room: Room, which: list[int], upright: bool
    ) -> tuple[Spot, ...]:
        free = [list(reversed(group)) for group in self._kinds.values()]
        spots: list[Spot] = [Spot(0, 0)] * len(self._boxes.items)
        row = 0
        for trail in reversed(trails):
            v = int(trail.way[row])
            u, up = int(trail.x[row]), int(trail.y[row])
            x, y = (u, up) if upright else (up, u)
            spots[free[int(room.ways[v, 2])].pop()] = Spot(x, y, which[v])
            row = int(trail.parent[row])
        return tuple(spots)


def _widths(beam: Beam, total: int) -> list[int]:
    """Return the states kept a level: ever more as fewer boxes are left to choose from."""
    most = 50 * beam.width
    return [
        min(most, round(beam.width * (total / (total - level)) ** beam.flare))
        for level in range(total)
    ]


def _states(rows: int, boxes: int, kinds: int) -> States:
    return States(
        np.zeros((rows, boxes + 3), np.int64),
        np.zeros((rows, boxes + 3), np.int64),
        np.zeros(rows, np.int64),
        np.zeros((rows, kinds), np.int32),
        np.zeros(rows, np.int64),
        np.zeros(rows),
        np.zeros(rows, np.uint64),
    )


def _children(most: int) -> Children:
    return Children(
        np.empty(most),
        np.empty(most, np.int32),
        np.empty(most, np.int32),
        np.empty(most, np.int32),
        np.empty(most, np.int8),
    )


def _trail(rows: int) -> Trail:
    return Trail(
        np.empty(rows, np.int32),
        np.empty(rows, np.int32),
        np.empty(rows, np.int64),
        np.empty(rows, np.int64),
    )


def _best(score: NDArray[np.float64], most: int) -> NDArray[np.int64]:
    """Return the indices of the `most` least scores, least first, ties by index."""
    if len(score) > most:
        pick = np.sort(np.argpartition(score, most - 1)[:most])
        return pick[np.argsort(score[pick], kind="stable")]
    return np.argsort(score, kind="stable")
