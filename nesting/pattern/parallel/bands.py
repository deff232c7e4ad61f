"""Parallels worked out on areas: the strip along each segment, added or taken away.

The slow and sure way for outlines whose parallels get in each other's way. It works on
chords within `TOLERANCE.chord`; `trace` puts the curves back.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import shapely
from shapely import MultiPoint, MultiPolygon, Polygon

from nesting.pattern.parallel.corner import HAIR, MITRE, corner_at
from nesting.pattern.parallel.segment import right_of
from nesting.pattern.parallel.trace import Rail
from nesting.pattern.path import Line, Path, Point, Segment
from nesting.pattern.segment import direction
from nesting.tolerance import TOLERANCE

__all__ = ["grown", "rails", "shrunk", "unexplained"]


def grown(path: Path, by: Sequence[float], *, mitre: float = MITRE) -> Polygon:
    """Return the inside of a counter-clockwise path plus strips ``by[i]`` wide outside it.

    Bays that close over are filled.
    """
    inside, strips = _areas(path, by, mitre=mitre)
    merged = shapely.union_all([inside, *(strip for strip, _ in strips)])
    return Polygon(_polygons(merged)[0].exterior)


def shrunk(path: Path, by: Sequence[float], *, mitre: float = MITRE) -> list[Polygon]:
    """Return what is left inside a path without strips ``by[i]`` wide, largest first."""
    inside, strips = _areas(path, [-w for w in by], mitre=mitre)
    left = _polygons(shapely.difference(inside, shapely.union_all([strip for strip, _ in strips])))
    return [Polygon(p.exterior) for p in left if p.area > 1e-6]


def unexplained(
    path: Path, by: Sequence[float], left: Sequence[Polygon], *, mitre: float = MITRE
) -> list[Polygon]:
    """Return what `shrunk` took away that is no plain strip along what is left, largest first.

    A strip is plain where it lies within its own width of what is left.
    """
    inside, strips = _areas(path, [-w for w in by], mitre=mitre)
    rest = shapely.difference(inside, shapely.union_all(left))
    for w in sorted(set(by) - {0.0}):
        own = [strip for strip, width in strips if width == w]
        beside = [p.buffer(w * 1.001, join_style="mitre", mitre_limit=mitre) for p in left]
        plain = shapely.intersection(shapely.union_all(own), shapely.union_all(beside))
        rest = shapely.difference(rest, plain)
    return _polygons(rest)


def _polygons(geometry: shapely.Geometry) -> list[Polygon]:
    if isinstance(geometry, Polygon):
        return [] if geometry.is_empty else [geometry]
    if not isinstance(geometry, MultiPolygon | shapely.GeometryCollection):
        return []
    return sorted(
        (p for p in geometry.geoms if isinstance(p, Polygon)), key=lambda p: p.area, reverse=True
    )


def _areas(
    path: Path, by: Sequence[float], *, mitre: float
) -> tuple[Polygon, list[tuple[shapely.Geometry, float]]]:
    """Return the path's inside, and strips `by` to the right of each segment with its corners.

    Each strip comes with its width.
    """
    near, far = _rails(path, by)
    strips: list[tuple[shapely.Geometry, float]] = []
    for i, w in enumerate(by):
        if w != 0.0:
            pairs = zip(pairwise(near[i]), pairwise(far[i]), strict=True)
            if isinstance(path.segments[i], Line):
                own = _straight(path, by, i, (*near[i], *far[i][::-1]))
            else:
                own = [MultiPoint([*a, *b]).convex_hull for a, b in pairs]
            strips += [(strip, abs(w)) for strip in own]
        j = (i + 1) % len(by)
        wedge = _wedge(path.segments[i], path.segments[j], w, by[j], mitre=mitre)
        if wedge is None:
            wedge = _run_on(path, by, i, j)
        if wedge is not None:
            strips.append((wedge, max(abs(w), abs(by[j]))))
    ring = [point for rail in near for point in rail[:-1]]
    inside = Polygon(ring)
    if not inside.is_valid:  # a hair's breadth between chords
        inside = _polygons(inside.buffer(0))[0]
    return inside, strips


def rails(path: Path, by: Sequence[float]) -> list[Rail]:
    """Return the parallels of the curved segments, as the strips' outer edges have them."""
    found = []
    _, far = _rails(path, by)
    for segment, w, points in zip(path.segments, by, far, strict=True):
        if not isinstance(segment, Line):
            params = tuple(_parameters(segment, abs(w)))
            found.append(Rail(segment=segment, by=w, params=params, points=tuple(points)))
    return found


def _rails(path: Path, by: Sequence[float]) -> tuple[list[list[Point]], list[list[Point]]]:
    """Return for each segment points along it, and the same points on its parallel.

    Neighbours share their common points to the last bit, so that strips leave no crack.
    """
    near: list[list[Point]] = []
    far: list[list[Point]] = []
    for i, (segment, w) in enumerate(zip(path.segments, by, strict=True)):
        params = _parameters(segment, abs(w))
        after = path.segments[(i + 1) % len(by)].start
        near.append([segment.start, *(segment.at(t) for t in params[1:-1]), after])
        places = zip(near[-1], params, strict=True)
        far.append([right_of(p, direction(segment, t), w) for p, t in places])
    for i, rail in enumerate(far):
        if math.dist(rail[0], far[i - 1][-1]) < HAIR:
            rail[0] = far[i - 1][-1]
    return near, far


def _wedge(
    before: Segment, after: Segment, w1: float, w2: float, *, mitre: float
) -> shapely.Geometry | None:
    corner = corner_at(
        after.start, direction(before, 1.0), direction(after, 0.0), by=(w1, w2), mitre=mitre
    )
    if corner.points is None or len(corner.points) < 3:
        return None
    return MultiPoint([after.start, *corner.points]).convex_hull


def _run_on(path: Path, by: Sequence[float], i: int, j: int) -> Polygon | None:
    """Return what a wide strip needs to run on to a narrow one's outer edge, at an obtuse corner.

    Where strips lie over each other the wide one would end there in a step. None where there
    is nothing to add, or the narrow one is too short to be reached: then the step stays.
    """
    if not isinstance(path.segments[i], Line) or not isinstance(path.segments[j], Line):
        return None
    at = path.segments[j].start
    one, two = direction(path.segments[i], 1.0), direction(path.segments[j], 0.0)
    corner = corner_at(at, one, two, by=(by[i], by[j]))
    if corner.points is not None or corner.meets is None or by[i] * by[j] < 0.0:
        return None
    if (one[0] * two[1] - one[1] * two[0]) * (by[i] + by[j]) >= 0.0:
        return None  # the strips open at the corner
    wide_first = abs(by[i]) > abs(by[j])
    own, w, narrow = (one, by[i], by[j]) if wide_first else (two, by[j], by[i])
    if abs(narrow) >= abs(w) * (one[0] * two[0] + one[1] * two[1]):
        return None
    k, way = (j, two) if wide_first else (i, one)
    (mx, my), (ex, ey) = corner.meets, _parallel_end(path, by, k, last=wide_first)
    left = (ex - mx) * way[0] + (ey - my) * way[1]
    if (left if wide_first else -left) <= 0.0:
        return None
    return Polygon([at, right_of(at, own, w), corner.meets])


def _parallel_end(path: Path, by: Sequence[float], i: int, *, last: bool) -> Point:
    """Return where a line's parallel ends, or begins, at the corner with its neighbour there."""
    a, b = (i, (i + 1) % len(by)) if last else (i - 1, i)
    at = path.segments[b].start
    one, two = direction(path.segments[a], 1.0), direction(path.segments[b], 0.0)
    corner = corner_at(at, one, two, by=(by[a], by[b]))
    if corner.points is not None and len(corner.points) > 2:
        return corner.points[1] if last else corner.points[-2]
    if corner.points is None and corner.meets is not None:
        return corner.meets
    return right_of(at, one if last else two, by[i])


def _straight(
    path: Path, by: Sequence[float], i: int, quad: Sequence[Point]
) -> list[shapely.Geometry]:
    """Return a straight strip as far as where its outer edge meets a narrower neighbour's.

    At an obtuse corner a wide strip's end would stand out beyond the narrow one. `quad`: the
    ends of the segment, then those of its parallel, last first.
    """
    start, end, far_end, far_start = quad
    first = _overshoot(path, by, i, i - 1)
    last = _overshoot(path, by, i, (i + 1) % len(by))
    outer = [*(last[:2] if last else [far_end]), *(first[1::-1] if first else [far_start])]
    whole = Polygon([start, end, *outer])
    if not (first or last) or not whole.is_valid:
        return [MultiPoint(quad).convex_hull]
    corners = [(end, last), (start, first)]
    fans = [Polygon([at, past[0], past[2]]) for at, past in corners if past]
    return [whole, *(fan for fan in fans if fan.area > 0.0)]


def _overshoot(
    path: Path, by: Sequence[float], i: int, j: int
) -> tuple[Point, Point, Point] | None:
    """Return where the parallel of a narrower neighbour cuts a strip: at its end, at its edge.

    Third is that parallel's own end at the corner. None where there is nothing to cut.
    """
    segment, other = path.segments[i], path.segments[j]
    if not isinstance(segment, Line) or not isinstance(other, Line) or by[i] * by[j] < 0.0:
        return None
    after = j == (i + 1) % len(by)
    at = other.start if after else segment.start
    own, its = direction(segment, 1.0), direction(other, 0.0)
    one, two, widths = (own, its, (by[i], by[j])) if after else (its, own, (by[j], by[i]))
    turn, along = one[0] * two[1] - one[1] * two[0], one[0] * two[0] + one[1] * two[1]
    if along <= 0.0 or turn * by[i] <= 0.0 or abs(by[j]) >= abs(by[i]) * along:
        return None
    meets = corner_at(at, one, two, by=widths).meets
    tip, share = right_of(at, own, by[i]), by[j] / (by[i] * along)
    low = (at[0] + share * (tip[0] - at[0]), at[1] + share * (tip[1] - at[1]))
    return None if meets is None else (low, meets, right_of(at, its, by[j]))


def _parameters(segment: Segment, width: float) -> list[float]:
    """Return parameters at which both a segment and its parallel are within the chord."""
    if isinstance(segment, Line):
        return [0.0, 1.0]
    n = len(segment.points(TOLERANCE.chord / 2))
    length = sum(
        math.dist(p, q)
        for p, q in zip((segment.start, *segment.points(0.1)), segment.points(0.1), strict=False)
    )
    n = math.ceil(n * math.sqrt(1.0 + width / max(length, 1e-3)))
    return [k / n for k in range(n + 1)]
