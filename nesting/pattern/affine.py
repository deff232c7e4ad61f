"""Maps of the plane that keep lines straight: moves, turns, reflections; points in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["Affine", "Point"]

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Affine:
    """The map (x, y) → (a·x + b·y + e, c·x + d·y + f)."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __call__(self, point: Point) -> Point:
        """Map a point."""
        x, y = point
        return (self.a * x + self.b * y + self.e, self.c * x + self.d * y + self.f)

    def vector(self, v: Point) -> Point:
        """Map a direction: the translation does not count."""
        return (self.a * v[0] + self.b * v[1], self.c * v[0] + self.d * v[1])

    def after(self, first: Affine) -> Affine:
        """Return the map that does `first`, then this one."""
        ex, ey = self((first.e, first.f))
        return Affine(
            self.a * first.a + self.b * first.c,
            self.a * first.b + self.b * first.d,
            self.c * first.a + self.d * first.c,
            self.c * first.b + self.d * first.d,
            ex,
            ey,
        )

    @property
    def inverse(self) -> Affine:
        """The map back; there is none of a map onto a line (ZeroDivisionError)."""
        by = 1.0 / (self.a * self.d - self.b * self.c)
        a, b, c, d = self.d * by, -self.b * by, -self.c * by, self.a * by
        return Affine(a, b, c, d, -(a * self.e + b * self.f), -(c * self.e + d * self.f))

    @property
    def mirrors(self) -> bool:
        """Whether the map turns right into left."""
        return self.a * self.d - self.b * self.c < 0

    @staticmethod
    def move(dx: float, dy: float) -> Affine:
        """Translate by (dx, dy)."""
        return Affine(e=dx, f=dy)

    @staticmethod
    def turn(degrees: float) -> Affine:
        """Turn counter-clockwise about the origin; multiples of 90° are exact."""
        quarter, rest = divmod(degrees % 360.0, 90.0)
        if rest == 0.0:
            c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
        else:
            c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return Affine(c, -s, s, c)

    @staticmethod
    def mirror() -> Affine:
        """Reflect in the x axis, which is the grain line of a piece ready to lay."""
        return Affine(d=-1.0)

    @staticmethod
    def mirror_in(start: Point, end: Point) -> Affine:
        """Reflect in the line through two points."""
        dx, dy = end[0] - start[0], end[1] - start[1]
        n = dx * dx + dy * dy
        a, b = (dx * dx - dy * dy) / n, 2.0 * dx * dy / n
        x, y = start
        return Affine(a, b, b, -a, x - a * x - b * y, y - b * x + a * y)

    @staticmethod
    def scale(factor: float) -> Affine:
        """Scale about the origin."""
        return Affine(factor, 0.0, 0.0, factor)
