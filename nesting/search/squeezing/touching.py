"""Where two outlines touch, or are nearest: the ends of those stretches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from nesting.search.prepared.polygons import Floats

__all__ = ["Touching", "touching"]

_NEAR = 0.02
"""Points whose distance differs by no more from the least (mm) all touch."""

_LEAN = 0.05
"""How far (radians) a side may lean from the normal along which it touches: the search has
simpler outlines."""

_HAIR = 1e-6
"""A point that is no farther from a corner (mm) is there."""


@dataclass(frozen=True, slots=True, eq=False)
class Touching:
    """Points (n, 2) of an outline that touch another, with the sides of both there (n, 2, 2).

    `sides`: the outward normals next to each point, in the order in which the outline is run
    counter-clockwise, twice the same but at a corner; `facing`: those of the other outline.
    """

    points: Floats
    sides: Floats
    facing: Floats

    def along(self, normal: Floats) -> Floats:
        """Return the points that touch along an outward normal; all if that tells none."""
        chosen = self.points[_between(self.sides, normal) & _between(self.facing, -normal)]
        return chosen if len(chosen) else self.points


def touching(mine: shapely.Polygon, theirs: shapely.Polygon) -> Touching:
    """Return where an outline touches another, or is nearest to it."""
    reach = shapely.distance(mine, theirs) + _NEAR
    mine, theirs = (shapely.geometry.polygon.orient(area) for area in (mine, theirs))
    here, there = _nearest(mine, theirs, reach)
    across, facing = _nearest(theirs, mine, reach)
    here, there = np.concatenate([here, facing]), np.concatenate([there, across])
    return Touching(here, _sides(mine, here), _sides(theirs, there))


def _nearest(one: shapely.Polygon, other: shapely.Polygon, reach: float) -> tuple[Floats, Floats]:
    """Return the corners of an outline that another is near, and the points of that nearest."""
    corners = shapely.get_coordinates(one.exterior)[:-1]
    corners = corners[shapely.distance(shapely.points(corners), other) <= reach]
    lines = shapely.shortest_line(other.exterior, shapely.points(corners))
    return corners, shapely.get_coordinates(shapely.get_point(lines, 0)).reshape(-1, 2)


def _sides(area: shapely.Polygon, points: Floats) -> Floats:
    """Return the normals of the sides before and after points on an outline."""
    ring = shapely.get_coordinates(area.exterior)
    along = np.diff(ring, axis=0)
    size = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)
    normals = np.stack([along[:, 1], -along[:, 0]], axis=1) / size[:, None]
    edges = shapely.linestrings(np.stack([ring[:-1], ring[1:]], axis=1))
    found = np.empty((len(points), 2, 2))
    for k, point in enumerate(points):
        edge = int(shapely.distance(edges, shapely.Point(point)).argmin())
        before = after = edge
        if np.hypot(*(point - ring[edge])) < _HAIR:
            before = edge - 1
        elif np.hypot(*(point - ring[edge + 1])) < _HAIR:
            after = (edge + 1) % len(normals)
        found[k] = normals[before], normals[after]
    return found


def _between(sides: Floats, normal: Floats) -> npt.NDArray[np.bool_]:
    """Whether a normal lies between those of two sides, or nearly."""
    x, y = normal
    before = sides[:, 0, 0] * y - sides[:, 0, 1] * x
    after = x * sides[:, 1, 1] - y * sides[:, 1, 0]
    outward = (sides @ normal > 0.0).any(axis=1)
    return np.asarray((before >= -_LEAN) & (after >= -_LEAN) & outward)
