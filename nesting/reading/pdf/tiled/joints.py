"""How well the edges of pages meet: lines that end at one and go on at the other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from nesting.pattern.path import Point
from nesting.pattern.segment import direction
from nesting.reading.pdf.ink import cut_to, cut_to_cell, style_of
from nesting.reading.pdf.page import Box
from nesting.reading.pdf.tiled.tile import Tile

__all__ = ["End", "Joints", "Meeting", "on_border"]

SIDES = ("left", "right", "low", "high")
_AT = 0.3
"""A line that ends within so much (mm) of the border ends there."""
WIDEST = 1.5
"""Lines that miss each other by more than this (mm) do not meet."""
_SLANT = 8.0
"""A line is slanted if it is so far (degrees) from crossing the border square."""
_BEND = 20.0
"""Nor do those that go on in a direction that differs by more than this (degrees)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """The end of a line at a border: where along it, its direction (0 to 180°), its style."""

    along: float
    way: float
    style: tuple[str, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """How many lines go on across a border, how many do not, and the largest step (mm).

    `slanted`: whether one of them crosses it at a slant, and would miss if pages were nearer.
    """

    met: int = 0
    unmet: int = 0
    step: float = 0.0
    slanted: bool = False

    def __add__(self, other: Meeting) -> Meeting:
        return Meeting(
            met=self.met + other.met,
            unmet=self.unmet + other.unmet,
            step=max(self.step, other.step),
            slanted=self.slanted or other.slanted,
        )


class Joints:
    """The ends of all pages' lines at the borders of one cell, the same on every page."""

    def __init__(self, tiles: Sequence[Tile], cell: Box) -> None:
        self.cell = cell
        self._ends = [_ends(tile, cell) for tile in tiles]
        self._last = [_ends(tile, tile.live) for tile in tiles]
        self._known: dict[tuple[int, int, str], Meeting] = {}

    def between(self, one: int, other: int, *, side: str) -> Meeting:
        """Return how page `one` meets `other`, which lies at its `side` ("right", "low")."""
        key = (one, other, side)
        if key not in self._known:
            facing = {"right": "left", "low": "high"}[side]
            square = {"right": 0.0, "low": 90.0}[side]
            self._known[key] = _matched(self._ends[one][side], self._ends[other][facing], square)
        return self._known[key]

    def beyond(self, one: int, side: str) -> Meeting:
        """Return the lines that run off a page where there is no other.

        What ends in the margin that others would overlap does not.
        """
        return Meeting(unmet=min(len(self._ends[one][side]), len(self._last[one][side])))


def _ends(tile: Tile, cell: Box) -> dict[str, list[End]]:
    found: dict[str, list[End]] = {side: [] for side in SIDES}
    for stroke in tile.strokes:
        if stroke.path.closed and cut_to(stroke.path, cell, slack=_AT) == [stroke.path]:
            continue
        style = style_of(stroke)
        for run in cut_to_cell(stroke, cell):
            if run.closed:
                continue
            tips = ((run.start, run.segments[0], 0.0), (run.end, run.segments[-1], 1.0))
            for tip, segment, t in tips:
                side = on_border(tip, cell)
                if side is None:
                    continue
                dx, dy = direction(segment, t)
                along = tip[1] if side in ("left", "right") else tip[0]
                way = math.degrees(math.atan2(dy, dx)) % 180.0
                found[side].append(End(along=along, way=way, style=style))
    for ends in found.values():
        ends.sort(key=lambda end: end.along)
    return found


def on_border(tip: Point, cell: Box) -> str | None:
    """Return the side of a cell at which a point lies."""
    x0, y0, x1, y1 = cell
    off = {
        "left": abs(tip[0] - x0),
        "right": abs(tip[0] - x1),
        "low": abs(tip[1] - y0),
        "high": abs(tip[1] - y1),
    }
    side = min(off, key=lambda name: off[name])
    return side if off[side] <= _AT else None


def _matched(ones: Sequence[End], others: Sequence[End], square: float) -> Meeting:
    pairs = []
    for i, one in enumerate(ones):
        for j, other in enumerate(others):
            off = abs(one.along - other.along)
            turn = abs(one.way - other.way) % 180.0
            if off <= WIDEST and min(turn, 180.0 - turn) <= _BEND and one.style == other.style:
                pairs.append((off, i, j))
    left, right = set(range(len(ones))), set(range(len(others)))
    step, slanted = 0.0, False
    for off, i, j in sorted(pairs):
        if i in left and j in right:
            left.discard(i)
            right.discard(j)
            step = max(step, off)
            turn = abs(ones[i].way - square) % 180.0
            slanted = slanted or min(turn, 180.0 - turn) > _SLANT
    return Meeting(
        met=len(ones) - len(left), unmet=len(left) + len(right), step=step, slanted=slanted
    )
