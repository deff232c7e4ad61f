"""Lines that branch, as where neighbours share an edge: what each closed area is made of."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import LineString, Polygon, STRtree, polygonize

from nesting.pattern.path import Path, Point
from nesting.tolerance import TOLERANCE

__all__ = ["Network", "network"]

_SAME = 1e-6
"""Points of one line nearer than this (mm) are the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """The closed areas among lines that branch.

    `rings`: indices of the lines around each. `shared`: those of the lines that lie between
    two areas. `tangled`: lines cross one another, so that nobody can tell the areas.
    """

    rings: tuple[tuple[int, ...], ...]
    shared: tuple[int, ...]
    tangled: bool


def network(paths: Sequence[Path], *, reach: float) -> Network | None:
    """Return the areas closed by paths whose ends meet within `reach` (mm).

    None where no more than two ends meet anywhere, or nothing is closed.
    """
    nodes = _nodes([(path.start, path.end) for path in paths], reach)
    degree = Counter(node for ends in nodes for node in ends)
    if all(count <= 2 for count in degree.values()):
        return None
    lines = [_line(path, *ends) for path, ends in zip(paths, nodes, strict=True)]
    closed = polygonize(lines).geoms
    areas = [Polygon(area.exterior) for area in closed if isinstance(area, Polygon)]
    if not areas:
        return None
    middles = STRtree([line.interpolate(0.5, normalized=True) for line in lines])
    rings = [
        tuple(sorted(map(int, middles.query(area.exterior, predicate="dwithin", distance=_SAME))))
        for area in areas
    ]
    times = Counter(i for ring in rings for i in ring)
    shared = tuple(sorted(i for i, count in times.items() if count > 1))
    return Network(rings=tuple(rings), shared=shared, tangled=bool(shared) and _crossing(areas))


def _nodes(ends: Sequence[tuple[Point, Point]], reach: float) -> list[tuple[Point, Point]]:
    """Return the ends with those that are near one another moved together."""
    cells: dict[tuple[int, int], list[Point]] = defaultdict(list)

    def node(point: Point) -> Point:
        cx, cy = math.floor(point[0] / reach), math.floor(point[1] / reach)
        around = (cells[cx + i, cy + j] for i in (-1, 0, 1) for j in (-1, 0, 1))
        near = [at for cell in around for at in cell if math.dist(at, point) <= reach]
        if near:
            return min(near, key=lambda at: math.dist(at, point))
        cells[cx, cy].append(point)
        return point

    return [(node(start), node(end)) for start, end in ends]


def _line(path: Path, start: Point, end: Point) -> LineString:
    return LineString([start, *path.points(TOLERANCE.search_chord)[1:-1], end])


def _crossing(areas: Sequence[Polygon]) -> bool:
    """Tell whether areas overlap: those of lines that meet at ends only lie side by side."""
    if not all(area.is_valid for area in areas):
        return True
    return bool(STRtree(areas).query(areas, predicate="overlaps").size)
