"""Outlines made fit for use, or refused in one clear line."""

from __future__ import annotations

import math
import re

from shapely import MultiPoint, Polygon
from shapely.validation import explain_validity

from nesting.errors import PatternError
from nesting.limits import FARTHEST, MOST_CHORDS, MOST_CURVES
from nesting.pattern.measure import signed_area
from nesting.pattern.path import Arc, Bezier, Line, Path, Point, Segment
from nesting.pattern.segment import is_finite, numbers, with_ends
from nesting.tolerance import TOLERANCE

__all__ = ["clean_outline", "clean_path", "refuse_excess", "sealed", "started_at"]

SHORTEST = 1e-6
"""Segments shorter than this (mm) are drawing noise and dropped."""
LEAST_AREA = 1e-3
"""An outline that holds less than this (mm²) has no area."""


def clean_outline(path: Path, *, hole: bool = False, close: float = TOLERANCE.close) -> Path:
    """Return a closed outline fit for use, from the same start where it has one.

    Drops segments of no length, joins ends that are at most `close` (mm) apart, turns
    the outline counter-clockwise (a `hole` clockwise).

    Raises
    ------
    PatternError
        If a number is not finite, the outline is open by more than `close`, has no
        area, or crosses or touches itself (says where).

    """
    tidy = clean_path(path, close=close)
    gap = math.dist(tidy.start, tidy.end)
    if gap > close:
        raise PatternError(
            f"the outline is open: its ends {_xy(tidy.start)} and {_xy(tidy.end)} "
            f"are {gap:.4g} mm apart",
            hint="draw the outline back to where it starts",
        )
    closed = _closed(tidy)
    size = signed_area(closed)
    if abs(size) < LEAST_AREA and _hull_area(closed) < LEAST_AREA:
        raise PatternError("the outline has no area", hint="it needs at least three corners")
    _refuse_crossings(closed)
    return closed if (size > 0.0) != hole else closed.reversed()


def clean_path(path: Path, *, close: float = TOLERANCE.close) -> Path:
    """Return an open or closed path without segments of no length and without small gaps.

    Raises
    ------
    PatternError
        If a number is not finite, nothing is left, it has a gap wider than `close`, or far
        too many or too large curves.

    """
    refuse_excess(path)
    kept: list[Segment] = []
    for segment in path.segments:
        if _is_dot(segment):
            continue
        if kept:
            kept += _joined(kept[-1].end, segment, close=close)
        else:
            kept.append(segment)
    if not kept:
        raise PatternError("the outline has no length", hint="it is a single point")
    return Path(tuple(kept))


def refuse_excess(path: Path) -> None:
    """Raise if a path has more curves, or larger ones, than any pattern has."""
    curves = sum(not isinstance(segment, Line) for segment in path.segments)
    if curves > MOST_CURVES:
        raise PatternError(
            f"it has {curves:,} curves, at most {MOST_CURVES:,} are read",
            hint="draw it with fewer",
        )
    if not all(map(is_finite, path.segments)):
        raise PatternError("the outline holds a number that is not finite (nan or inf)")
    if not all(abs(n) <= FARTHEST for segment in path.segments for n in numbers(segment)):
        raise PatternError("a coordinate is not a usable number", hint="give coordinates in mm")
    chords = sum(segment.chords(TOLERANCE.chord) for segment in path.segments)
    if chords > MOST_CHORDS:
        raise PatternError(
            f"its curves are too large or too many: {chords:,} chords stand for them",
            hint=f"at most {MOST_CHORDS:,}",
        )


def _is_dot(segment: Segment) -> bool:
    if isinstance(segment, Line):
        return math.dist(segment.start, segment.end) <= SHORTEST
    if isinstance(segment, Bezier):
        handles = (segment.first, segment.second, segment.end)
        return all(math.dist(segment.start, p) <= SHORTEST for p in handles)
    size = max(math.hypot(*segment.u), math.hypot(*segment.v))
    return size * abs(segment.sweep) <= SHORTEST


def _joined(end: Point, segment: Segment, *, close: float) -> tuple[Segment, ...]:
    """Return the segment begun exactly at `end`."""
    gap = math.dist(end, segment.start)
    if gap > close:
        raise PatternError(
            f"the outline has a gap of {gap:.4g} mm between {_xy(end)} and {_xy(segment.start)}",
            hint="join its segments end to start",
        )
    if gap == 0.0:
        return (segment,)
    return with_ends(segment, end, segment.end)


def _closed(path: Path) -> Path:
    """Return the path with its end moved onto its start."""
    last = path.segments[-1]
    if last.end == path.start:
        return path
    if len(path.segments) > 1 and isinstance(last, Line):
        gap = math.dist(last.start, path.start)
        if gap <= SHORTEST:
            return _closed(Path(path.segments[:-1]))
    return Path((*path.segments[:-1], *with_ends(last, last.start, path.start)))


def _hull_area(path: Path) -> float:
    """Return the area of the convex hull: an outline that crosses itself may cancel out."""
    return float(MultiPoint(path.points(TOLERANCE.chord)).convex_hull.area)


def _refuse_crossings(path: Path) -> None:
    """Raise if a closed path crosses or touches itself."""
    for chord in (TOLERANCE.chord, TOLERANCE.chord / 50.0):
        ring = Polygon(path.points(chord))
        if ring.is_valid:
            return
        if not path.curved:
            break
    told = re.search(r"\[(\S+) (\S+)\]", explain_validity(ring))
    where = f" at {_xy((float(told[1]), float(told[2])))}" if told else ""
    raise PatternError(
        f"the outline crosses or touches itself{where}",
        hint="redraw it so that it goes round once",
    )


def sealed(path: Path) -> Path:
    """Return a closed path whose segments, a hair apart, begin exactly where the last ended.

    Lines and Béziers give way to arcs; an arc moves only beside another arc.
    """
    out = list(path.segments)
    for k, segment in enumerate(out):
        before = out[k - 1]
        if before.end == segment.start or len(out) == 1:
            continue
        if not isinstance(segment, Arc):
            (out[k],) = with_ends(segment, before.end, segment.end)
        elif not isinstance(before, Arc):
            (out[k - 1],) = with_ends(before, before.start, segment.start)
        else:
            out[k] = with_ends(segment, before.end, segment.end)[-1]
    return Path(tuple(out))


def started_at(path: Path, segment: int) -> Path:
    """Return a closed path begun at the start of the segment with that index."""
    return Path((*path.segments[segment:], *path.segments[:segment]))


def _xy(point: Point) -> str:
    return f"({point[0]:.6g}, {point[1]:.6g})"
