"""Common-line cutting: a straight edge that two outlines share is cut once.

Parts are laid exactly one kerf apart for a laser (the grown outlines then coincide and
no part loses anything), or touching for a blade without a kerf.
"""

from __future__ import annotations

import math
from dataclasses import replace

from shapely import LineString, STRtree

from nesting.pattern.path import Line, Path, Segment
from nesting.pattern.segment import part
from nesting.writing.neutral.drawing import Drawing, Operation, Role, Stroke

__all__ = ["common_lines"]

"""Name of the strokes of outlines that share edges."""

_APART = 0.02
"""Edges no further apart than this (mm) are one."""
_SHORTEST = 1.0
"""Shared stretches shorter than this (mm) are left."""


def common_lines(drawing: Drawing) -> Drawing:
    """Return the drawing with every shared straight edge left to the first of its outlines.

    Outlines of which stretches were taken become open paths, one for each stretch that
    is left. All outlines concerned have the role `SHARED`.
    """
    edges = [
        (k, i, segment)
        for k, stroke in enumerate(drawing.strokes)
        if stroke.operation is Operation.CUT and not stroke.inner and stroke.path.closed
        for i, segment in enumerate(stroke.path.segments)
        if isinstance(segment, Line) and math.dist(segment.start, segment.end) >= _SHORTEST
    ]
    if not edges:
        return drawing
    shapes = [LineString([line.start, line.end]) for _, _, line in edges]
    taken: dict[int, dict[int, list[tuple[float, float]]]] = {}
    concerned: set[int] = set()
    pairs = STRtree(shapes).query(shapes, predicate="dwithin", distance=_APART).T.tolist()
    for a, b in sorted(pairs):
        (first, _, keeps), (second, index, loses) = edges[a], edges[b]
        if first >= second:
            continue
        shared = _overlap(loses, keeps)
        if shared is not None:
            taken.setdefault(second, {}).setdefault(index, []).append(shared)
            concerned |= {first, second}
    strokes: list[Stroke] = []
    for k, stroke in enumerate(drawing.strokes):
        if k in taken:
            strokes += [
                replace(stroke, path=path, role=Role.SHARED)
                for path in _rest(stroke.path, taken[k])
            ]
        else:
            strokes.append(replace(stroke, role=Role.SHARED) if k in concerned else stroke)
    return replace(drawing, strokes=tuple(strokes))


def _overlap(line: Line, other: Line) -> tuple[float, float] | None:
    """Return the parameters between which a line runs along another, None if it doesn't."""
    (x, y), size = line.start, math.dist(line.start, line.end)
    dx, dy = (line.end[0] - x) / size, (line.end[1] - y) / size
    along, off = [], []
    for px, py in (other.start, other.end):
        along.append((px - x) * dx + (py - y) * dy)
        off.append((py - y) * dx - (px - x) * dy)
    low, high = max(0.0, min(along)), min(size, max(along))
    if high - low < _SHORTEST:
        return None
    slope = (off[1] - off[0]) / (along[1] - along[0])
    if max(abs(off[0] + slope * (at - along[0])) for at in (low, high)) > _APART:
        return None
    return (
        0.0 if low < _APART else low / size,
        1.0 if size - high < _APART else high / size,
    )


def _rest(path: Path, taken: dict[int, list[tuple[float, float]]]) -> list[Path]:
    """Return what is left of a closed path, as open paths."""
    runs: list[list[Segment]] = [[]]
    for i, segment in enumerate(path.segments):
        at = 0.0
        for low, high in sorted(taken.get(i, [])):
            if low > at:
                runs[-1].append(part(segment, at, low))
            if high > at and runs[-1]:
                runs.append([])
            at = max(at, high)
        if at < 1.0:
            runs[-1].append(part(segment, at, 1.0))
    # The last run goes on in the first, unless the path was parted at its very start.
    whole = 0 in taken and min(taken[0])[0] == 0.0
    if len(runs) > 1 and not whole and runs[-1]:
        runs[0] = runs.pop() + runs[0]
    return [Path(tuple(run)) for run in runs if run]
