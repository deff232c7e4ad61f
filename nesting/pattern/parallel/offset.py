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
from itertools import pairwise

from shapely import Polygon

from nesting.pattern.measure import signed_area
from nesting.pattern.meeting import meeting
from nesting.pattern.outline import sealed
from nesting.pattern.parallel.corner import MITRE, Corner, corner_at
from nesting.pattern.parallel.segment import parallel_segment
from nesting.pattern.path import Line, Path, Point, Segment
from nesting.pattern.segment import derivative, direction, part
from nesting.tolerance import TOLERANCE

__all__ = ["parallel_path"]


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
