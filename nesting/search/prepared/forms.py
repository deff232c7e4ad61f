"""Outlines at the turns and flips that parts may take."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from nesting.marker.lay import Turns
from nesting.pattern.path import Affine
from nesting.search.prepared.polygons import Floats

__all__ = ["Shape", "distinct", "sampled", "turned"]


@dataclass(frozen=True, slots=True)
class Shape:
    """An outline at one turn and flip."""

    outline: int
    angle: float
    flipped: bool


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


def sampled(turns: Turns, ring: Floats | None, *, steps: int) -> list[float]:
    """Return the angles (degrees) that stand for a part's turns in the separation.

    Where they may vary, the ones that lay a long edge of the hull along an axis are among
    them; without a ring they are the same for all parts, as parts of one turn need.
    """
    edges_at = [] if ring is None else _long_edges(ring)
    if turns.free:
        base = -edges_at[0] if edges_at and steps > 4 else turns.angles[0] if turns.angles else 0.0
        odd = [(base + 360.0 * i / steps) % 360.0 for i in range(steps)]
        right = [0.0, 90.0, 180.0, 270.0] if steps > 4 else []
        return list(dict.fromkeys(round(angle, 9) % 360.0 for angle in (*odd, *right)))
    angles: list[float] = []
    for angle in turns.angles:
        offsets = [0.0]
        if turns.slack > 0.0:
            edges = [-math.remainder(edge + angle, 90.0) for edge in edges_at]
            offsets += [edge for edge in edges if 0.01 < abs(edge) <= turns.slack][:2]
            offsets += [-0.99 * turns.slack, 0.99 * turns.slack]
            if ring is None:
                offsets += [-0.5 * turns.slack, 0.5 * turns.slack]
        angles.extend(angle + offset for offset in offsets)
    return list(dict.fromkeys(round(a % 360.0, 9) for a in angles))


def _long_edges(ring: Floats) -> list[float]:
    """Return the directions (degrees) of the hull's edges, the longest first."""
    cloud = shapely.geometry.MultiPoint(ring)
    hull = cloud.convex_hull.simplify(1e-3 * float(np.ptp(ring)))
    xy = np.asarray(getattr(hull, "exterior", hull).coords)
    ahead = np.diff(xy, axis=0)
    order = np.argsort(-np.hypot(ahead[:, 0], ahead[:, 1]), kind="stable")
    return [math.degrees(math.atan2(ahead[i, 1], ahead[i, 0])) for i in order]
