"""Names that stand on the ground: of zones and loads, and of parts that have no room for theirs.

What has no room at all stands beside it, with a line that leads there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry as Area

from nesting.pattern.path import Path
from nesting.writing.neutral.drawing import Label, Operation, Role, Stroke
from nesting.writing.neutral.font import LEADING, text_width
from nesting.writing.neutral.lettering import UP, Lettering, fit_in, ink_box, raised, widest

__all__ = ["Ground"]

_DISTANCES = (1.0, 2.0, 4.0, 7.0, 11.0, 16.0, 24.0, 36.0, 54.0, 80.0)
"""How far beside a thing its name is tried, in readable heights."""
_WAYS = 24
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
    _tree: shapely.STRtree | None = None
    _near_lines: Area | None = None
    _wide: dict[int, Area] = field(default_factory=dict)

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
        best: tuple[float, str, Polygon, LineString] | None = None
        for text in texts:
            found = self._place(text, area)
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

    def _place(self, text: str, area: Area) -> tuple[float, Polygon, LineString] | None:
        """Return the best place for a name beside an area: its cost, its box, the line there."""
        height, clear = self.lettering.readable, self.lettering.clear
        x, y, _ = widest(area)
        half = text_width(text) * height / 2.0
        best: tuple[float, Polygon, LineString] | None = None
        for far in _DISTANCES:
            if best is not None and best[0] < far:
                break
            for k in range(_WAYS):
                dx, dy = math.cos(math.tau * k / _WAYS), math.sin(math.tau * k / _WAYS)
                reach = _reach(area, (x, y), (dx, dy)) + far * height
                middle = (x + dx * (reach + half), y + dy * (reach + height))
                box = ink_box(text, middle, height=height)
                line = shapely.shortest_line(box, Point(x, y))
                cost = self._cost(box.buffer(clear), line, area)
                if cost is not None and (best is None or cost + far < best[0]):
                    best = (cost + far, box, line)
        return best

    def _cost(self, box: Area, line: LineString, own: Area) -> float | None:
        """Return what speaks against a place for a name; None if it can't stand there."""
        if any(box.intersects(other) or line.intersects(other) for other in self.names):
            return None
        if any(box.intersects(edge) for edge in self.edges):
            return None
        if self._all.query(box, predicate="intersects").size:
            return None
        crossed = [
            i
            for i in self._all.query(line, predicate="intersects")
            if not self.taken[i].intersects(own)
        ]
        outside = 0.0 if self.size.contains(box) else _POOR
        border = any(box.intersects(edge) for edge in self.borders)
        return 6.0 * len(crossed) + 6.0 * border + outside

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

    @property
    def _all(self) -> shapely.STRtree:
        if self._tree is None:
            self._tree = shapely.STRtree(list(self.taken))
        return self._tree


def _reach(area: Area, at: tuple[float, float], way: tuple[float, float]) -> float:
    """Return how far an area reaches from a point in some direction (mm)."""
    x0, y0, x1, y1 = area.bounds
    far = (x1 - x0) + (y1 - y0)
    ray = LineString([at, (at[0] + way[0] * far, at[1] + way[1] * far)])
    shared = ray.intersection(area)
    return 0.0 if shared.is_empty else Point(at).hausdorff_distance(shared)
