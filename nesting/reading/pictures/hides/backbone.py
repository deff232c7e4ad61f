"""Which way the backbone of a hide runs: a guess from its outline, where nothing is drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity

__all__ = ["Backbone", "guessed_backbone"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Backbone:
    """Its direction (degrees, y upwards, −90 to 90), and in words how that is known."""

    angle: float
    why: str
    guess: bool


_NEARLY = 0.05
"""A hide that is as alike, but for this share, the other way is longer along its backbone."""
_STRAIGHT = 0.55
"""Share of its length that a side's straight edge has, at least (own choice)."""


def guessed_backbone(outline: shapely.Polygon) -> Backbone:
    """Return the guess: the line about which a hide is most alike, or a side's straight edge."""
    plain = _plain(outline, 4.0)
    angles = np.arange(0.0, 180.0, 4.0)
    best = max(angles, key=lambda angle: _mirrored(plain, float(angle)))
    for step in (1.0, 0.25):
        best = max(best + step * np.arange(-4, 5), key=lambda angle: _mirrored(plain, float(angle)))
    share = _mirrored(plain, float(best))
    other = best + 90.0
    if _mirrored(plain, other) > share - _NEARLY and _long(plain, other) > _long(plain, best):
        best = other
    way, long = _edge(plain)
    size = max(_sides(plain))
    if long >= _STRAIGHT * size:
        return Backbone(angle=_upright(way), why="a guess: its longest straight edge", guess=True)
    return Backbone(
        angle=_upright(float(best)),
        why=f"a guess: the line about which its halves are most alike ({share:.0%} of them)",
        guess=True,
    )


def _long(outline: shapely.Polygon, angle: float) -> float:
    """Return how long an outline is in a direction."""
    x0, _, x1, _ = affinity.rotate(outline, -angle, origin=(0.0, 0.0)).bounds
    return float(x1 - x0)


def _plain(outline: shapely.Polygon, tolerance: float) -> shapely.Polygon:
    simple = outline.simplify(tolerance)
    assert isinstance(simple, shapely.Polygon)
    return simple


def _mirrored(outline: shapely.Polygon, angle: float) -> float:
    """Return the share in which an outline covers its mirror image about a line (degrees).

    The line runs where as much lies on one side as on the other.
    """
    turned = affinity.rotate(outline, -angle, origin=(0.0, 0.0))
    middle = turned.centroid.y
    other = affinity.scale(turned, yfact=-1.0, origin=(0.0, middle))
    both = turned.intersection(other).area
    return float(both / (2.0 * turned.area - both))


def _edge(outline: shapely.Polygon) -> tuple[float, float]:
    """Return the direction (degrees) and the length of the longest edge, drawn coarsely."""
    size = max(_sides(outline))
    ring = shapely.get_coordinates(_plain(outline, 0.02 * size).exterior)
    ways = np.diff(ring, axis=0)
    lengths = np.hypot(*ways.T)
    x, y = ways[int(np.argmax(lengths))]
    return float(np.degrees(np.arctan2(y, x))), float(lengths.max())


def _sides(outline: shapely.Polygon) -> tuple[float, float]:
    box = shapely.get_coordinates(outline.minimum_rotated_rectangle)
    a, b = np.hypot(*np.diff(box, axis=0)[:2].T)
    return float(a), float(b)


def _upright(angle: float) -> float:
    """Return the direction that points to the right."""
    return float(90.0 - (90.0 - angle) % 180.0)
