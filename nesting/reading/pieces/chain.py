"""Loose lines and arcs joined to outlines."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice

from nesting.pattern.path import Line, Path, Point, Segment
from nesting.reading.pieces.network import network
from nesting.tolerance import TOLERANCE

__all__ = ["Chains", "Gap", "chain"]

_CROWD = 64
"""At most so many ends about one are looked at: more than a few never meet in a pattern."""
_NOISE = 1e-6
"""Ends nearer than this (mm) are one point; rounding of the file's decimals."""


@dataclass(slots=True, kw_only=True)
class Chains:
    """What became of loose paths.

    `doubled`: how many paths were there twice. `shared`: those that lie between two of the
    rings. `tangled`: a point of lines that branch and cross one another.
    """

    rings: list[Path] = field(default_factory=list)
    open: list[Path] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    doubled: int = 0
    shared: list[Path] = field(default_factory=list)
    tangled: Point | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A gap that was closed: its width (mm), its place, and whether at a corner."""

    width: float
    at: Point
    corner: bool


def chain(paths: Iterable[Path], *, close: float, branching: bool = False) -> Chains:
    """Join open paths (mm) end to end; a path drawn twice, in either direction, counts once.

    Ends nearer than `TOLERANCE.close` are moved together. Wider gaps, up to `close`, are
    told: straight sides are led on, or cut off, to where they meet, other gaps bridged by a
    straight line. Where more than two ends meet, the straightest way is taken; if the paths
    are `branching`, each area that they close is a ring, with an edge that two of them share.
    """
    result = Chains()
    pieces: list[Path] = []
    seen: set[frozenset[object]] = set()
    every = list(paths)
    for path in every:
        if len(every) > 1:
            key = frozenset(_key(segment) for segment in path.segments)
            if key in seen:
                result.doubled += 1
                continue
            seen.add(key)
        if path.closed:
            result.rings.append(path)
        else:
            pieces.append(path)
    for reach in (TOLERANCE.close, close):
        if branching:
            pieces = _areas(pieces, reach, result)
        pieces = list(_joined(pieces, reach, result))
    result.open = pieces
    return result


def _areas(paths: list[Path], reach: float, result: Chains) -> list[Path]:
    """Take the areas out that are closed by paths which branch; return the other paths."""
    found = network(paths, reach=reach)
    if found is None:
        return paths
    result.shared += [paths[i] for i in found.shared]
    apart = [
        path for ring in found.rings for path in _joined([paths[i] for i in ring], reach, result)
    ]
    if found.tangled or apart:
        result.tangled = (apart or result.shared)[0].start
    used = {i for ring in found.rings for i in ring}
    return [path for i, path in enumerate(paths) if i not in used]


def _key(segment: Segment) -> object:
    ends = frozenset((_rounded(segment.start), _rounded(segment.end)))
    return (ends, _rounded(segment.at(0.5)))


def _rounded(point: Point) -> tuple[float, float]:
    return (round(point[0], 3) + 0.0, round(point[1], 3) + 0.0)


def _joined(paths: Sequence[Path], reach: float, result: Chains) -> Iterator[Path]:
    """Yield what stays open after joining ends within `reach`; rings go to the result."""
    partner = _partners(paths, reach)
    used: set[int] = set()
    starts = [i for i in range(len(paths)) for end in (0, 1) if (i, end) not in partner]
    for first in [*starts, *range(len(paths))]:
        if first in used:
            continue
        end = 0 if (first, 0) not in partner or (first, 1) in partner else 1
        run: list[Segment] = []
        at, entry = first, end
        while True:
            used.add(at)
            path = paths[at] if entry == 0 else paths[at].reversed()
            _append(run, path.segments, result)
            follower = partner.get((at, 1 - entry))
            if follower is None:
                yield Path(tuple(run))
                break
            at, entry = follower
            if at == first:
                result.rings.append(_closed(run, result))
                break


def _partners(paths: Sequence[Path], reach: float) -> dict[tuple[int, int], tuple[int, int]]:
    """Match ends with ends, the nearest and straightest first; each end once."""
    cells: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
    place: dict[tuple[int, int], Point] = {}
    for i, path in enumerate(paths):
        for end, point in enumerate((path.start, path.end)):
            place[i, end] = point
            cells[math.floor(point[0] / reach), math.floor(point[1] / reach)].append((i, end))
    pairs = []
    for one, (x, y) in place.items():
        cx, cy = math.floor(x / reach), math.floor(y / reach)
        around = (cells.get((cx + i, cy + j), ()) for i in (-1, 0, 1) for j in (-1, 0, 1))
        crowd = (other for cell in around for other in cell)
        for other in islice(crowd, _CROWD):
            if other <= one or (other[0] == one[0] and not _worth_closing(paths[one[0]], reach)):
                continue
            distance = math.dist(place[one], place[other])
            if distance <= reach:
                bend = _bend(paths[one[0]], one[1], paths[other[0]], other[1])
                pairs.append((max(distance, _NOISE), bend, one, other))
    partner: dict[tuple[int, int], tuple[int, int]] = {}
    for _, _, one, other in sorted(pairs):
        if one not in partner and other not in partner:
            partner[one], partner[other] = other, one
    return partner


def _worth_closing(path: Path, reach: float) -> bool:
    """Tell whether a path goes somewhere before it comes back to its start."""
    return len(path.segments) > 1 or math.dist(path.segments[0].at(0.5), path.start) > 2 * reach


def _bend(one: Path, end: int, other: Path, other_end: int) -> float:
    """Return how far (rad) the way turns from one path's end into the other's."""
    ax, ay = _outwards(one, end)
    bx, by = _outwards(other, other_end)
    return abs(math.atan2(ax * -by + ay * bx, -ax * bx - ay * by))


def _outwards(path: Path, end: int) -> Point:
    segment = path.segments[-1 if end else 0]
    tip, inner = (segment.end, segment.at(0.98)) if end else (segment.start, segment.at(0.02))
    return (tip[0] - inner[0], tip[1] - inner[1])


def _append(run: list[Segment], more: Sequence[Segment], result: Chains) -> None:
    if run:
        more = [_bridged(run, more[0], result), *more[1:]]
    run.extend(more)


def _bridged(run: list[Segment], follower: Segment, result: Chains) -> Segment:
    """Bring the end of the run to the segment that follows; return that, begun there.

    Small gaps are closed by moving straight ends; a wide one where two straight sides
    meet, or by a line of its own, and told.
    """
    last = run[-1]
    gap = math.dist(last.end, follower.start)
    if gap <= TOLERANCE.close:
        if isinstance(last, Line):
            run[-1] = Line(last.start, follower.start)
        elif isinstance(follower, Line):
            return Line(last.end, follower.end)
        elif gap > _NOISE:
            run.append(Line(last.end, follower.start))
        return follower
    corner = _corner(last, follower, gap)
    result.gaps.append(Gap(width=gap, at=last.end, corner=corner is not None))
    if corner is not None and isinstance(last, Line) and isinstance(follower, Line):
        run[-1] = Line(last.start, corner)
        return Line(corner, follower.end)
    run.append(Line(last.end, follower.start))
    return follower


def _corner(one: Segment, other: Segment, gap: float) -> Point | None:
    """Return where two straight sides meet, if that is no farther from their ends than the gap."""
    if not (isinstance(one, Line) and isinstance(other, Line)):
        return None
    (ax, ay), (bx, by) = one.start, one.end
    (cx, cy), (dx, dy) = other.start, other.end
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    cross = ux * vy - uy * vx
    if abs(cross) < 0.1 * math.hypot(ux, uy) * math.hypot(vx, vy):  # within 6 degrees of parallel
        return None
    t = ((cx - ax) * vy - (cy - ay) * vx) / cross
    at = (ax + t * ux, ay + t * uy)
    ahead = t > 0.0 and (at[0] - dx) * vx + (at[1] - dy) * vy < 0.0  # neither side is turned round
    near = max(math.dist(at, one.end), math.dist(at, other.start)) <= gap
    return at if ahead and near else None


def _closed(run: list[Segment], result: Chains) -> Path:
    if len(run) > 1:
        run[0] = _bridged(run, run[0], result)
    ring = Path(tuple(run))
    return ring if ring.closed else Path((*run, Line(ring.end, ring.start)))
