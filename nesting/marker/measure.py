"""Areas and lengths of paths, curves as curves."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

from nesting.pattern.path import Affine, Arc, Line, Path, Point, Segment
from nesting.pattern.piece import Piece

__all__ = ["cut_length", "path_area", "path_length", "piece_area"]

_FINE = 1e-4  # mm: chord for the length of a curve that has no closed form


def _cross(p: Point, q: Point) -> float:
    return p[0] * q[1] - p[1] * q[0]


def _sweep(segment: Segment) -> float:
    """Return twice the area swept from the origin along a segment (Green's theorem)."""
    if isinstance(segment, Line):
        return _cross(segment.start, segment.end)
    if isinstance(segment, Arc):
        (x0, y0), (x1, y1) = segment.start, segment.end
        return _cross(segment.u, segment.v) * segment.sweep + _cross(
            segment.centre, (x1 - x0, y1 - y0)
        )
    p, q, r, s = segment.start, segment.first, segment.second, segment.end
    return (
        6.0 * (_cross(p, q) + _cross(r, s))
        + 3.0 * (_cross(p, r) + _cross(q, r) + _cross(q, s))
        + _cross(p, s)
    ) / 10.0


def path_area(path: Path) -> float:
    """Return the signed area (mm²) inside a closed path; counter-clockwise is positive.

    Exact for lines, arcs of ellipses and cubic Bézier curves.
    """
    x, y = path.start
    # About the path's own start, so that a far-off origin costs no digits.
    back = path.transformed(Affine.move(-x, -y)) if (x, y) != (0.0, 0.0) else path
    return 0.5 * math.fsum(_sweep(segment) for segment in back.segments)


def _segment_length(segment: Segment) -> float:
    if isinstance(segment, Line):
        return math.dist(segment.start, segment.end)
    if isinstance(segment, Arc) and segment.radius is not None:
        return segment.radius * abs(segment.sweep)
    points = [segment.start, *segment.points(_FINE)]
    return math.fsum(math.dist(p, q) for p, q in pairwise(points))


@lru_cache(maxsize=4096)
def path_length(path: Path) -> float:
    """Return the length of a path (mm): exact for lines and circular arcs.

    Other curves are measured along chords at most 0.0001 mm away, which is short by
    about that over three times the radius of curvature.
    """
    return math.fsum(_segment_length(segment) for segment in path.segments)


@lru_cache(maxsize=4096)
def piece_area(piece: Piece) -> float:
    """Return the area of a piece (mm²): inside its cutting line, less its cut-outs."""
    return abs(path_area(piece.cut)) - math.fsum(abs(path_area(hole)) for hole in piece.holes)


def cut_length(piece: Piece) -> float:
    """Return how far the knife travels through the material for a piece (mm)."""
    return path_length(piece.cut) + math.fsum(path_length(hole) for hole in piece.holes)
