"""Paths of lines, arcs and Bézier curves; plain numbers in mm, y upwards."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from nesting.shown import Brief

__all__ = ["Affine", "Arc", "Bezier", "Line", "Path", "Point", "Segment"]

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


@dataclass(frozen=True, slots=True, repr=False)
class Path(Brief):
    """Segments that follow one another; closed if the last ends where the first starts.

    A closed path that bounds a piece runs counter-clockwise, one that bounds a
    hole clockwise.

    Examples
    --------
    >>> flap = Path.polyline([(0, 0), (200, 0), (170, 90), (30, 90)], closed=True)
    >>> flap.closed, flap.curved, flap.start
    (True, False, (0.0, 0.0))
    >>> flap.points(0.1)
    ((0.0, 0.0), (200.0, 0.0), (170.0, 90.0), (30.0, 90.0))

    """

    segments: tuple[Segment, ...]

    @property
    def start(self) -> Point:
        """The first point."""
        return self.segments[0].start

    @property
    def end(self) -> Point:
        """The last point."""
        return self.segments[-1].end

    @property
    def closed(self) -> bool:
        """Whether the path ends where it starts (to 1e-9 of its size)."""
        (x0, y0), (x1, y1) = self.start, self.end
        scale = max(1.0, abs(x0), abs(y0))
        return abs(x0 - x1) <= 1e-9 * scale and abs(y0 - y1) <= 1e-9 * scale

    @property
    def curved(self) -> bool:
        """Whether any segment is not straight."""
        return any(not isinstance(segment, Line) for segment in self.segments)

    def transformed(self, by: Affine) -> Path:
        """Return the path mapped by an affine map (a mirrored ring runs the other way round)."""
        return Path(tuple(segment.transformed(by) for segment in self.segments))

    def reversed(self) -> Path:
        """Return the path run the other way."""
        return Path(tuple(segment.reversed() for segment in reversed(self.segments)))

    def points(self, chord: float) -> tuple[Point, ...]:
        """Return the polyline at most `chord` (mm) from the path.

        A closed path gives a ring without the repeated last point, an open one
        both its ends.
        """
        return _points(self, chord)

    @staticmethod
    def polyline(points: Iterable[Point], *, closed: bool) -> Path:
        """Make a path of straight segments; a ring is given without the repeated point."""
        ring: Sequence[Point] = [(float(x), float(y)) for x, y in points]
        ends = [*ring[1:], ring[0]] if closed else ring[1:]
        return Path(tuple(Line(p, q) for p, q in zip(ring, ends, strict=False) if p != q))


@lru_cache(maxsize=4096)
def _points(path: Path, chord: float) -> tuple[Point, ...]:
    out = [path.start]
    for segment in path.segments:
        out.extend(segment.points(chord))
    if path.closed and len(out) > 1:
        out.pop()
    return tuple(out)
