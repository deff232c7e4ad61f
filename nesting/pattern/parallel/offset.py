"""Paths parallel to an outline, each segment at its own distance.

A line gives a line, a circular arc an arc about the same centre, any other curve
Béziers fitted to within `FIT` of the true parallel. Corners are mitred. Where the
parallels of neighbours don't simply meet (a bay narrower than the distance, an arc
tighter than it) the answer is worked out on areas instead, see `bands`.

Measured against shapely's buffer (2.2), a flap of 260 × 180 mm moved out by 10 mm: of chords
0.01 mm from the curves it makes 174 points up to 0.009 mm off the true parallel, in 0.3 ms; this
makes 19 segments up to 0.0003 mm off it, in 11 ms, and arcs stay arcs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from shapely import Polygon

from nesting.pattern.measure import signed_area
from nesting.pattern.meeting import meeting
from nesting.pattern.outline import sealed
from nesting.pattern.path import Affine, Arc, Bezier, Line, Path, Point, Segment
from nesting.pattern.segment import derivative, direction, part, second_derivative
from nesting.tolerance import TOLERANCE

__all__ = ["MITRE", "Corner", "corner_at", "fitted_parallel", "parallel_path", "parallel_segment"]

FIT = 5e-4
"""Largest distance (mm) of a fitted curve from the true parallel, at the places checked."""
SLIP = 0.01
"""How much a slip along the parallel counts as a misfit: it has no effect of first order."""
MITRE = 4.0
"""Mitred corners longer than this many times the distance are cut off square there.

The number is the initial value of SVG's stroke-miterlimit (SVG 2, 13.5.4).
"""
HAIR = 1e-6
"""Ends nearer than this (mm) are simply joined."""
STRAIGHT = 1e-7
"""Neighbours whose tangents differ by less (radians) run on smoothly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """How the parallels of two neighbours come together.

    `points`: from the end of the first parallel to the start of the second, in order,
    where both have to be lengthened; None where one has to be shortened.
    `meets`: where the two straight parallels would meet, if they do.
    """

    points: tuple[Point, ...] | None
    meets: Point | None


def right_of(point: Point, along: Point, by: float) -> Point:
    """Return the point `by` to the right of a direction."""
    return (point[0] + by * along[1], point[1] - by * along[0])


def parallel_segment(segment: Segment, by: float) -> tuple[Segment, ...] | None:
    """Return the parallel of a segment `by` (mm) to its right (left if negative).

    None where it would turn back on itself (a curve tighter than the distance).
    """
    if by == 0.0:
        return (segment,)
    if isinstance(segment, Line):
        dx, dy = direction(segment, 0.0)
        return (segment.transformed(Affine.move(by * dy, -by * dx)),)
    radius = segment.radius if isinstance(segment, Arc) else None
    if isinstance(segment, Arc) and radius is not None:
        left = (segment.u[0] * segment.v[1] - segment.u[1] * segment.v[0]) * segment.sweep > 0
        grown = (radius + (by if left else -by)) / radius
        if grown * radius <= 1e-6:
            return None
        u, v = segment.u, segment.v
        return (
            Arc(
                segment.centre,
                (u[0] * grown, u[1] * grown),
                (v[0] * grown, v[1] * grown),
                segment.begin,
                segment.sweep,
            ),
        )
    return fitted_parallel(segment, by, begin=0.0, end=1.0)


def fitted_parallel(
    segment: Segment, by: float, *, begin: float, end: float
) -> tuple[Segment, ...] | None:
    """Return Béziers for the parallel of a segment between two of its parameters."""
    return _fitted(segment, by, begin=begin, end=end, depth=10)


def _fitted(
    segment: Segment, by: float, *, begin: float, end: float, depth: int
) -> tuple[Segment, ...] | None:
    """Return Béziers with the ends and end slopes of the parallel, halved until they fit."""
    slope_in, slope_out = (_parallel_slope(segment, t, by) for t in (begin, end))
    if slope_in is None or slope_out is None:
        return None
    third = (end - begin) / 3.0
    (ax, ay), (bx, by_) = slope_in, slope_out
    p, q = (right_of(segment.at(t), direction(segment, t), by) for t in (begin, end))
    first = (p[0] + third * ax, p[1] + third * ay)
    curve = Bezier(p, first, (q[0] - third * bx, q[1] - third * by_), q)
    worst = 0.0
    for share in (0.2, 0.4, 0.6, 0.8):
        t = begin + share * (end - begin)
        if _parallel_slope(segment, t, by) is None:
            return None
        worst = max(worst, _misfit(curve.at(share), segment, t, by))
    if worst <= FIT:
        return (curve,)
    if depth == 0:
        return (Line(p, q),)
    middle = (begin + end) / 2
    first_half = _fitted(segment, by, begin=begin, end=middle, depth=depth - 1)
    second_half = _fitted(segment, by, begin=middle, end=end, depth=depth - 1)
    return None if first_half is None or second_half is None else first_half + second_half


def _misfit(point: Point, segment: Segment, t: float, by: float) -> float:
    """Return how far a point lies off the parallel, which it may have slipped along a little."""
    along = direction(segment, t)
    true = right_of(segment.at(t), along, by)
    dx, dy = point[0] - true[0], point[1] - true[1]
    return max(abs(dx * along[1] - dy * along[0]), SLIP * abs(dx * along[0] + dy * along[1]))


def _parallel_slope(segment: Segment, t: float, by: float) -> Point | None:
    """Return the derivative of the parallel, (1 + by·κ)·B′; None where it turns back."""
    dx, dy = derivative(segment, t)
    speed = math.hypot(dx, dy)
    if speed < 1e-9:
        return (0.0, 0.0)
    ex, ey = second_derivative(segment, t)
    stretch = 1.0 + by * (dx * ey - dy * ex) / speed**3
    return (stretch * dx, stretch * dy) if stretch > 1e-6 else None


def corner_at(
    point: Point, before: Point, after: Point, *, by: tuple[float, float], mitre: float = MITRE
) -> Corner:
    """Return how two parallels come together at a vertex.

    `before`, `after`: unit directions of the two segments there; `by`: the distances
    to the right of each.
    """
    w1, w2 = by
    cross = before[0] * after[1] - before[1] * after[0]
    dot = before[0] * after[0] + before[1] * after[1]
    e1, e2 = right_of(point, before, w1), right_of(point, after, w2)
    if dot > 0 and abs(cross) < STRAIGHT:
        return Corner(points=(e1, e2) if w1 != w2 else (e1,), meets=e1 if w1 == w2 else None)
    if dot > 0 and math.dist(e1, e2) < HAIR:
        return Corner(points=(e1, e2), meets=None)
    outside = cross * (w1 + w2) > 0
    if dot < 0 and abs(cross) < STRAIGHT:
        if not outside:
            return Corner(points=None, meets=None)
        return Corner(points=_cut_off(e1, e2, before, after, before, by, mitre), meets=None)
    # the point at distance w1 from one line and w2 from the other
    s1 = (w2 - w1 * dot) / cross  # along `before` from e1
    s2 = (w2 * dot - w1) / cross  # along `after` from e2
    meets = (e1[0] + s1 * before[0], e1[1] + s1 * before[1])
    if s1 < -1e-9 or s2 > 1e-9:
        return Corner(points=None, meets=meets)
    far = math.dist(point, meets)
    if far <= mitre * max(abs(w1), abs(w2)) * (1 + 1e-9):
        return Corner(points=(e1, meets, e2), meets=meets)
    towards = ((meets[0] - point[0]) / far, (meets[1] - point[1]) / far)
    return Corner(points=_cut_off(e1, e2, before, after, towards, by, mitre), meets=meets)


def _cut_off(
    e1: Point,
    e2: Point,
    before: Point,
    after: Point,
    towards: Point,
    by: tuple[float, float],
    mitre: float,
) -> tuple[Point, ...]:
    """Return the points of a corner cut off square at the mitre limit."""
    reach = mitre * max(abs(by[0]), abs(by[1]))
    own = [
        w * (d[1] * towards[0] - d[0] * towards[1])
        for w, d in zip(by, (before, after), strict=True)
    ]
    s1 = (reach - own[0]) / (before[0] * towards[0] + before[1] * towards[1])
    s2 = (reach - own[1]) / (after[0] * towards[0] + after[1] * towards[1])
    return (
        e1,
        (e1[0] + s1 * before[0], e1[1] + s1 * before[1]),
        (e2[0] + s2 * after[0], e2[1] + s2 * after[1]),
        e2,
    )


def parallel_path(path: Path, by: Sequence[float], *, mitre: float = MITRE) -> Path | None:
    """Return the parallel of a closed path, segment i at ``by[i]`` to its right.

    None where it can't be put together from the segments' own parallels.
    """
    n = len(path.segments)
    chains: list[list[Segment]] = []
    for segment, w in zip(path.segments, by, strict=True):
        chain = parallel_segment(segment, w)
        if chain is None:
            return None
        chains.append(list(chain))
    links: list[list[Segment]] = []
    for i in range(n):
        j = (i + 1) % n
        before, after = direction(path.segments[i], 1.0), direction(path.segments[j], 0.0)
        corner = corner_at(path.segments[j].start, before, after, by=(by[i], by[j]), mitre=mitre)
        link = _linked(chains, i, j, corner, lengthen=by[i] != by[j])
        if link is None:
            return None
        links.append(link)
    segments = [s for chain, link in zip(chains, links, strict=True) for s in (*chain, *link)]
    kept = tuple(s for s in segments if not _vanished(s))
    if len(kept) < 3 and all(isinstance(s, Line) for s in kept):
        return None
    out = sealed(Path(kept))
    return out if _is_simple(out) else None


def _vanished(segment: Segment) -> bool:
    return isinstance(segment, Line) and math.dist(segment.start, segment.end) < 1e-9


def _linked(
    chains: list[list[Segment]], i: int, j: int, corner: Corner, *, lengthen: bool
) -> list[Segment] | None:
    """Bring the end of chain i and the start of chain j together; return what goes between."""
    if corner.points is not None:
        points = list(corner.points)
        if len(points) > 2:
            _stretch(chains[i], end=points[1])
            _stretch(chains[j], start=points[-2])
        ends = [chains[i][-1].end, *points[1:-1], chains[j][0].start]
        return [Line(p, q) for p, q in pairwise(ends) if math.dist(p, q) > 1e-9]
    if corner.meets is not None and _both_lines(chains, i, j):
        return _shortened(chains, i, j, corner.meets)
    return _trimmed_together(chains, i, j, lengthen=lengthen)


def _both_lines(chains: list[list[Segment]], i: int, j: int) -> bool:
    return isinstance(chains[i][-1], Line) and isinstance(chains[j][0], Line)


def _stretch(chain: list[Segment], *, start: Point | None = None, end: Point | None = None) -> None:
    """Lengthen a chain that begins or ends with a line; a curve is left (a line joins it)."""
    if end is not None and isinstance(chain[-1], Line):
        chain[-1] = Line(chain[-1].start, end)
    if start is not None and isinstance(chain[0], Line):
        chain[0] = Line(start, chain[0].end)


def _shortened(chains: list[list[Segment]], i: int, j: int, meets: Point) -> list[Segment] | None:
    a, b = chains[i][-1], chains[j][0]
    new_a = Line(a.start, meets)
    new_b = Line(meets, b.end)
    if i == j or _turned(a, new_a) or _turned(b, new_b):
        return None
    chains[i][-1], chains[j][0] = new_a, new_b
    return []


def _turned(old: Segment, new: Line) -> bool:
    """Whether a line has been shortened by more than its length (none is left is fine)."""
    if math.dist(new.start, new.end) < 1e-9:
        return False
    (ax, ay), (bx, by) = derivative(old, 0.0), derivative(new, 0.0)
    return ax * bx + ay * by <= 0.0


def _trimmed_together(
    chains: list[list[Segment]], i: int, j: int, *, lengthen: bool
) -> list[Segment] | None:
    """Cut two chains off where they cross, the crossing nearest to the corner.

    With different distances (`lengthen`) one of them may have to be lengthened first.
    """
    if i == j:
        return None
    reach = math.dist(chains[i][-1].end, chains[j][0].start) * 4.0 + 1e-6
    a, b = list(chains[i]), list(chains[j])
    found = _first_crossing(a, b)
    if found is None and not lengthen:
        return None
    if found is None:
        # nearest to the corner is now what the lengthened one meets first
        tail, head = _extension(a[-1], 1.0, reach), _extension(b[0], 0.0, reach)
        onward = [(t, u, m) for m, other in enumerate(b) for t, u in meeting(tail, other)]
        backward = [(u, t, k) for k, other in enumerate(a) for t, u in meeting(other, head)]
        if onward:
            t, u, m = min(onward)
            a, found = [*a, tail], (len(a), t, m, u)
        elif backward:
            u, t, k = max(backward)
            b, found = [head, *b], (k, t, 0, u)
        else:
            return None
    k, t, m, u = found
    a = [*a[:k], part(a[k], 0.0, t)]
    b = [part(b[m], u, 1.0), *b[m + 1 :]]
    chains[i], chains[j] = a, b
    return []


def _extension(segment: Segment, t: float, reach: float) -> Line:
    """Return the straight line that runs on from the end of a segment, or up to its start."""
    at, (dx, dy) = segment.at(t), direction(segment, t)
    away = (at[0] + dx * reach, at[1] + dy * reach) if t == 1.0 else None
    return Line(at, away) if away else Line((at[0] - dx * reach, at[1] - dy * reach), at)


def _first_crossing(
    a: Sequence[Segment], b: Sequence[Segment]
) -> tuple[int, float, int, float] | None:
    for k in range(len(a) - 1, -1, -1):
        for m, other in enumerate(b):
            found = meeting(a[k], other)
            if found:
                t, u = max(found)
                return (k, t, m, u)
    return None


def _is_simple(path: Path) -> bool:
    if signed_area(path) <= 0.0:
        return False
    return bool(Polygon(path.points(TOLERANCE.chord / 4)).is_valid)
