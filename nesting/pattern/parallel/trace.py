"""A polygon's outline with its arcs and curves put back.

`bands` works on chords; here runs of chords that lie along the parallel of a curved
segment become that parallel again, and straight runs single lines.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import LineString, Polygon, STRtree
from shapely.geometry.polygon import orient

from nesting.pattern.crossings import crossings
from nesting.pattern.measure import signed_area
from nesting.pattern.meeting import meeting
from nesting.pattern.nearest import nearest
from nesting.pattern.outline import sealed, started_at
from nesting.pattern.parallel.segment import fitted_parallel, parallel_segment
from nesting.pattern.path import Arc, Line, Path, Point, Segment
from nesting.pattern.segment import part, with_ends
from nesting.tolerance import TOLERANCE

__all__ = ["Rail", "traced"]

FLAT = 1e-7
"""A vertex nearer than this (mm) to the chord past it is dropped."""
ALONG = 1e-6
"""An edge of the polygon this near (mm) to a chord lies along it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rail:
    """The parallel of a curved segment, `by` to its right, as points at known parameters."""

    segment: Segment
    by: float
    params: tuple[float, ...]
    points: tuple[Point, ...]


@dataclass(slots=True)
class _Run:
    """A stretch of the outline: a line, or a rail from one parameter to another."""

    start: Point
    end: Point
    rail: Rail | None = None
    begin: float = 0.0
    stop: float = 1.0

    @property
    def arc(self) -> Arc | None:
        """The whole arc that the run lies on, if it is circular."""
        if self.rail is None or not isinstance(self.rail.segment, Arc):
            return None
        whole = parallel_segment(self.rail.segment, self.rail.by)
        return whole[0] if whole and len(whole) == 1 and isinstance(whole[0], Arc) else None


def _plain(polygon: Polygon, *, near: Point) -> Path:
    """Return a polygon's outline as counter-clockwise lines, begun at the vertex nearest `near`."""
    return _begun(Path.polyline(_without_flats(_vertices(polygon)), closed=True), near)


def traced(polygon: Polygon, *, rails: Sequence[Rail], near: Point) -> Path:
    """Return a polygon's outline with arcs and curves where it runs along `rails`.

    Falls back to the polygon's own chords where that would not give the same area.
    """
    plain = _plain(polygon, near=near)
    runs = _runs(_vertices(polygon), rails)
    if not any(run.rail for run in runs):
        return plain
    for k, run in enumerate(runs):
        _join(runs[k - 1], run)
    segments = [segment for run in runs for segment in _drawn(run)]
    path = Path(tuple(s for s in segments if math.dist(s.start, s.end) > 1e-9))
    same = abs(signed_area(path) - polygon.area) <= 2 * TOLERANCE.chord * polygon.length
    whole = all(
        math.dist(s.end, path.segments[(k + 1) % len(path.segments)].start) < ALONG
        for k, s in enumerate(path.segments)
    )
    sound = same and whole and Polygon(path.points(TOLERANCE.chord / 4)).is_valid
    return _begun(sealed(path), near) if sound else plain


def _vertices(polygon: Polygon) -> list[Point]:
    return [(x, y) for x, y in orient(polygon).exterior.coords[:-1]]


def _begun(path: Path, near: Point) -> Path:
    ends = [math.dist(segment.start, near) for segment in path.segments]
    return started_at(path, ends.index(min(ends)))


def _without_flats(ring: Sequence[Point]) -> list[Point]:
    ring = _distinct(ring)
    kept: list[Point] = []
    for k, point in enumerate(ring):
        before = kept[-1] if kept else ring[-1]
        if not _is_flat(before, point, ring[(k + 1) % len(ring)]):
            kept.append(point)
    return kept


def _distinct(ring: Sequence[Point]) -> list[Point]:
    """Return the vertices without those that repeat the one before: each alone would look flat."""
    found = [p for k, p in enumerate(ring) if math.dist(p, ring[k - 1]) > FLAT]
    return found if len(found) > 2 else list(ring)


def _is_flat(a: Point, b: Point, c: Point) -> bool:
    """Whether b lies within a hair of the chord from a to c, between them."""
    dx, dy = c[0] - a[0], c[1] - a[1]
    size = math.hypot(dx, dy)
    if size == 0.0:
        return True
    off = abs((b[0] - a[0]) * dy - (b[1] - a[1]) * dx) / size
    along = ((b[0] - a[0]) * dx + (b[1] - a[1]) * dy) / size
    return off <= FLAT and -FLAT <= along <= size + FLAT


def _runs(ring: Sequence[Point], rails: Sequence[Rail]) -> list[_Run]:
    """Return the outline as lines and stretches of rails, beginning between two runs."""
    carriers = _carriers(ring, rails)
    n = len(ring)
    borders = [k for k in range(n) if not _goes_on(carriers[k - 1], carriers[k])]
    if not borders:
        return []
    runs: list[_Run] = []
    for first, after in zip(borders, [*borders[1:], borders[0] + n], strict=True):
        start, end, carrier = ring[first], ring[after % n], carriers[first]
        last = carriers[(after - 1) % n]
        if carrier is None or last is None or after - first < 2:
            runs += [_Run(start, end)]
            continue
        rail = rails[carrier[0]]
        begin, stop = _param(rail, carrier[1], start), _param(rail, last[1], end)
        runs.append(_Run(start, end, rail, begin, stop))
    return _merged(runs)


def _merged(runs: Sequence[_Run]) -> list[_Run]:
    """Return the runs with straight ones that go straight on made one."""
    kept: list[_Run] = []
    for run in runs:
        last = kept[-1] if kept else None
        if last and not last.rail and not run.rail and _is_flat(last.start, run.start, run.end):
            last.end = run.end
        else:
            kept.append(run)
    first, last = kept[0], kept[-1]
    straight = len(kept) > 2 and not (first.rail or last.rail)
    if straight and _is_flat(last.start, first.start, first.end):
        first.start = last.start
        kept.pop()
    return kept


def _carriers(ring: Sequence[Point], rails: Sequence[Rail]) -> list[tuple[int, int] | None]:
    """Return for each edge of the ring the rail and the chord of it that it lies along."""
    names = [(r, k) for r, rail in enumerate(rails) for k in range(len(rail.points) - 1)]
    chords = [LineString(rails[r].points[k : k + 2]) for r, k in names]
    found: list[tuple[int, int] | None] = [None] * len(ring)
    if not chords:
        return found
    edges = [LineString([p, ring[(k + 1) % len(ring)]]) for k, p in enumerate(ring)]
    middles = [edge.interpolate(0.5, normalized=True) for edge in edges]
    near = STRtree(chords).query_nearest(middles, max_distance=ALONG, all_matches=False)
    for k, c in near.T.tolist():
        r, at = names[c]
        forward = _dot(edges[k], chords[c]) > 0.0
        if (
            forward
            and shapely.hausdorff_distance(edges[k], edges[k].intersection(chords[c].buffer(ALONG)))
            < 1e-3
        ):
            found[k] = (r, at)
    return found


def _dot(a: LineString, b: LineString) -> float:
    (ax, ay), (bx, by) = a.coords
    (cx, cy), (dx, dy) = b.coords
    return float((bx - ax) * (dx - cx) + (by - ay) * (dy - cy))


def _goes_on(before: tuple[int, int] | None, after: tuple[int, int] | None) -> bool:
    if before is None or after is None:
        return False
    return before[0] == after[0] and after[1] - before[1] in (0, 1)


def _param(rail: Rail, k: int, point: Point) -> float:
    """Return the parameter of a point on a rail's chord k."""
    chord = math.dist(rail.points[k], rail.points[k + 1])
    share = math.dist(rail.points[k], point) / chord if chord else 0.0
    share = 0.0 if share < ALONG else 1.0 if share > 1.0 - ALONG else share
    return rail.params[k] + share * (rail.params[k + 1] - rail.params[k])


def _join(before: _Run, after: _Run) -> None:
    """Let two neighbours meet in one exact point: arcs are cut or lengthened to it."""
    a, b = before.arc, after.arc
    if a is not None and b is not None:
        pairs = meeting(a, b)
        ends = [(math.dist(a.at(t), before.end), t, u) for t, u in pairs]
        if ends and min(ends)[0] < 0.05:
            _, before.stop, after.begin = min(ends)
        before.end = after.start = a.at(before.stop)
    elif a is not None:
        before.stop = _on_arc(a, before.stop, before.end, after)
        before.end = after.start = a.at(before.stop)
    elif b is not None:
        after.begin = _on_arc(b, after.begin, after.start, before)
        before.end = after.start = b.at(after.begin)


def _on_arc(arc: Arc, t: float, at: Point, other: _Run) -> float:
    """Return the parameter at which an arc meets its neighbour, near t."""
    if t in (0.0, 1.0):
        return t
    if other.rail is None:
        found = [
            u for u in crossings(arc, other.start, other.end) if math.dist(arc.at(u), at) < 0.05
        ]
        if found:
            return min(found, key=lambda u: abs(u - t))
    return nearest(Path((arc,)), at).t


def _drawn(run: _Run) -> tuple[Segment, ...]:
    if run.rail is None:
        return (Line(run.start, run.end),)
    arc = run.arc
    if arc is not None:
        return (part(arc, run.begin, run.stop),)
    bent = fitted_parallel(run.rail.segment, run.rail.by, begin=run.begin, end=run.stop)
    if bent is None:
        return (Line(run.start, run.end),)
    first = with_ends(bent[0], run.start, bent[0].end)
    bent = (*first, *bent[1:])
    return (*bent[:-1], *with_ends(bent[-1], bent[-1].start, run.end))
