"""Parts that are held: where they lie for the search, and what that leaves to their groups.

A held part is an item like others, with one shape and one place; a group of one turn that it
belongs to is no longer free to turn, nor are its mates free to lie on another sheet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from nesting.marker.lay import Held, Lay, Part, Turns
from nesting.marker.rules import angle_between
from nesting.pattern.path import Affine
from nesting.search.prepared.boards import Area, Board
from nesting.search.prepared.forms import Shape, turned
from nesting.search.prepared.outlines import Outline
from nesting.search.prepared.polygons import Floats
from nesting.tolerance import TOLERANCE

__all__ = ["Pins", "Place", "has_held", "place_of", "rounded"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a held kind lies: its sheet and shape, its position, its true box (mm)."""

    sheet: int
    shape: Shape
    at: tuple[float, float]
    box: tuple[float, float, float, float]


def has_held(lay: Lay) -> bool:
    """Whether any part of a lay is held."""
    return any(part.held is not None for part in lay.parts)


def rounded(angle: float) -> float:
    """Return an angle (degrees) as shapes have it."""
    return round(angle % 360.0, 9)


def place_of(part: Part, boards: Sequence[Board], *, number: int, outline: Outline) -> Place | None:
    """Return where a part is held on the boards, None if nowhere; `number`: of its outline."""
    held = part.held
    on = [b for b, board in enumerate(boards) if held is not None and board.index == held.sheet]
    if held is None or not on:
        return None
    shape = Shape(number, rounded(held.angle), held.flipped)
    turn = Affine.turn(shape.angle)
    cx, cy = (turn.after(Affine.mirror()) if shape.flipped else turn)(outline.centre)
    ring = turned(outline.ring, shape) + np.array([held.x + cx, held.y + cy])
    b = max(on, key=lambda b: _within(ring, boards[b].areas.get(part.region))) if on[1:] else on[0]
    at = held.x + cx + boards[b].x, held.y + cy
    (x0, y0), (x1, y1) = ring.min(axis=0).tolist(), ring.max(axis=0).tolist()
    x = boards[b].x
    return Place(sheet=b, shape=shape, at=at, box=(x + x0, y0, x + x1, y1))


def _within(ring: Floats, area: Area | None) -> float:
    """Return how much of a ring (mm²) lies in an area: of regions of one name it is in one."""
    if area is None:
        return -1.0
    body = shapely.intersection(shapely.make_valid(shapely.Polygon(ring)), shapely.box(*area.box))
    blocked = [shapely.intersection(body, shapely.Polygon(block)).area for block in area.blocks]
    return float(body.area - sum(blocked))


class Pins:
    """What held parts leave to others of their groups: one turn, one kind of sheet."""

    def __init__(self, lay: Lay) -> None:
        kept = [(part, part.held) for part in lay.parts if part.held is not None]
        self._turns = {p.turn_group: rounded(h.angle) for p, h in kept if p.turn_group is not None}
        self._sheets = {p.mates: h.sheet for p, h in kept if p.mates is not None}

    def of(self, part: Part) -> tuple[Held | None, float | None, int | None]:
        """Return all that tells a part from others of its outline and rules."""
        return part.held, self.turn(part), self._sheets.get(part.mates or "")

    def turn(self, part: Part) -> float | None:
        """Return the one turn (degrees) that a part may have, if it is one."""
        return None if part.turn_group is None else self._turns.get(part.turn_group)

    def angles(self, part: Part, turns: Turns, free: list[float]) -> list[float]:
        """Return those of a part's angles that its group has left; `free`: without it."""
        angle = self.turn(part)
        if angle is None:
            return free
        slack = turns.slack + TOLERANCE.turn
        allowed = turns.free or any(angle_between(angle, a) <= slack for a in turns.angles)
        return [angle] if allowed else []

    def may(self, part: Part, boards: Sequence[Board], b: int) -> bool:
        """Whether a part may lie on a board, as far as its mates are concerned."""
        sheet = self._sheets.get(part.mates or "")
        return boards[b].index == sheet or all(board.index != sheet for board in boards)
