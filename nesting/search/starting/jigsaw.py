"""Parts that leave no waste, put together corner by corner.

Where a strip's parts fill a rectangle wholly, each corner of what is still free is the corner of
some part that lies along the corner's edge. So parts are put into corners, that corner first
which the fewest fit into, and taken out again where nothing fits any more (backtracking, the
fewest choices first: Golomb and Baumert 1965, Journal of the ACM 12, 516-524). Most lays are
no jigsaws: they are given up as soon as no part fits into some corner. With spacing outlines
and strip are half of it wider all round.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from nesting.marker.check import is_good
from nesting.marker.lay import Lay
from nesting.marker.marker import Marker
from nesting.search.prepared.convex import convex_parts
from nesting.search.prepared.forms import turned
from nesting.search.prepared.kinds import outlines_of
from nesting.search.prepared.outlines import Outline
from nesting.search.prepared.polygons import Floats, oriented, polygons
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.problem import Problem, Start
from nesting.search.squeezing import squeeze

__all__ = ["put_together"]

MOST, CORNERS = 80, 3_000
"""No more parts than this are put together, nor such as have more corners in all their turns."""
STEPS = 3
"""So many times as many parts as there are may be put into corners."""
HAIR = 1e-6
"""What is thinner than this share of the strip's longer side is none of the free area."""
GRAIN = 1e-4
"""The grid that corners of the free area are put on, as a share of a hair."""
SHARPEST = 1e-3
"""Corners as sharp as this (one less the cosine of the angle inside) are cut off: 2.6°."""
TURN = 1e-5
"""Directions that differ by less (radians) are one, on edges that are not short."""
CHORD = 0.05
"""So far (mm) chords may lie from a curve: two parts that share one have the same chords."""
SLIPS = (1e-6, 0.002, 0.01)
"""By so much (share) the parts may be pushed apart at last: rounding, then curves as chords."""


def put_together(
    problem: Problem, start: Start, *, stop: Callable[[], bool]
) -> tuple[Problem, Start]:
    """Return a marker without waste in place of a first one, if one is soon found.

    Its problem has outlines as they are: coarser ones of many corners would not lie so.
    """
    if start.left or not _may_be(problem.lay):
        return problem, start
    rings, spacing = _rings(start.world), problem.lay.spacing
    if sum(len(rings[shape.outline]) for shape in start.world.shapes) > CORNERS:
        return problem, start
    wide = [_wider(ring, 0.5 * spacing) for ring in rings]
    if not all(Polygon(ring).is_valid for ring in wide):  # an edge vanishes between its neighbours
        return problem, start
    table = _Table.of(start.world, wide, stop)
    floor = table.length - spacing
    reached = start.world.used_length(start.layout)
    if not 0.0 < floor * (1.0 + SLIPS[0]) < reached:
        return problem, start
    found = table.fill()
    if found is None:
        return problem, start
    items = range(start.world.items)
    layout = Layout(
        np.array([found[i][1] for i in items]) - 0.5 * spacing,
        np.array([found[i][0] for i in items], dtype=np.int64),
        np.zeros(len(items), dtype=np.int64),
    )
    outlines = _as_they_are(problem, rings)
    exact = replace(problem, fine=outlines, coarse=outlines)
    world = exact.world(start.world.sheets, fine=True)
    for slip in SLIPS:
        world.set_length(floor * (1.0 + slip))
        if world.load(layout) and (world.overlap() <= 0.0 or squeeze.repair(world, steps=20)):
            best = squeeze.compact(world, tight=True)
            marker = Marker(lay=problem.lay, placements=tuple(world.placements(best)))
            if world.used_length(best) < reached and is_good(marker):
                return exact, Start(world, best, ())
            break
    return problem, start


def _as_they_are(problem: Problem, rings: list[Floats]) -> list[Outline]:
    """Return a problem's outlines as they are; curves that fit each other are their chords.

    With spacing curves are a hair wider than they are, as ever.
    """
    exact, _ = outlines_of(problem.lay, problem.kinds, share=0.0)
    if problem.lay.spacing <= 0.0:
        parts = [convex_parts(Polygon(ring)) for ring in rings]
        exact = [replace(o, parts=p, plain=p) for o, p in zip(exact, parts, strict=True)]
    return exact


def _may_be(lay: Lay) -> bool:
    """Whether nothing but the outlines says where a lay's parts may be."""
    if not lay.stock.open_ended or not 1 < len(lay.parts) <= MOST:
        return False
    rules = [(p.binding, p.turn_group, p.mates, p.held, p.edge, p.region) for p in lay.parts]
    return not any(
        part.turns.slack or part.piece.holes or any(rule is not None for rule in of)
        for part, of in zip(lay.parts, rules, strict=True)
    )


@dataclass(slots=True)
class _Table:
    """The rectangle to be filled, and every corner of every shape that parts may take.

    By corner: its shape, that shape's kind, its place in the ring, the direction of the edge
    that leaves it counter-clockwise, the angle inside (radians), the edge's length (mm).
    """

    width: float
    length: float
    rings: list[Floats]
    shape: npt.NDArray[np.int64]
    kind: npt.NDArray[np.int64]
    place: npt.NDArray[np.int64]
    ahead: Floats
    inside: Floats
    edge: Floats
    items: dict[int, list[int]]
    areas: dict[int, float]
    steps: int
    stop: Callable[[], bool]
    laid: list[tuple[int, int, tuple[float, float]]] = field(default_factory=list)
    hair: float = field(init=False)

    def __post_init__(self) -> None:
        self.hair = HAIR * max(self.width, self.length)

    @classmethod
    def of(cls, world: World, wide: list[Floats], stop: Callable[[], bool]) -> _Table:
        """Return the table of a world's outlines, half the spacing wider, and of its strip."""
        rings = [
            turned(wide[shape.outline][:: -1 if shape.flipped else 1], shape)
            for shape in world.shapes
        ]
        items: dict[int, list[int]] = {}
        for i, kind in enumerate(world.kinds.of):
            items.setdefault(kind, []).append(i)
        rows: list[tuple[int, int, int]] = []
        angles: list[Floats] = []
        for kind, some in items.items():
            for s in world.options_of(some[0], 0):
                rows += [(s, kind, k) for k in range(len(rings[s]))]
                angles.append(np.stack(_corners(rings[s]), axis=1))
        shape, kinds, place = np.array(rows, dtype=np.int64).T
        ahead, inside, edge = np.concatenate(angles).T
        width = float(world.lay.stock.width) + world.lay.spacing  # type: ignore[union-attr]
        areas = {k: Polygon(wide[world.outline_of_kind[k]]).area for k in items}
        length = sum(areas[k] for k in world.kinds.of) / width
        return cls(
            width, length, rings, shape, kinds, place, ahead, inside, edge, items, areas,
            STEPS * world.items, stop,
        )  # fmt: skip

    def fill(self) -> dict[int, tuple[int, tuple[float, float]]] | None:
        """Return the shape and the place of each item, or None if it is not found soon."""
        free = shapely.box(0.0, 0.0, self.length, self.width)
        if not self._go_on([free], Counter({k: len(some) for k, some in self.items.items()})):
            return None
        left = {kind: list(some) for kind, some in self.items.items()}
        return {left[kind].pop(): (s, at) for s, kind, at in self.laid}

    def _go_on(self, free: list[Polygon], left: Counter[int]) -> bool:
        """Fill what is free with the parts that are left."""
        if not left:
            return True
        corner = self._narrowest(free, left)
        if corner is None:
            return False
        polygon, at, fitting = corner
        others = [one for one in free if one is not polygon]
        for c in fitting:
            if self.steps <= 0 or self.stop():
                return False
            ring = self.rings[self.shape[c]]
            move = at - ring[self.place[c]]
            rest = self._without(polygon, ring + move)
            if rest is None:
                continue
            self.steps -= 1
            kind = int(self.kind[c])
            fewer = left - Counter([kind])
            least = min((self.areas[k] for k in fewer), default=0.0)
            if any(one.area < 0.999 * least for one in rest) or (rest and not fewer):
                continue
            self.laid.append((int(self.shape[c]), kind, (float(move[0]), float(move[1]))))
            if self._go_on(others + rest, fewer):
                return True
            self.laid.pop()
        return False

    def _narrowest(
        self, free: list[Polygon], left: Counter[int]
    ) -> tuple[Polygon, Floats, list[int]] | None:
        """Return the corner that the fewest corners of parts fit into, and these; None if none.

        The likeliest first: of the corner's own angle, then with an edge as long as its edge.
        """
        there = np.array([left[int(kind)] > 0 for kind in self.kind])
        best: tuple[Polygon, Floats, list[int]] | None = None
        tiny = 0.5 * self.hair  # an edge so short has no direction: any will do
        own = 1.0 / np.maximum(self.edge, tiny)
        for polygon in free:
            ring = oriented(polygon.exterior.coords, ccw=True)
            for point, ahead, inside, edge in zip(ring, *_corners(ring), strict=True):
                if inside > math.pi - 0.01:
                    continue
                near = TURN + 4.0 * self.hair * (1.0 / max(edge, tiny) + own)
                off = np.abs(np.remainder(self.ahead - ahead + math.pi, 2 * math.pi) - math.pi)
                fit = np.flatnonzero(there & (off < near) & (self.inside < inside + near))
                if not len(fit):
                    return None
                if best is None or len(fit) < len(best[2]):
                    unlike = inside - self.inside[fit] > near[fit]
                    order = np.lexsort((np.abs(self.edge[fit] - edge), unlike))
                    best = polygon, point, [int(c) for c in fit[order]]
        return best

    def _without(self, free: Polygon, ring: Floats) -> list[Polygon] | None:
        """Return what a part leaves of a free polygon; None if it does not lie inside."""
        part = Polygon(ring)
        low, high = ring.min(axis=0), ring.max(axis=0)
        x0, y0, x1, y1 = free.bounds
        hair = self.hair
        if low[0] < x0 - hair or low[1] < y0 - hair or high[0] > x1 + hair or high[1] > y1 + hair:
            return None
        # Where edges all but coincide a plain difference may leave all as it was (GEOS 3.14.1).
        rest = shapely.difference(free, part, grid_size=GRAIN * hair)
        outside = rest.area + part.area - free.area
        return None if abs(outside) > hair * part.length else list(self._clean(rest))

    def _clean(self, rest: BaseGeometry) -> Iterator[Polygon]:
        """Yield polygons without what is thinner than a hair."""
        thinner = rest.buffer(-self.hair, join_style="mitre", mitre_limit=1e3)
        for one in polygons(thinner.buffer(self.hair, join_style="mitre", mitre_limit=1e3)):
            yield from polygons(one.simplify(self.hair))


def _rings(world: World) -> list[Floats]:
    """Return the outlines' corners, of curves those of chords (mm)."""
    found = [outline.ring for outline in world.outlines]
    for kind, part in enumerate(world.kinds.parts):
        cut, o = part.piece.cut, world.outline_of_kind[kind]
        if cut.curved:
            found[o] = np.array(cut.points(CHORD)) - np.array(world.outlines[o].centre)
    return found


def _wider(ring: Floats, by: float) -> Floats:
    """Return a counter-clockwise ring with each edge moved outwards, its corners as sharp."""
    if by <= 0.0:
        return ring
    ahead = np.roll(ring, -1, axis=0) - ring
    ahead /= np.hypot(ahead[:, 0], ahead[:, 1])[:, None]
    after = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1)
    before = np.roll(after, 1, axis=0)
    flat = 1.0 + np.sum(before * after, axis=1)[:, None]
    return np.asarray(ring + by * (before + after) / np.maximum(flat, SHARPEST))


def _corners(ring: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the direction and length of the edge that leaves each corner, the angle between.

    In the order: direction (radians), angle inside (radians), length.
    """
    out = np.roll(ring, -1, axis=0) - ring
    back = np.roll(ring, 1, axis=0) - ring
    ahead = np.arctan2(out[:, 1], out[:, 0])
    inside = np.remainder(np.arctan2(back[:, 1], back[:, 0]) - ahead, 2 * math.pi)
    return ahead, inside, np.hypot(out[:, 0], out[:, 1])
