"""The points of a drawn outline, moved, added and removed: all else of it stays as it was."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nesting.errors import PatternError
from nesting.pattern.edges import edges
from nesting.pattern.measure import length
from nesting.pattern.nearest import nearest
from nesting.pattern.path import Arc, Bezier, Line, Path, Point, Segment
from nesting.pattern.segment import part, similarity, with_ends
from nesting.tolerance import TOLERANCE

__all__ = ["Reshaped", "added_point", "moved_point", "outline_points", "removed_point"]


@dataclass(frozen=True, slots=True)
class Reshaped:
    """An outline that was changed; `origins`: for each segment the number of what it was before."""

    before: Path
    outline: Path
    origins: tuple[int, ...]

    @property
    def edges_before(self) -> tuple[int, ...]:
        """For each edge the number of the edge that it was, or most of it; from 1."""
        was = {i: n for n, run in enumerate(edges(self.before), start=1) for i in run}
        found = []
        for run in edges(self.outline):
            long: dict[int, float] = {}
            for i in run:
                old = was[self.origins[i]]
                long[old] = long.get(old, 0.0) + length(Path((self.outline.segments[i],)))
            found.append(max(long, key=lambda old: long[old]))
        return tuple(found)


def outline_points(outline: Path) -> tuple[Point, ...]:
    """Return the points at which segments of a closed outline begin."""
    return tuple(segment.start for segment in outline.segments)


def moved_point(outline: Path, number: int, to: Point) -> Reshaped:
    """Return an outline one of whose points, counted from 0, was moved.

    Lines follow it, curves keep their handles beside their ends, arcs are turned and scaled.

    Raises
    ------
    PatternError
        There is no such point, or it is moved onto its neighbour.

    """
    segments = list(outline.segments)
    before, after = _beside(outline, number)
    segments[before] = _stretched(segments[before], segments[before].start, to)
    segments[after] = _stretched(segments[after], to, segments[after].end)
    return Reshaped(outline, Path(tuple(segments)), tuple(range(len(segments))))


def added_point(outline: Path, at: Point) -> Reshaped:
    """Return the same outline with a point more: the one of it that is nearest to a place.

    Raises
    ------
    PatternError
        There is one already.

    """
    spot = nearest(outline, at)
    i, segments = spot.segment, outline.segments
    if min(math.dist(spot.point, p) for p in outline_points(outline)) <= TOLERANCE.close:
        raise PatternError("there is a point of the outline already", hint="take that in hand")
    halves = part(segments[i], 0.0, spot.t), part(segments[i], spot.t, 1.0)
    n = range(len(segments))
    return Reshaped(
        outline, Path((*segments[:i], *halves, *segments[i + 1 :])), (*n[: i + 1], *n[i:])
    )


def removed_point(outline: Path, number: int) -> Reshaped:
    """Return an outline without one of its points, counted from 0.

    Two curves become one with the handles at its ends, two parts of an arc that arc, else a
    straight line goes from the point before to the one behind.

    Raises
    ------
    PatternError
        There is no such point, or nothing would be left.

    """
    before, after = _beside(outline, number)
    segments = list(outline.segments)
    joined = _joined(segments[before], segments[after])
    straight = all(isinstance(one, Line) for one in segments)
    if len(segments) - 1 < (3 if straight else 2):
        raise PatternError("an outline has three corners at least", hint="move it instead")
    segments[before] = joined
    del segments[after]
    origins = [i for i in range(len(outline.segments)) if i != after]
    return Reshaped(outline, Path(tuple(segments)), tuple(origins))


def _beside(outline: Path, number: int) -> tuple[int, int]:
    """Return the numbers of the segments before and behind a point."""
    n = len(outline.segments)
    if not 0 <= number < n:
        raise PatternError("the outline has no such point", hint="load the page again")
    return (number - 1) % n, number


def _stretched(segment: Segment, start: Point, end: Point) -> Segment:
    if math.dist(start, end) <= TOLERANCE.close:
        raise PatternError("two points would lie on one another", hint="take one of them out")
    if not isinstance(segment, Arc):
        (only,) = with_ends(segment, start, end)
        return only
    if math.dist(segment.start, segment.end) <= TOLERANCE.close:
        raise PatternError(
            "a whole circle has no point to be moved", hint="add a point to it first"
        )
    return segment.transformed(similarity((segment.start, segment.end), (start, end)))


def _joined(first: Segment, second: Segment) -> Segment:
    if isinstance(first, Bezier) and isinstance(second, Bezier):
        return Bezier(first.start, first.first, second.second, second.end)
    if isinstance(first, Arc) and isinstance(second, Arc):
        same = (first.centre, first.u, first.v) == (second.centre, second.u, second.v)
        if same and abs(first.sweep + second.sweep) < math.tau:
            return Arc(first.centre, first.u, first.v, first.begin, first.sweep + second.sweep)
    return Line(first.start, second.end)
