"""What a path is made of: lines, arcs of ellipses and Bézier curves; mm, y upwards."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nesting.pattern.affine import Affine, Point

__all__ = ["Arc", "Bezier", "Line", "Segment"]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight segment.

    Examples
    --------
    >>> Line((0, 0), (200, 0)).at(0.25)
    (50.0, 0.0)

    """

    start: Point
    end: Point

    def transformed(self, by: Affine) -> Line:
        """Return the segment mapped by an affine map."""
        return Line(by(self.start), by(self.end))

    def reversed(self) -> Line:
        """Return the segment run the other way."""
        return Line(self.end, self.start)

    def chords(self, chord: float) -> int:
        """Return how many chords it takes: one."""
        return 1

    def points(self, chord: float) -> list[Point]:
        """Return the points after `start` (there is one)."""
        return [self.end]

    def at(self, t: float) -> Point:
        """Return the point at parameter t in 0…1."""
        (x0, y0), (x1, y1) = self.start, self.end
        return (x0 + t * (x1 - x0), y0 + t * (y1 - y0))


@dataclass(frozen=True, slots=True)
class Arc:
    """An elliptical arc: centre + u·cos t + v·sin t, for t from `begin` over `sweep` (radians).

    u and v are conjugate half-diameters, so that any affine map of an arc is an
    arc with mapped u and v. A circle has perpendicular u and v of one length.

    Examples
    --------
    >>> import math
    >>> Arc((0, 0), (50, 0), (0, 50), 0, math.pi / 2).radius
    50.0

    """

    centre: Point
    u: Point
    v: Point
    begin: float
    sweep: float

    def _point(self, t: float) -> Point:
        c, s = math.cos(t), math.sin(t)
        return (
            self.centre[0] + self.u[0] * c + self.v[0] * s,
            self.centre[1] + self.u[1] * c + self.v[1] * s,
        )

    @property
    def start(self) -> Point:
        """The first point."""
        return self._point(self.begin)

    @property
    def end(self) -> Point:
        """The last point."""
        return self._point(self.begin + self.sweep)

    @property
    def radius(self) -> float | None:
        """The radius if the arc is circular, else None."""
        nu, nv = math.hypot(*self.u), math.hypot(*self.v)
        dot = self.u[0] * self.v[0] + self.u[1] * self.v[1]
        size = max(nu, nv)
        return nu if abs(nu - nv) <= 1e-9 * size and abs(dot) <= 1e-9 * size * size else None

    def transformed(self, by: Affine) -> Arc:
        """Return the arc mapped by an affine map."""
        return Arc(by(self.centre), by.vector(self.u), by.vector(self.v), self.begin, self.sweep)

    def reversed(self) -> Arc:
        """Return the arc run the other way."""
        return Arc(self.centre, self.u, self.v, self.begin + self.sweep, -self.sweep)

    def chords(self, chord: float) -> int:
        """Return how many chords are at most `chord` away from the arc."""
        radius = max(math.hypot(*self.u), math.hypot(*self.v))
        step = 2.0 * math.acos(max(-1.0, 1.0 - chord / radius)) if radius > chord else math.pi / 4
        return max(1, math.ceil(abs(self.sweep) / max(step, 1e-4)))

    def points(self, chord: float) -> list[Point]:
        """Return the points after `start` of chords at most `chord` away from the arc."""
        n = self.chords(chord)
        return [self._point(self.begin + self.sweep * i / n) for i in range(1, n + 1)]

    def at(self, t: float) -> Point:
        """Return the point at parameter t in 0…1."""
        return self._point(self.begin + t * self.sweep)


@dataclass(frozen=True, slots=True)
class Bezier:
    """A cubic Bézier curve.

    Examples
    --------
    >>> Bezier((0, 0), (0, 40), (60, 80), (100, 80)).at(0.5)
    (35.0, 55.0)

    """

    start: Point
    first: Point
    second: Point
    end: Point

    def transformed(self, by: Affine) -> Bezier:
        """Return the curve mapped by an affine map."""
        return Bezier(by(self.start), by(self.first), by(self.second), by(self.end))

    def reversed(self) -> Bezier:
        """Return the curve run the other way."""
        return Bezier(self.end, self.second, self.first, self.start)

    def chords(self, chord: float) -> int:
        """Return how many chords, uniform in the parameter, are at most `chord` away.

        From the bound n² ≥ max|B''|·/(8·chord) (Wang's formula; e.g. Goldman, Pyramid
        Algorithms, 2003, ch. 5).
        """
        p = (self.start, self.first, self.second, self.end)
        bend = max(
            math.hypot(
                p[i][0] - 2 * p[i + 1][0] + p[i + 2][0], p[i][1] - 2 * p[i + 1][1] + p[i + 2][1]
            )
            for i in (0, 1)
        )
        return max(1, math.ceil(math.sqrt(6.0 * bend / (8.0 * chord))))

    def points(self, chord: float) -> list[Point]:
        """Return the points after `start` of chords at most `chord` away from the curve."""
        n = self.chords(chord)
        return [self.at(i / n) for i in range(1, n)] + [self.end]

    def at(self, t: float) -> Point:
        """Return the point at parameter t in 0…1."""
        s = 1.0 - t
        w0, w1, w2, w3 = s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t
        return (
            w0 * self.start[0] + w1 * self.first[0] + w2 * self.second[0] + w3 * self.end[0],
            w0 * self.start[1] + w1 * self.first[1] + w2 * self.second[1] + w3 * self.end[1],
        )


Segment = Line | Arc | Bezier
