"""Shapes of random lays, known to both judges."""

from __future__ import annotations

import math
from collections.abc import Sequence
from random import Random

from nesting import Turns
from nesting.marker.lay import Region
from nesting.pattern.path import Arc, Line, Path, Segment

from .second import Drawn

__all__ = ["Shapes", "path_of"]

_SPACINGS = (0.0, 0.0, 2.0, 3.5)


def path_of(drawn: Drawn, *, ring: int = 0) -> Path:
    """Return a ring as a path: corners counter-clockwise, grown with arcs if it has a radius."""
    points, r = drawn.rings[ring], drawn.radius
    if r == 0.0:
        return Path.polyline(list(points), closed=True)
    if len(points) == 1:
        return Path((Arc(points[0], (r, 0.0), (0.0, r), 0.0, math.tau),))
    ways = [
        math.atan2(q[1] - p[1], q[0] - p[0])
        for p, q in zip(points, [*points[1:], points[0]], strict=True)
    ]
    arcs = [
        Arc(p, (r, 0.0), (0.0, r), ways[k - 1] - math.pi / 2, (ways[k] - ways[k - 1]) % math.tau)
        for k, p in enumerate(points)
    ]
    segments: list[Segment] = []
    for k, arc in enumerate(arcs):
        segments += [arc, Line(arc.end, arcs[(k + 1) % len(arcs)].start)]
    return Path(tuple(segments))


class Shapes:
    """Makes shapes. `drawn`: those that the second judge knows, by the ids of their paths."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.drawn: dict[int, Drawn] = {}
        self.on_strip = rng.random() < 0.5
        self.spacing = rng.choice(_SPACINGS)
        self.drop, self.drift = rng.choice((0.0, 0.5)), rng.choice((0.0, 2.0))
        self.rim = 0.0

    def keep(self, drawn: Drawn, *, ring: int = 0) -> Path:
        """Return the path of a shape that the second judge will know."""
        path = path_of(drawn, ring=ring)
        self.drawn[id(path)] = drawn
        return path

    # -- shapes

    def some(self, low: float, high: float) -> float:
        """Return a length in sixteenths of a mm."""
        return self.rng.randrange(int(16 * low), int(16 * high)) / 16.0

    def shape(self) -> Drawn:
        """Return a shape of 20 to 150 mm: polygon, with a hole, comb, disc, rounded polygon."""
        rng = self.rng
        kind = rng.choice(("polygon", "polygon", "hole", "notched", "disc", "bar", "rounded"))
        if kind == "disc":
            return Drawn((((0.0, 0.0),),), self.some(8, 50))
        if kind == "bar":
            return Drawn((((0.0, 0.0), (self.some(20, 90), self.some(-30, 30))),), self.some(4, 20))
        w, h = self.some(24, 110), self.some(24, 110)
        if kind == "rounded":
            return Drawn((self.convex(w, h),), self.some(3, 15))
        if kind == "notched":
            x, y = self.some(0.3 * w, 0.6 * w), self.some(0.3 * h, 0.7 * h)
            ring = ((0.0, 0.0), (w, 0.0), (w, h), (x + 6.0, h), (x, y), (x - 6.0, h), (0.0, h))
            return Drawn((ring,))
        if kind == "hole":
            a, b = w / 4, h / 4
            hole = ((a, b), (a, 3 * b), (3 * a, 3 * b), (3 * a, b))
            return Drawn((((0.0, 0.0), (w, 0.0), (w, h), (0.0, h)), hole))
        return Drawn((self.convex(w, h),))

    def convex(self, w: float, h: float) -> tuple[tuple[float, float], ...]:
        """Return a convex ring: a rectangle with corners cut off."""
        ring: list[tuple[float, float]] = []
        corners = ((0.0, 0.0, 1, 1), (w, 0.0, -1, 1), (w, h, -1, -1), (0.0, h, 1, -1))
        for k, (x, y, sx, sy) in enumerate(corners):
            if self.rng.random() < 0.5:
                ring.append((x, y))
                continue
            along, across = (x + sx * self.some(1, w / 3), y), (x, y + sy * self.some(1, h / 3))
            ring += [across, along] if k % 2 == 0 else [along, across]
        return tuple(ring)

    def region(
        self,
        name: str,
        rings: Sequence[tuple[tuple[float, float], ...]],
        turns: Turns | None = None,
    ) -> Region:
        """Return a region of rings, known to the second judge by the first."""
        drawn = Drawn(tuple(rings))
        rest = tuple(path_of(drawn, ring=k) for k in range(1, len(rings)))
        return Region(name=name, outlines=(self.keep(drawn), *rest), turns=turns)
