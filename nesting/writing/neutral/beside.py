"""Names that stand on the ground: of zones and loads, and of parts that have no room for theirs.

What has no room at all stands beside it, with a line that leads there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry as Area

from nesting.pattern.path import Path
from nesting.writing.neutral.drawing import Label, Operation, Role, Stroke
from nesting.writing.neutral.font import LEADING, text_width
from nesting.writing.neutral.lettering import UP, Lettering, fit_in, ink_box, raised, widest

__all__ = ["Ground"]

Areas = NDArray[np.object_]
Numbers = NDArray[Any]

_DISTANCES = (1.0, 2.0, 4.0, 7.0, 11.0, 16.0, 24.0, 36.0, 54.0, 80.0)
"""How far beside a thing its name is tried, in readable heights."""
_WAYS = np.array([(math.cos(math.tau * k / 24), math.sin(math.tau * k / 24)) for k in range(24)])
"""The directions in which it is tried."""
_POOR = 40.0
"""What a place costs outside of the drawing, in readable heights of distance."""


@dataclass(slots=True)
class Ground:
    """The ground of a drawing as it fills with names (mm).

    `taken`: parts and flaws. `edges`: lines that no name may cross. `borders`: of zones and
    loads, which it rather should not. `size`: of the drawing, within which names rather stand.
    """

    taken: Sequence[Area]
    edges: Sequence[Area]
    borders: Sequence[Area]
    size: Area
    lettering: Lettering
    names: list[Area] = field(default_factory=list)
    _all: shapely.STRtree = field(init=False)
    _edges: shapely.STRtree = field(init=False)
    _borders: shapely.STRtree = field(init=False)
    _near_lines: Area | None = None
    _wide: dict[int, Area] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._all = shapely.STRtree(self.taken)
        self._edges, self._borders = shapely.STRtree(self.edges), shapely.STRtree(self.borders)

    def add(self, *boxes: Area) -> None:
        """Note what is written already."""
        self.names += boxes

    def name(self, texts: Sequence[tuple[str, ...]], area: Area) -> Iterator[Stroke | Label]:
        """Write the name of a zone or load where its area is free, or else beside it.

        `texts`: ways to say it, each some lines, the best first.
        """
        lettering, clear = self.lettering, self.lettering.clear
        found = [self._widened(int(i)) for i in self._all.query(area)]
        written = [name.buffer(clear) for name in self.names if name.dwithin(area, clear)]
        free = area.difference(shapely.union_all([*found, *written]))
        free = free.difference(self._lines)
        for i, lines in enumerate(texts):
            shape = (len(lines), max(text_width(line) for line in lines))
            block = fit_in(
                free, {i: shape}, lettering=lettering, least=lettering.least, angles=(0.0, 90.0)
            )
            if block is None:
                continue
            height = min(block.height, 1.2 * lettering.readable)
            for n, line in enumerate(lines):
                down = -LEADING * (n - (len(lines) - 1) / 2.0) * height
                ink = raised(block.at, block.angle, down)
                self.names.append(ink_box(line, ink, height=height, angle=block.angle))
                at = raised(ink, block.angle, UP * height)
                yield Label(
                    text=line, at=at, height=height, angle=block.angle, operation=Operation.EDGE
                )
            return
        inner = free if not free.is_empty else area
        yield from self.lead(texts[0][:1], inner, operation=Operation.EDGE)

    def lead(
        self,
        texts: Sequence[str],
        area: Area,
        *,
        operation: Operation = Operation.TEXT,
        part: int | None = None,
        key: str = "",
    ) -> Iterator[Stroke | Label]:
        """Write a name beside an area, with a line to it; nothing if there is no room near.

        `texts`: the best first; a shorter one is taken if there is no good place for those.
        """
        height = self.lettering.readable
        spot, written = _Spot.of(area, self._all), shapely.STRtree(self.names)
        best: tuple[float, str, Polygon, LineString] | None = None
        for text in texts:
            found = self._place(text, spot, written)
            if found is not None and (best is None or found[0] < best[0] - _POOR):
                best = (found[0], text, *found[1:])
        if best is None:
            return
        _, text, box, line = best
        self.names += [box, line]
        middle = (box.centroid.x, box.centroid.y + UP * height)
        yield Label(text=text, at=middle, height=height, operation=operation, part=part, key=key)
        path = Path.polyline([(x, y) for x, y, *_ in line.coords], closed=False)
        yield Stroke(operation=operation, path=path, part=part, role=Role.LEADER)

    def _place(
        self, text: str, spot: _Spot, written: shapely.STRtree
    ) -> tuple[float, Polygon, LineString] | None:
        """Return the best place for a name beside an area: its cost, its box, the line there.

        `written`: the names that stand there already.
        """
        height = self.lettering.readable
        best: tuple[float, Polygon, LineString] | None = None
        for far in _DISTANCES:
            if best is not None and best[0] < far:
                break
            boxes = spot.boxes(text, far, height=height)
            lines = shapely.shortest_line(boxes, Point(spot.at))
            costs = self._costs(boxes, lines, spot.own, written) + far
            k = int(costs.argmin())
            if costs[k] < (math.inf if best is None else best[0]):
                best = (float(costs[k]), boxes[k], lines[k])
        return best

    def _costs(self, boxes: Areas, lines: Areas, own: Numbers, written: shapely.STRtree) -> Numbers:
        """Return what speaks against each place for a name; infinite where it can't stand.

        `own`: which of what is taken the line may cross; `written`: the names that stand there.
        """
        costs = np.full(len(boxes), math.inf)
        free = _without(np.arange(len(boxes)), boxes, self._all)
        if not len(free):  # as nearly everywhere among parts that lie close
            return costs
        boxes = boxes.copy()
        boxes[free] = shapely.buffer(boxes[free], self.lettering.clear, quad_segs=16)
        shapely.prepare(boxes[free])
        for tree, what in (
            (self._edges, boxes),
            (self._all, boxes),
            (written, boxes),
            (written, lines),
        ):
            free = _without(free, what, tree)
        boxes, lines = boxes[free], lines[free]
        by, crossed = self._all.query(lines, predicate="intersects")
        crossings = np.bincount(by[~np.isin(crossed, own)], minlength=len(free))
        border = np.zeros(len(free))
        border[self._borders.query(boxes, predicate="intersects")[0]] = 1.0
        outside = np.where(shapely.contains(self.size, boxes), 0.0, _POOR)
        costs[free] = 6.0 * crossings + 6.0 * border + outside
        return costs

    def _widened(self, i: int) -> Area:
        """Return what is taken, with the room that a name keeps from it."""
        if i not in self._wide:
            self._wide[i] = self.taken[i].buffer(self.lettering.clear)
        return self._wide[i]

    @property
    def _lines(self) -> Area:
        """Where a name within its area would lie on an edge or a border."""
        if self._near_lines is None:
            # Each for itself: a union of lines falls into bits, which take a hundred times longer.
            wide = [line.buffer(self.lettering.clear) for line in (*self.edges, *self.borders)]
            self._near_lines = shapely.union_all(wide)
        return self._near_lines


def _without(free: Numbers, what: Areas, tree: shapely.STRtree) -> Numbers:
    """Return which of some places are free of what is in a tree, too."""
    bad = np.zeros(len(free), dtype=bool)
    bad[tree.query(what[free], predicate="intersects")[0]] = True
    return free[~bad]


@dataclass(frozen=True, slots=True)
class _Spot:
    """An area that a name may stand beside: its middle, and how far it reaches each way (mm).

    `own`: what of all that is taken belongs to it.
    """

    at: tuple[float, float]
    reach: Numbers
    own: Numbers

    @classmethod
    def of(cls, area: Area, taken: shapely.STRtree) -> _Spot:
        x, y, _ = widest(area)
        x0, y0, x1, y1 = area.bounds
        ends = np.array((x, y)) + _WAYS * ((x1 - x0) + (y1 - y0))
        rays = shapely.linestrings(np.stack((np.broadcast_to((x, y), ends.shape), ends), axis=1))
        shared = shapely.intersection(rays, area)
        far: Numbers = np.asarray(shapely.hausdorff_distance(Point(x, y), shared))
        return cls((x, y), np.nan_to_num(far), taken.query(area, predicate="intersects"))

    def boxes(self, text: str, far: float, *, height: float) -> Areas:
        """Return the box of a name in each direction, `far` heights from the area."""
        half = text_width(text) * height / 2.0
        reach = self.reach + far * height
        middles = np.array(self.at) + _WAYS * np.stack((reach + half, reach + height), axis=1)
        x0, y0, x1, y1 = ink_box(text, (0.0, 0.0), height=height).bounds
        x, y = middles.T
        boxes: Areas = np.asarray(shapely.box(x + x0, y + y0, x + x1, y + y1))
        return boxes
