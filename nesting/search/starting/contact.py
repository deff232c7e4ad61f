"""Bodies that interlock: where two of them touch so that they waste least together.

The places in which one convex part meets another are the convex hull of the differences of
their corners; the union of these, over all pairs of parts, is where two bodies overlap
(Minkowski differences, as in Milenkovic 1999, Computational Geometry 13, 3-19). Its corners, inner
ones as well, are the places in which a body touches another in two ways at once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from nesting.search.prepared.forms import Shape, turned
from nesting.search.prepared.polygons import Floats

__all__ = ["Body", "Member", "filled", "joined", "pairs"]

HAIR = 1e-7
"""By so much (share) a difference shrinks, so that what fits exactly is not closed."""
SIDES = 16
"""Sides of the polygon that stands for a hull."""
PAIRS = 1_500
"""With more pairs of convex parts the smaller body is taken as its hull."""


_ANGLES = 2.0 * math.pi / SIDES * np.arange(SIDES)
_WAYS = np.stack([np.cos(_ANGLES), np.sin(_ANGLES)], axis=1)


@dataclass(frozen=True, slots=True)
class Member:
    """A part of a body: its kind, its turn (degrees), whether it is flipped, where it lies (mm)."""

    kind: int
    angle: float
    flipped: bool
    at: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """Parts that lie fast to each other; convex rings with spacing and without, corners (mm)."""

    members: tuple[Member, ...]
    parts: tuple[Floats, ...]
    plain: tuple[Floats, ...]
    ring: Floats
    area: float

    def put(self, shape: Shape, at: Floats) -> Body:
        """Return the body turned and flipped as a shape is, then moved."""

        def there(rings: Sequence[Floats]) -> tuple[Floats, ...]:
            back = -1 if shape.flipped else 1
            return tuple(turned(ring, shape)[::back] + at for ring in rings)

        return Body(
            tuple(_put(member, shape, at) for member in self.members),
            there(self.parts), there(self.plain), there([self.ring])[0], self.area,
        )  # fmt: skip

    def beside(self, other: Body) -> Body:
        """Return the bodies as one."""
        return Body(
            self.members + other.members, self.parts + other.parts, self.plain + other.plain,
            np.concatenate([self.ring, other.ring]), self.area + other.area,
        )  # fmt: skip

    @property
    def hull(self) -> Floats:
        """Return the corners of its convex hull with spacing."""
        hull = shapely.convex_hull(shapely.MultiPoint(np.concatenate(self.parts)))
        return np.asarray(shapely.get_coordinates(hull)[:-1])


def _put(member: Member, shape: Shape, at: Floats) -> Member:
    x, y = turned(np.array([member.at]), shape)[0] + at
    angle = shape.angle + (-member.angle if shape.flipped else member.angle)
    flipped = member.flipped != shape.flipped
    return Member(member.kind, angle % 360.0, flipped, (float(x), float(y)))


def filled(body: Body) -> float:
    """Return the area (mm²) that a body takes by itself, what it wastes included."""
    return float(_taken(_reach(body.ring)))


def joined(one: Body, two: Body) -> tuple[float, Floats] | None:
    """Return the least area that two bodies take that touch, and where the second lies (mm)."""
    at = _touching(one, two)
    if at is None or not len(at):
        return None
    areas = _taken(np.maximum(_reach(one.ring), _reach(two.ring) + at @ _WAYS.T))
    best = int(np.argmin(np.round(areas / areas.min(), 9)))
    return float(areas[best]), at[best]


def _reach(points: Floats) -> Floats:
    """Return how far points reach (mm) in each of the directions."""
    return np.asarray((points @ _WAYS.T).max(axis=0))


def _taken(reach: Floats) -> Floats:
    """Return the mean area (mm²) of a polygon that reaches so far in each direction, and its box.

    A box alone says nothing of what lies askew, a hull nothing of what a strip's edges leave.
    """
    turn = 2.0 * math.pi / SIDES
    beside = np.roll(reach, 1, axis=-1) + np.roll(reach, -1, axis=-1)
    edges = (beside - 2.0 * math.cos(turn) * reach) / math.sin(turn)
    hull = 0.5 * np.sum(reach * edges, axis=-1)
    right, top, left, bottom = np.moveaxis(reach[..., :: SIDES // 4], -1, 0)
    return np.asarray(0.5 * (hull + (right + left) * (top + bottom)))


def pairs(one: Body, two: Body) -> tuple[tuple[Floats, ...], tuple[Floats, ...]]:
    """Return the convex parts that two bodies are compared by: the smaller's hull, if many."""
    a, b = one.parts, two.parts
    if len(a) * len(b) > PAIRS:
        if np.prod(np.ptp(one.ring, axis=0)) <= np.prod(np.ptp(two.ring, axis=0)):
            a = (one.hull,)
        else:
            b = (two.hull,)
    return a, b


def _touching(one: Body, two: Body) -> Floats | None:
    """Return where the second body touches the first (n, 2), as offsets of its origin (mm)."""
    a, b = pairs(one, two)
    if len(a) * len(b) > PAIRS:
        return None
    differences = [(p[:, None, :] - q[None, :, :]).reshape(-1, 2) for p in a for q in b]
    count = [len(d) for d in differences]
    xy = np.concatenate(differences)
    middles = np.add.reduceat(xy, np.cumsum([0, *count[:-1]])) / np.array(count)[:, None]
    which = np.repeat(np.arange(len(count)), count)
    xy -= HAIR * (xy - middles[which])
    hulls = shapely.convex_hull(shapely.linestrings(xy, indices=which))
    try:
        return np.asarray(shapely.get_coordinates(shapely.union_all(hulls)))
    except shapely.errors.GEOSException:
        return None
