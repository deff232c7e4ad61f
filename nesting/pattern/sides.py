"""Places on a piece by what one sees of it: from its centre, or from an edge of its outline.

An edge is measured as with a ruler laid from one of its ends to the other: along the ruler from
its left end (of an upright edge its lower end), and square to the ruler into the piece from where
the outline is. Of a straight edge that is along it and square to it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from nesting.errors import PatternError
from nesting.pattern.edges import corners, edge_path, edges
from nesting.pattern.measure import bounds
from nesting.pattern.path import Path, Point
from nesting.tolerance import TOLERANCE

__all__ = ["SIDES", "Spot", "centre", "from_edge"]

SIDES = {"top": (0.0, 1.0), "right": (1.0, 0.0), "bottom": (0.0, -1.0), "left": (-1.0, 0.0)}
"""What faces outwards there."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place (mm), and the directions of a ruler along the edge and into the piece there."""

    at: Point
    along: Point
    inward: Point


def centre(outline: Path) -> Point:
    """Return the middle of the box around an outline."""
    x0, y0, x1, y1 = bounds(outline)
    return (0.5 * (x0 + x1), 0.5 * (y0 + y1))


def from_edge(
    outline: Path, edge: int | str, *, along: float | None = None, inwards: float = 0.0
) -> Spot:
    """Return a place measured from an edge of a closed counter-clockwise outline.

    Parameters
    ----------
    outline
        The piece's.
    edge
        Its number (see `edges`), or one of `SIDES`.
    along
        How far from the ruler's left or lower end (mm), less than nothing from the other end;
        None is its middle.
    inwards
        How far into the piece from where the outline is (mm).

    Raises
    ------
    PatternError
        There is no such edge, or it is shorter than that.

    """
    run = _numbered(outline, edge) if isinstance(edge, int) else _seen(outline, edge)
    (ax, ay), (bx, by) = run[0], run[-1]
    size = math.dist(run[0], run[-1])
    if size <= TOLERANCE.close:
        raise PatternError("the edge has no two ends", hint=f"say one of {', '.join(SIDES)}")
    out = ((by - ay) / size, (ax - bx) / size)  # the piece lies on the left
    forward = bx > ax if abs(bx - ax) >= abs(by - ay) else by > ay
    (ax, ay), (bx, by) = (run[0], run[-1]) if forward else (run[-1], run[0])
    ruler = ((bx - ax) / size, (by - ay) / size)
    far = size / 2.0 if along is None else along if along >= 0.0 else size + along
    if not -TOLERANCE.close <= far <= size + TOLERANCE.close:
        raise PatternError(f"the edge is {size:.4g} mm long", hint="measure less along it")
    foot = (ax + far * ruler[0], ay + far * ruler[1])
    height = max(_crossings(run, foot, ruler, out), default=0.0) - inwards
    at = (foot[0] + height * out[0], foot[1] + height * out[1])
    return Spot(at, ruler, (-out[0], -out[1]))


def _crossings(run: Sequence[Point], foot: Point, ruler: Point, out: Point) -> Iterator[float]:
    """Yield how far beyond the ruler an edge is, square to the ruler at a foot on it."""

    def off(p: Point, way: Point) -> float:
        return (p[0] - foot[0]) * way[0] + (p[1] - foot[1]) * way[1]

    for p, q in pairwise(run):
        a, b = off(p, ruler), off(q, ruler)
        if min(a, b) > TOLERANCE.close or max(a, b) < -TOLERANCE.close:
            continue
        share = 0.5 if a == b else min(1.0, max(0.0, a / (a - b)))
        yield off(p, out) + share * (off(q, out) - off(p, out))


def _numbered(outline: Path, edge: int) -> Sequence[Point]:
    return _line(edge_path(outline, edge))


def _line(run: Path) -> list[Point]:
    """Return the points of an edge with both its ends, be they one."""
    points = run.points(TOLERANCE.chord)
    return [*points, *(points[:1] if run.closed else ())]


def _seen(outline: Path, side: str) -> Sequence[Point]:
    """Return the edge that one sees at a side, as far as it doesn't turn back."""
    out, every = SIDES[side], edges(outline)
    lines = [_line(Path(tuple(outline.segments[i] for i in run))) for run in every]
    if not corners(outline):
        lines = [_begun_opposite(lines[0], out)]
    most = max(_dot(p, out) for line in lines for p in line)
    found = []
    for line in lines:
        i = max(range(len(line)), key=lambda k: _dot(line[k], out))
        if _dot(line[i], out) < most - TOLERANCE.close:
            continue
        run = _onward(line, i, out)
        chord = (run[-1][0] - run[0][0], run[-1][1] - run[0][1])
        if abs(_dot(chord, _ahead(out))) > abs(_dot(chord, out)):
            found.append(run)
    if len(found) != 1:
        several = f"{len(found)} edges are at its {side}"
        raise PatternError(
            several if found else f"it has no edge that is clearly its {side}",
            hint=f"give the edge by its number, from 1 to {len(every)}",
        )
    return found[0]


def _begun_opposite(ring: Sequence[Point], out: Point) -> list[Point]:
    """Return a ring without corners from the point that is farthest from a side, and back."""
    points = list(ring[:-1])
    i = min(range(len(points)), key=lambda k: _dot(points[k], out))
    return [*points[i:], *points[: i + 1]]


_LEVEL = 1e-6
"""What goes on by a smaller share of its length runs square to the side, but for rounding."""


def _onward(line: Sequence[Point], i: int, out: Point) -> Sequence[Point]:
    """Return what of a line lies about one of its points, up to where it turns back."""

    def on(k: int) -> bool:
        p, q = line[k], line[k + 1]
        return _dot((q[0] - p[0], q[1] - p[1]), _ahead(out)) > _LEVEL * math.dist(p, q)

    first = last = i
    while first > 0 and on(first - 1):
        first -= 1
    while last + 1 < len(line) and on(last):
        last += 1
    return line[first : last + 1]


def _ahead(out: Point) -> Point:
    """Return which way an outline runs along a side: counter-clockwise."""
    return (-out[1], out[0])


def _dot(p: Point, q: Point) -> float:
    return p[0] * q[0] + p[1] * q[1]
