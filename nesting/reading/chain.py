"""Loose lines and arcs joined to outlines."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice

from nesting.pattern.path import Line, Path, Point, Segment
from nesting.tolerance import TOLERANCE

__all__ = ["Chains", "chain"]

_CROWD = 64
"""At most so many ends about one are looked at: more than a few never meet in a pattern."""
_NOISE = 1e-6
"""Ends nearer than this (mm) are one point; rounding of the file's decimals."""


@dataclass(slots=True, kw_only=True)
class Chains:
    """What became of loose paths.

    `gaps`: width (mm) and place of every gap closed by a straight line. `doubled`: how
    many paths were there twice. `forks`: points where more than two ends meet.
    """

    rings: list[Path] = field(default_factory=list)
    open: list[Path] = field(default_factory=list)
    gaps: list[tuple[float, Point]] = field(default_factory=list)
    doubled: int = 0
    forks: list[Point] = field(default_factory=list)


def chain(paths: Iterable[Path], *, close: float) -> Chains:
    """Join open paths (mm) end to end; a path drawn twice, in either direction, counts once.

    Ends nearer than `TOLERANCE.close` are moved together; wider gaps, up to `close`, are
    bridged by a straight line and told. Where more than two ends meet, the straightest
    way is taken and the point told.
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
        pieces = list(_joined(pieces, reach, result))
    result.open = pieces
    return result


def _key(segment: Segment) -> object:
    ends = frozenset((_rounded(segment.start), _rounded(segment.end)))
    return (ends, _rounded(segment.at(0.5)))


def _rounded(point: Point) -> tuple[float, float]:
    return (round(point[0], 3) + 0.0, round(point[1], 3) + 0.0)


def _joined(paths: Sequence[Path], reach: float, result: Chains) -> Iterator[Path]:
    """Yield what stays open after joining ends within `reach`; rings go to the result."""
    partner = _partners(paths, reach, result)
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


def _partners(
    paths: Sequence[Path], reach: float, result: Chains
) -> dict[tuple[int, int], tuple[int, int]]:
    """Match ends with ends, the nearest and straightest first; each end once."""
    cells: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
    place: dict[tuple[int, int], Point] = {}
    for i, path in enumerate(paths):
        for end, point in enumerate((path.start, path.end)):
            place[i, end] = point
            cells[math.floor(point[0] / reach), math.floor(point[1] / reach)].append((i, end))
    pairs = []
    near: dict[tuple[int, int], int] = defaultdict(int)
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
                if distance <= TOLERANCE.close:
                    near[one] += 1
                    near[other] += 1
    result.forks.extend(sorted({place[end] for end, count in near.items() if count > 1}))
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
        _bridge(run, more[0].start, result)
        gap = math.dist(run[-1].end, more[0].start)
        if gap > 0.0 and isinstance(more[0], Line):
            more = [Line(run[-1].end, more[0].end), *more[1:]]
        elif gap > _NOISE:
            run.append(Line(run[-1].end, more[0].start))
    run.extend(more)


def _bridge(run: list[Segment], start: Point, result: Chains) -> None:
    """Bring the end of the run to `start`: move it, or bridge a wide gap and tell."""
    end = run[-1].end
    gap = math.dist(end, start)
    if gap > TOLERANCE.close:
        result.gaps.append((gap, end))
        run.append(Line(end, start))
    elif gap > 0.0 and isinstance(run[-1], Line):
        run[-1] = Line(run[-1].start, start)


def _closed(run: list[Segment], result: Chains) -> Path:
    _bridge(run, run[0].start, result)
    if run[-1].end != run[0].start and isinstance(run[0], Line):
        run[0] = Line(run[-1].end, run[0].end)
    ring = Path(tuple(run))
    return ring if ring.closed else Path((*run, Line(ring.end, ring.start)))
