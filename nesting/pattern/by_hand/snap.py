"""What a hand means that points at a piece: the way of its grain, a place for a mark."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nesting.pattern.edges import edge_at, edge_path, edges
from nesting.pattern.nearest import nearest
from nesting.pattern.path import Path, Point
from nesting.pattern.sides import Spot, centre, from_edge

__all__ = ["Way", "grain_way", "on_edge", "to_edge", "turned_grain"]

_NEAR = 3.0
"""Degrees within which a turned grain snaps (own choice: at a hand's width, 5 mm)."""
_STEP = 0.5
"""Degrees to which it is rounded elsewhere (own choice)."""


@dataclass(frozen=True, slots=True)
class Way:
    """A direction of the grain: degrees counter-clockwise, and the edge that it runs along."""

    angle: float
    edge: int | None = None


def grain_way(outline: Path, towards: Point, *, free: bool = False) -> Way:
    """Return the way from the middle of an outline to a point, as a hand means it.

    It snaps to multiples of 45°, and to run along an edge, whichever is nearer; `free`: to
    nothing.
    """
    (x, y), (px, py) = centre(outline), towards
    angle = math.degrees(math.atan2(py - y, px - x)) % 360.0
    ways = [Way(45.0 * k) for k in range(8)]
    for number in range(1, len(edges(outline)) + 1):
        run = edge_path(outline, number)
        (ax, ay), (bx, by) = run.start, run.end
        if math.dist(run.start, run.end) > 0.0:
            along = math.degrees(math.atan2(by - ay, bx - ax))
            ways += [Way(round((along + turn) % 360.0, 4) % 360.0, number) for turn in (0.0, 180.0)]
    best = min(ways, key=lambda way: (round(_apart(way.angle, angle), 6), way.edge is not None))
    if free or _apart(best.angle, angle) > _NEAR:
        return Way(round(angle / _STEP) * _STEP % 360.0)
    return best


def _apart(a: float, b: float) -> float:
    return abs((a - b + 180.0) % 360.0 - 180.0)


def on_edge(outline: Path, at: Point) -> tuple[int, float]:
    """Return the edge nearest to a point, and how far along it that is (mm)."""
    number = edge_at(outline, at)
    spot = nearest(outline, at).point
    return number, to_edge(outline, number, spot)[0]


def to_edge(outline: Path, edge: int | str, at: Point) -> tuple[float, float]:
    """Return how far along an edge a point is, and how far inwards: `from_edge` leads back.

    Beyond the edge's ends the nearer end is meant.
    """
    spot = from_edge(outline, edge)
    middle, size = _ruler(outline, edge, spot)
    far = min(max(_along(at, spot) + middle, 0.0), size)
    there = from_edge(outline, edge, along=far)
    inwards = (at[0] - there.at[0]) * spot.inward[0] + (at[1] - there.at[1]) * spot.inward[1]
    return far, inwards


def _along(at: Point, spot: Spot) -> float:
    return (at[0] - spot.at[0]) * spot.along[0] + (at[1] - spot.at[1]) * spot.along[1]


def _ruler(outline: Path, edge: int | str, spot: Spot) -> tuple[float, float]:
    """Return how far along the ruler its middle is, and how long it is (mm)."""
    first = from_edge(outline, edge, along=0.0)
    middle = -_along(first.at, spot)
    return middle, 2.0 * middle


def turned_grain(angle: float, *, left: bool, far: bool = False) -> float:
    """Return a grain turned by one degree, or `far`, on to the next multiple of 45°."""
    if not far:
        return (angle + (1.0 if left else -1.0)) % 360.0
    step = math.floor(angle / 45.0) + 1 if left else math.ceil(angle / 45.0) - 1
    return step * 45.0 % 360.0
