"""Closed outlines and open paths cut along a line, exactly on every kind of segment."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from nesting.errors import PatternError
from nesting.pattern.crossings import crossings
from nesting.pattern.measure import signed_area
from nesting.pattern.path import Line, Path, Point, Segment
from nesting.pattern.segment import part

__all__ = ["clipped_region", "clipped_runs", "off_line"]

ON_LINE = 1e-9
"""Nearer than this (mm) to the line is on it."""

Cut = tuple[Point, Point]


def off_line(point: Point, line: Cut) -> float:
    """Return how far (mm) a point lies to the right of the line through two points."""
    (x0, y0), (x1, y1) = line
    dx, dy = x1 - x0, y1 - y0
    size = math.hypot(dx, dy)
    if size == 0.0:
        raise PatternError("a line needs two different points")
    return ((point[0] - x0) * dy - (point[1] - y0) * dx) / size


def clipped_runs(path: Path, line: Cut) -> list[Path]:
    """Return what of a path lies to the right of a line, in order along the path.

    What lies in the line is dropped. A closed path that is wholly on the right comes
    back as it is.
    """
    runs: list[list[Segment]] = []
    broken, whole = True, True
    for segment in path.segments:
        for bit in _split(segment, line):
            if off_line(bit.at(0.5), line) <= ON_LINE:
                broken, whole = True, False
                continue
            if broken:
                runs.append([])
            runs[-1].append(bit)
            broken = False
    if whole:
        return [path]
    if path.closed and len(runs) > 1 and not broken and _begins_inside(path, line):
        runs[0] = runs.pop() + runs[0]
    return [Path(tuple(run)) for run in runs]


def _begins_inside(path: Path, line: Cut) -> bool:
    return off_line(_split(path.segments[0], line)[0].at(0.5), line) > ON_LINE


def _split(segment: Segment, line: Cut) -> list[Segment]:
    """Return the segment in parts that do not cross the line."""
    inner = [t for t in crossings(segment, *line) if 1e-12 < t < 1.0 - 1e-12]
    marks = [0.0, *inner, 1.0]
    return [part(segment, a, b) for a, b in pairwise(marks)]


def clipped_region(rings: Sequence[Path], line: Cut) -> tuple[list[Path], list[Path]]:
    """Return what of a region lies to the right of a line: its outlines and its holes.

    `rings`: closed paths with the region on their left (outlines counter-clockwise,
    holes clockwise). The cut is closed with straight lines.
    """
    whole: list[Path] = []
    open_runs: list[Path] = []
    for ring in rings:
        for run in clipped_runs(ring, line):
            (whole if run is ring or run.closed else open_runs).append(run)
    whole += _linked(open_runs, line)
    outlines = [ring for ring in whole if signed_area(ring) > 0.0]
    return outlines, [ring for ring in whole if signed_area(ring) < 0.0]


def _linked(runs: list[Path], line: Cut) -> list[Path]:
    """Close runs that begin and end on the line by going back along it."""

    def along(point: Point) -> float:
        (x0, y0), (x1, y1) = line
        return (point[0] - x0) * (x1 - x0) + (point[1] - y0) * (y1 - y0)

    starts = sorted((along(run.start), k) for k, run in enumerate(runs))
    follows: dict[int, int] = {}
    for _, k in sorted((along(run.end), k) for k, run in enumerate(runs)):
        below = [entry for entry in starts if entry[0] <= along(runs[k].end) + ON_LINE]
        if not below:
            raise PatternError("the outline can't be cut along this line: it touches it unclearly")
        starts.remove(below[-1])
        follows[k] = below[-1][1]
    loops: list[Path] = []
    while follows:
        first = k = min(follows)
        segments: list[Segment] = []
        while k in follows:
            after = follows.pop(k)
            segments += runs[k].segments
            gap = Line(runs[k].end, runs[after].start)
            if math.dist(gap.start, gap.end) > ON_LINE:
                segments.append(gap)
            k = after
        assert k == first
        loops.append(Path(tuple(segments)))
    return loops
