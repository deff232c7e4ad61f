"""Edges of an outline: the runs of segments between its corners, numbered from 1.

Edge 1 begins at the outline's start, or runs through it if the start is no corner;
the others follow counter-clockwise.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from nesting.errors import PatternError
from nesting.pattern.measure import signed_area
from nesting.pattern.nearest import nearest
from nesting.pattern.path import Path, Point
from nesting.pattern.segment import direction
from nesting.tolerance import TOLERANCE

__all__ = ["CORNER", "corners", "edge_at", "edge_path", "edge_widths", "edges"]

CORNER = 20.0
"""A break of the tangent by more than this (degrees) is a corner (own choice)."""


def corners(path: Path, *, corner: float = CORNER) -> tuple[int, ...]:
    """Return the indices of the segments of a closed path that begin at a corner."""
    found = []
    for i, segment in enumerate(path.segments):
        ax, ay = direction(path.segments[i - 1], 1.0)
        bx, by = direction(segment, 0.0)
        if abs(math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))) > corner:
            found.append(i)
    return tuple(found)


def edges(
    path: Path, *, corner: float = CORNER, at: Sequence[Point] | None = None
) -> tuple[tuple[int, ...], ...]:
    """Return each edge of a closed outline as the indices of its segments, in order.

    The outline must run counter-clockwise (see `counter_clockwise`) for the numbering
    to hold. With `at`, edges begin at the vertices nearest to those points instead of
    at breaks of more than `corner` degrees. A smooth outline is one edge.
    """
    n = len(path.segments)
    firsts = corners(path, corner=corner) if at is None else _vertices(path, at)
    if not firsts:
        return (tuple(range(n)),)
    stops = [*firsts[1:], firsts[0] + n]
    runs = [tuple(j % n for j in range(i, k)) for i, k in zip(firsts, stops, strict=True)]
    if firsts[0] != 0:  # the last run goes through the start
        runs = [runs[-1], *runs[:-1]]
    return tuple(runs)


def _vertices(path: Path, points: Sequence[Point]) -> tuple[int, ...]:
    """Return the indices of the segments that begin at given points."""
    found = set()
    for point in points:
        far, i = min((math.dist(s.start, point), i) for i, s in enumerate(path.segments))
        if far > TOLERANCE.on_edge:
            raise PatternError(
                f"corner ({point[0]:g}, {point[1]:g}) is {far:.4g} mm off the nearest vertex",
                hint="an edge begins where two segments meet",
            )
        found.add(i)
    return tuple(sorted(found))


def edge_path(path: Path, edge: int) -> Path:
    """Return one edge (from 1) of a closed counter-clockwise outline as an open path."""
    every = edges(path)
    _refuse_unknown(edge, len(every))
    return Path(tuple(path.segments[i] for i in every[edge - 1]))


def edge_at(path: Path, point: Point) -> int:
    """Return the number of the edge nearest to a point."""
    segment = nearest(path, point).segment
    return next(k for k, run in enumerate(edges(path), start=1) if segment in run)


def edge_widths(
    path: Path, width: float | Mapping[int, float], *, default: float = 0.0
) -> tuple[float, ...]:
    """Return a width for every segment of an outline from one width, or widths by edge.

    `width` maps edge numbers (from 1) to mm; edges not named get `default`.
    """
    if not isinstance(width, Mapping):
        return (float(width),) * len(path.segments)
    assert signed_area(path) >= 0.0, "edges are numbered counter-clockwise"
    every = edges(path)
    for edge in width:
        _refuse_unknown(edge, len(every))
    by_segment = [default] * len(path.segments)
    for number, run in enumerate(every, start=1):
        for i in run:
            by_segment[i] = float(width.get(number, default))
    return tuple(by_segment)


def _refuse_unknown(edge: int, count: int) -> None:
    if not 1 <= edge <= count:
        raise PatternError(
            f"there is no edge {edge}: the outline has {count}",
            hint="edges are numbered from 1, counter-clockwise from the outline's start",
        )
