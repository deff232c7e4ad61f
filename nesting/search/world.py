# ruff: noqa: E741, N806 - the kernels' own names of their arrays
"""A lay laid out in flat arrays: the search's own state, and the only mutable one."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from nesting.marker.lay import Edge, Lay, Part, Strip, Turns
from nesting.marker.marker import Placement
from nesting.pattern.path import Affine
from nesting.search import stock
from nesting.search.flat import Heap, Shape, distinct, keys_of, record_floats, turned
from nesting.search.kernels import core as k
from nesting.search.kernels.vectors import BOXES
from nesting.search.shapes import Floats, Outline, outline

__all__ = ["Layout", "Store", "World", "kinds_of", "outlines_of"]

GRID_FROM = 200
"""With more items than this neighbours are found by a grid; else all boxes are looked at."""

Ints = npt.NDArray[np.int64]

_HAIR = 1e-9
"""A shape that is larger than a sheet by no more (mm) may lie on it."""


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Positions (n, 2), shape and sheet numbers (n,) of all items; sheet -1: not laid."""

    at: Floats
    shape: Ints
    sheet: Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class Store:
    """Sizes of the store of pair records (floats) and depth tables (the others).

    `hits`: after how many tests a pair gets a table.
    """

    floats: int = 40_000_000
    singles: int = 40_000_000
    ints: int = 30_000_000
    hits: int = 200


@dataclass(frozen=True, slots=True)
class Kinds:
    """Identical parts grouped: `of` each part, and one part of each kind."""

    of: tuple[int, ...]
    parts: tuple[Part, ...]


def kinds_of(lay: Lay) -> Kinds:
    """Group parts that may be exchanged for each other."""
    known: dict[Any, int] = {}
    parts: list[Part] = []
    of = []
    for part in lay.parts:
        key = (part.piece.cut, part.piece.holes, part.turns, part.flip, part.region)
        full = (*key, part.binding, part.edge)
        if full not in known:
            known[full] = len(parts)
            parts.append(part)
        of.append(known[full])
    return Kinds(tuple(of), tuple(parts))


def outlines_of(lay: Lay, kinds: Kinds, *, share: float) -> tuple[list[Outline], list[int]]:
    """Prepare the lay's different outlines; return them and the outline of each kind."""
    widths = []
    for part in kinds.parts:
        xy = np.array(part.piece.cut.points(0.5))
        widths.append(float(min(np.ptp(xy, axis=0))))
    least = 0.5 * min(widths, default=0.0)
    known: dict[Any, int] = {}
    outlines: list[Outline] = []
    of = []
    for part in kinds.parts:
        lines = (part.piece.cut, part.piece.holes)
        # The anchor is noted with the outline, so alike pieces with other anchors are others.
        key = (*lines, None if part.binding is None else part.binding.anchor)
        if key not in known:
            known[key] = len(outlines)
            outlines.append(outline(*lines, spacing=lay.spacing, share=share, least_hole=least))
        of.append(known[key])
    return outlines, of


def sampled(turns: Turns, ring: Floats | None, *, steps: int) -> list[float]:
    """Return the angles (degrees) that stand for a part's turns in the separation.

    Where they may vary, the ones that lay a long edge of the hull along an axis are among
    them; without a ring they are the same for all parts, as parts of one turn need.
    """
    edges_at = [] if ring is None else _long_edges(ring)
    if turns.free:
        base = -edges_at[0] if edges_at and steps > 4 else turns.angles[0] if turns.angles else 0.0
        return [round((base + 360.0 * i / steps) % 360.0, 9) for i in range(steps)]
    angles: list[float] = []
    for angle in turns.angles:
        offsets = [0.0]
        if turns.slack > 0.0:
            edges = [-math.remainder(edge + angle, 90.0) for edge in edges_at]
            offsets += [edge for edge in edges if 0.01 < abs(edge) <= turns.slack][:2]
            offsets += [-0.99 * turns.slack, 0.99 * turns.slack]
            if ring is None:
                offsets += [-0.5 * turns.slack, 0.5 * turns.slack]
        angles.extend(angle + offset for offset in offsets)
    return list(dict.fromkeys(round(a % 360.0, 9) for a in angles))


def _long_edges(ring: Floats) -> list[float]:
    """Return the directions (degrees) of the hull's edges, the longest first."""
    cloud = shapely.geometry.MultiPoint(ring)
    hull = cloud.convex_hull.simplify(1e-3 * float(np.ptp(ring)))
    xy = np.asarray(getattr(hull, "exterior", hull).coords)
    ahead = np.diff(xy, axis=0)
    order = np.argsort(-np.hypot(ahead[:, 0], ahead[:, 1]), kind="stable")
    return [math.degrees(math.atan2(ahead[i, 1], ahead[i, 0])) for i in order]


@dataclass(slots=True)
class World:
    """The flat arrays of a lay on certain sheets, and the tables to read them with."""

    lay: Lay
    sheets: tuple[stock.Board, ...]
    kinds: Kinds
    outlines: list[Outline]
    outline_of_kind: list[int]
    store: Store
    length: float
    steps: int = 24
    shapes: list[Shape] = field(default_factory=list)
    phases: list[str] = field(default_factory=list)
    I: Ints = field(init=False)
    F: Floats = field(init=False)
    T: npt.NDArray[np.float32] = field(init=False)
    J: npt.NDArray[np.int32] = field(init=False)
    W: npt.NDArray[np.float32] = field(init=False)
    options: list[list[int]] = field(init=False)
    boxes: Floats = field(init=False)
    median: float = field(init=False)

    def __post_init__(self) -> None:
        self._choose_shapes()
        self._fill()
        self.set_length(self.length)

    # ------------------------------------------------------------ building

    @property
    def items(self) -> int:
        """The number of parts."""
        return len(self.kinds.of)

    def _choose_shapes(self) -> None:
        number: dict[Shape, int] = {}
        per_sheet: list[list[list[Shape]]] = []
        for kind, part in enumerate(self.kinds.parts):
            row = []
            for board in self.sheets:
                area = board.areas.get(part.region)
                turns = part.turns if area is None or area.turns is None else area.turns
                found = self._shapes_of(kind, part, turns) if area is not None else []
                if area is not None and not isinstance(self.lay.stock, Strip):
                    found = [shape for shape in found if self._fits(shape, area)]
                row.append(found)
            per_sheet.append(row)
        for shape in sorted(
            {s for row in per_sheet for opts in row for s in opts},
            key=lambda s: (s.outline, s.angle, s.flipped),
        ):
            number[shape] = len(number)
        self.shapes = list(number)
        self.options = [[number[s] for s in opts] for row in per_sheet for opts in row]

    def _shapes_of(self, kind: int, part: Part, turns: Turns) -> list[Shape]:
        o = self.outline_of_kind[kind]
        wide = len(self.outlines) > 40
        ring = None if part.turn_group is not None else self.outlines[o].ring
        angles = sampled(turns, ring, steps=8 if wide else self.steps)
        flips = (False, True) if part.flip else (False,)
        found = [Shape(o, angle, flip) for flip in flips for angle in angles]
        if part.binding is None and part.turn_group is None and not turns.slack:
            found = distinct(found, self.outlines[o].ring)
        return found

    def _fits(self, shape: Shape, area: stock.Area) -> bool:
        """Whether a shape's box is no larger than an area's."""
        if shape not in self._sizes:
            ring = self.outlines[shape.outline].ring
            self._sizes[shape] = np.ptp(turned(ring, shape), axis=0)
        x0, y0, x1, y1 = area.box
        length, width = self._sizes[shape]
        return bool(length <= x1 - x0 + _HAIR and width <= y1 - y0 + _HAIR)

    _sizes: dict[Shape, Floats] = field(default_factory=dict)

    def _fill(self) -> None:
        n, boards, kinds = self.items, len(self.sheets), len(self.kinds.parts)
        ints, floats = Heap(k.HEAD, np.int64), Heap(k.F_HEAD, np.float64)
        head = ints.head
        head[k.ITEMS], head[k.SHEETS], head[k.KINDS] = n, boards, kinds
        head[k.AT_SHAPE] = ints.add(np.zeros(n))
        head[k.AT_SHEET] = ints.add(np.full(n, -1))
        head[k.AT_KIND] = ints.add(np.array(self.kinds.of, dtype=np.int64))
        sizes = np.array([o.size for o in self.outlines] or [1.0])
        item_sizes = sizes[[self.outline_of_kind[q] for q in self.kinds.of]] if n else sizes
        self.median = float(np.median(item_sizes))
        floats.head[k.TOL] = min(1e-9 * self.median, 1e-7 * float(item_sizes.min()))

        # options, sheets, regions
        counts = [len(opts) for opts in self.options]
        head[k.OPT_PTR] = ints.add(np.concatenate([[0], np.cumsum(counts)]))
        head[k.OPT] = ints.add(np.array([s for opts in self.options for s in opts] or [0]))
        obstacles, shapes_of_obstacle = self._obstacles(len(self.shapes))
        head[k.OBSTACLE] = ints.add(np.array(obstacles, dtype=np.int64))
        all_shapes = [*self.shapes, *(Shape(o, 0.0, False) for o, _ in shapes_of_obstacle)]
        head[k.SHAPES], head[k.ITEM_SHAPES] = len(all_shapes), len(self.shapes)
        head[k.OUTLINE] = ints.add(np.array([s.outline for s in all_shapes] or [0]))
        head[k.FLIP] = ints.add(np.array([int(s.flipped) for s in all_shapes] or [0]))
        turns = {a: i for i, a in enumerate(sorted({s.angle for s in all_shapes}))}
        head[k.TURN_ID] = ints.add(np.array([turns[s.angle] for s in all_shapes] or [0]))

        # convex parts
        bodies = [*((o.parts, o.plain) for o in self.outlines), *((p, p) for p in self._blocks)]
        part_ptr: list[int] = []
        plain_ptr: list[int] = []
        vertex_ptr, vertices = [0], []
        for grown, plain in bodies:
            for target, parts in ((part_ptr, grown), (plain_ptr, plain)):
                target.append(len(vertex_ptr) - 1)
                for ring in parts:
                    vertices.append(ring.ravel())
                    vertex_ptr.append(vertex_ptr[-1] + len(ring))
                target.append(len(vertex_ptr) - 1)
        head[k.PART_PTR] = ints.add(np.array(part_ptr or [0]))
        head[k.PLAIN_PTR] = ints.add(np.array(plain_ptr or [0]))
        head[k.VERTEX_PTR] = ints.add(np.array(vertex_ptr))
        head[k.F_VERT] = floats.add(np.concatenate(vertices) if vertices else np.zeros(2))
        most = max((len(v) for v in vertices), default=6)
        head[k.F_SCRATCH] = floats.add(np.zeros(most + 2))

        self._fill_shapes(floats, all_shapes, shapes_of_obstacle, head)
        self._fill_rules(ints, floats, head)
        self._fill_state(ints, floats, head, item_sizes)
        keys, records = keys_of(all_shapes, len(self.shapes))
        head[k.KEYS] = 0
        head[k.CELLS_MAX] = 64 if records < 3000 else 24 if records < 20000 else 12
        head[k.HITS_FOR_TABLE] = self.store.hits
        head[k.WANTED] = ints.add(np.zeros(k.WANTED_CAP))
        head[k.RECORDS], head[k.AT_RECORD] = records, ints.add(np.zeros(records))
        head[k.F_TOP] = head[k.F_BASE] = floats.size
        head[k.J_TOP] = head[k.J_BASE] = 2 * keys.size
        needed, largest = record_floats(keys, [(len(p), sum(map(len, p))) for p, _ in bodies],
                                [(len(p), sum(map(len, p))) for _, p in bodies],
                                [s.outline for s in all_shapes], len(self.shapes))  # fmt: skip
        self.I = ints.done(0)
        self.F = floats.done(min(needed, max(self.store.floats, largest)))
        self.T = np.empty(self.store.singles, dtype=np.float32)
        self.J = np.empty(2 * keys.size + self.store.ints, dtype=np.int32)
        self.J[: keys.size] = -1 - keys.ravel()
        self.J[keys.size : 2 * keys.size] = keys.ravel()
        self.W = np.ones((n, n + 1), dtype=np.float32)

    def _obstacles(self, first: int) -> tuple[list[int], list[tuple[int, float]]]:
        """Return the complements of regions: per kind and sheet, and (outline, x) of each."""
        self._blocks: list[tuple[Floats, ...]] = []
        bodies: dict[int, int] = {}
        numbers: dict[tuple[int, str | None], int] = {}
        placed: list[tuple[int, float]] = []
        out = []
        boxes = []
        for part in self.kinds.parts:
            for b, board in enumerate(self.sheets):
                area = board.areas.get(part.region)
                if area is None:
                    out.append(-1)
                    boxes.append((1.0, 1.0, -1.0, -1.0))
                    continue
                x0, y0, x1, y1 = area.box
                boxes.append((board.x + x0, y0, board.x + x1, y1))
                if not area.blocks:
                    out.append(-1)
                    continue
                key = (b, part.region)
                if key not in numbers:
                    if id(area) not in bodies:
                        bodies[id(area)] = len(self.outlines) + len(self._blocks)
                        self._blocks.append(area.blocks)
                    numbers[key] = first + len(placed)
                    placed.append((bodies[id(area)], board.x))
                out.append(numbers[key])
        self.boxes = np.array(boxes or [(0.0, 0.0, 0.0, 0.0)], dtype=np.float64)
        return out or [-1], placed

    _blocks: list[tuple[Floats, ...]] = field(init=False)

    def _fill_shapes(
        self,
        floats: Heap,
        shapes: Sequence[Shape],
        obstacles: Sequence[tuple[int, float]],
        head: Ints,
    ) -> None:
        table = np.zeros((max(len(shapes), 1), k.SHAPE_W))
        for s, shape in enumerate(shapes):
            turn = Affine.turn(shape.angle)
            row = table[s]
            row[0], row[1] = turn.a, turn.c
            if s >= len(self.shapes):
                body, x = obstacles[s - len(self.shapes)]
                everything = np.concatenate(self._blocks[body - len(self.outlines)])
                row[2:4], row[4:6] = everything.min(axis=0), everything.max(axis=0)
                row[10], row[11], row[14] = math.sqrt(self.median), self.median, x
                continue
            one = self.outlines[shape.outline]
            for at, ring in ((2, np.concatenate(one.parts)), (6, one.ring)):
                xy = turned(ring, shape)
                row[at : at + 2], row[at + 2 : at + 4] = xy.min(axis=0), xy.max(axis=0)
            row[10], row[11] = one.hull**0.25, one.size
        self._anchors(table)
        head[k.F_SHAPE] = floats.add(table.ravel())
        self.extents = table[: len(self.shapes)].copy()

    extents: Floats = field(init=False)

    def _anchors(self, table: Floats) -> None:
        """Note where a bound part's anchor is in each of its shapes."""
        for kind, part in enumerate(self.kinds.parts):
            if part.binding is None:
                continue
            centre = np.array(self.outlines[self.outline_of_kind[kind]].centre)
            anchor = np.array([part.binding.anchor]) - centre
            for b in range(len(self.sheets)):
                for s in self.options[kind * len(self.sheets) + b]:
                    table[s, 12:14] = turned(anchor, self.shapes[s])[0]

    def _fill_rules(self, ints: Heap, floats: Heap, head: Ints) -> None:
        kinds = self.kinds.parts
        edges = {None: 0, Edge.LOW: 1, Edge.HIGH: 2}
        head[k.KIND_EDGE] = ints.add(np.array([edges[p.edge] for p in kinds] or [0]))
        self.phases = sorted({p.binding.phase for p in kinds if p.binding and p.binding.phase})
        number = {name: i for i, name in enumerate(self.phases)}
        phase = [number.get(p.binding.phase or "", -1) if p.binding else -1 for p in kinds]
        head[k.KIND_PHASE] = ints.add(np.array(phase or [-1]))
        head[k.F_PHASE] = floats.add(np.zeros(2 * max(len(self.phases), 1)))
        lattice = np.zeros((max(len(kinds), 1), k.LATTICE_W))
        for row, part in zip(lattice, kinds, strict=False):
            if part.binding is not None:
                grid = part.binding.lattice
                row[:6] = (
                    grid.along or 0.0, grid.across or 0.0, grid.drop, *grid.origin, grid.tolerance,
                )  # fmt: skip
                head[k.HAS_LATTICE] = 1
        head[k.F_LATTICE] = floats.add(lattice.ravel())
        head[k.F_DOM] = floats.add(self.boxes.ravel())
        groups: dict[str, int] = {}
        of = [
            groups.setdefault(p.turn_group, len(groups)) if p.turn_group else -1
            for p in self.lay.parts
        ]
        head[k.GROUP] = ints.add(np.array(of or [-1]))
        members: dict[str, list[int]] = {}
        for i, p in enumerate(self.lay.parts):
            if p.mates is not None:
                members.setdefault(p.mates, []).append(i)
        lists = [
            [j for j in members.get(p.mates or "", []) if j != i] if p.mates is not None else []
            for i, p in enumerate(self.lay.parts)
        ]
        head[k.HAS_MATES] = int(any(lists))
        head[k.MATE_PTR] = ints.add(np.concatenate([[0], np.cumsum([len(m) for m in lists])]))
        head[k.MATE] = ints.add(np.array([j for m in lists for j in m] or [0]))
        floats.head[k.F_HEAD - 1] = 0.5 * self.median**1.5
        floats.head[k.MATE_PULL] = 1e-3 * math.sqrt(self.median)

    def _fill_state(self, ints: Heap, floats: Heap, head: Ints, sizes: Floats) -> None:
        n = self.items
        head[k.F_POS], head[k.F_BEST] = floats.add(np.zeros(2 * n)), floats.add(np.zeros(2 * n))
        head[k.BOX_STRIDE] = stride = -(-n // BOXES) * BOXES
        head[k.F_BOX] = floats.add(np.repeat([k.FAR, k.FAR, -k.FAR, -k.FAR], stride))
        head[k.F_TOPK] = floats.add(np.zeros(5 * 16))
        head[k.PAIRS_CAP] = 64 * n + 64
        head[k.F_PAIR] = floats.add(np.zeros(64 * n + 64))
        head[k.PAIRS] = ints.add(np.zeros(2 * (64 * n + 64)))
        for slot in (k.BEST_SHAPE, k.BEST_SHEET, k.ORDER, k.VISIT, k.NEIGHBOURS, k.HOT, k.MOVED):
            head[slot] = ints.add(np.zeros(n + 1))
        for slot, value in DEFAULT_COUNTS.items():
            head[slot] = value
        for slot, share in DEFAULT_SHARES.items():
            floats.head[slot] = share
        head[k.GRID_NEXT] = ints.add(np.full(n, -1))
        head[k.GRID_PREV] = ints.add(np.full(n, -1))
        cell = np.full(n, -1)
        extents = self.extents
        reach = np.maximum(extents[:, 4] - extents[:, 2], extents[:, 5] - extents[:, 3])
        big_of_kind = np.zeros(len(self.kinds.parts))
        for q in range(len(self.kinds.parts)):
            first = q * len(self.sheets)
            shapes = [s for opts in self.options[first : first + len(self.sheets)] for s in opts]
            big_of_kind[q] = max((float(reach[s]) for s in shapes), default=0.0)
        per_item = big_of_kind[list(self.kinds.of)] if n else np.zeros(0)
        typical = float(np.median(per_item)) if n else 1.0
        big = np.flatnonzero(per_item > 4.0 * typical)
        cell[big] = -2
        head[k.GRID_CELL] = ints.add(cell)
        head[k.BIG_N] = len(big)
        head[k.BIG] = ints.add(big if len(big) else np.zeros(1))
        if n > GRID_FROM:
            limits = self.boxes[self.boxes[:, 2] >= self.boxes[:, 0]]
            size = max(typical, 1e-9)
            x0, y0 = (limits[:, :2].min(axis=0)) if len(limits) else (0.0, 0.0)
            y1 = limits[:, 3].max() if len(limits) else 1.0
            x1 = min(float(limits[:, 2].max()) if len(limits) else 1.0, x0 + 4000 * size)
            if isinstance(self.lay.stock, Strip):
                area = sum(self.outlines[self.outline_of_kind[q]].area for q in self.kinds.of)
                x1 = min(x1, x0 + 3.0 * area / max(y1 - y0, size) + 10 * size)
            nx = int(min(max((x1 - x0) / size, 1), 4000))
            ny = int(min(max((y1 - y0) / size, 1), 1000))
            floats.head[k.CELL] = size
            floats.head[k.ORIGIN_X], floats.head[k.ORIGIN_Y] = x0, y0
            floats.head[k.REACH_X] = floats.head[k.REACH_Y] = 0.5 * min(
                float(per_item[per_item <= 4.0 * typical].max()), 4.0 * typical
            )
            head[k.GRID_NX], head[k.GRID_NY] = nx, ny
            head[k.GRID_HEAD] = ints.add(np.full(nx * ny, -1))

    # ------------------------------------------------------------ using

    def seed(self, seed: int) -> None:
        """Set the kernels' random numbers."""
        self.I[k.RNG] = random.Random(seed).getrandbits(48)

    def set_length(self, length: float) -> None:
        """Let the last sheet end at a length (mm)."""
        self.length = length
        last = len(self.sheets) - 1
        if last < 0:
            return
        end = self.sheets[last].x + self.sheets[last].low + length
        dom = self.F[self.I[k.F_DOM] :][: self.boxes.size].reshape(self.boxes.shape)
        for q in range(len(self.kinds.parts)):
            row = q * len(self.sheets) + last
            dom[row, 2] = min(self.boxes[row, 2], end)

    def used_length(self, layout: Layout) -> float:
        """Return how far the last sheet's parts reach (mm)."""
        last = len(self.sheets) - 1
        on = layout.sheet == last
        if not on.any():
            return 0.0
        ends = layout.at[on, 0] + self.extents[layout.shape[on], 8]
        return float(ends.max()) - self.sheets[last].x - self.sheets[last].low

    def save(self, *, best: bool = False) -> Layout:
        """Return the present positions, or the best of the separation."""
        n = self.items
        pos, shape, sheet = (
            (k.F_BEST, k.BEST_SHAPE, k.BEST_SHEET) if best else (k.F_POS, k.AT_SHAPE, k.AT_SHEET)
        )
        at = self.F[self.I[pos] :][: 2 * n].reshape(n, 2).copy()
        return Layout(at, self.I[self.I[shape] :][:n].copy(), self.I[self.I[sheet] :][:n].copy())

    def load(self, layout: Layout) -> bool:
        """Set all positions, each to the nearest admissible one; tell whether all have one.

        An item that its sheet can't take in its shape takes another shape, or another sheet.
        """
        I, F = self.I, self.F
        good = True
        for i in range(self.items):
            s, sheet = int(layout.shape[i]), int(layout.sheet[i])
            if sheet < 0:
                k.remove(I, F, i)
                continue
            at = float(layout.at[i, 0]), float(layout.at[i, 1])
            ok, x, y = k.admit(I, F, i, s, sheet, *at)
            if not ok:
                ok, s, sheet, x, y = self._elsewhere(i, s, sheet, at)
                good = good and ok
            k.put(I, F, i, s, sheet, x, y)
        return good

    def _elsewhere(
        self, i: int, shape: int, sheet: int, at: tuple[float, float]
    ) -> tuple[bool, int, int, float, float]:
        """Find a shape and sheet that can take an item, nearest to what it was."""
        angle = self.shapes[shape].angle
        grouped = self.lay.parts[i].turn_group is not None
        for board in [sheet, *(b for b in reversed(range(len(self.sheets))) if b != sheet)]:
            for s in self.options_of(i, board):
                if grouped and self.shapes[s].angle != angle:
                    continue
                x0, y0, x1, y1 = k.domain(self.I, self.F, i, s, board)
                x, y = at if board == sheet else (x0 + (x1 - x0) / 2, y0 + (y1 - y0) / 2)
                ok, x, y = k.admit(self.I, self.F, i, s, board, x, y)
                if ok:
                    return True, s, board, x, y
        return False, shape, sheet, *at

    def overlap(self) -> float:
        """Return the total overlap of the present positions."""
        return float(k.list_overlaps(self.I, self.F, self.T, self.J))

    def placements(self, layout: Layout, *, angles: Floats | None = None) -> list[Placement]:
        """Return the layout in the parts' own terms; `angles` overrides the turns (degrees)."""
        out = []
        for i in range(self.items):
            b = int(layout.sheet[i])
            if b < 0:
                continue
            shape = self.shapes[int(layout.shape[i])]
            angle = shape.angle if angles is None else float(angles[i])
            turn = Affine.turn(angle)
            if shape.flipped:
                turn = turn.after(Affine.mirror())
            cx, cy = turn(self.outlines[shape.outline].centre)
            x = float(layout.at[i, 0]) - cx - self.sheets[b].x
            y = float(layout.at[i, 1]) - cy
            out.append(Placement(part=i, x=x, y=y, angle=angle, flipped=shape.flipped, sheet=b))
        return out

    def options_of(self, i: int, sheet: int) -> list[int]:
        """Return the shapes that an item may take on a sheet."""
        return self.options[self.kinds.of[i] * len(self.sheets) + sheet]

    def may(self, i: int, sheet: int) -> bool:
        """Tell whether an item may lie on a sheet at all."""
        return sheet >= 0 and bool(self.options_of(i, sheet))

    @property
    def area(self) -> float:
        """The parts' true area (mm²)."""
        return sum(self.outlines[self.outline_of_kind[q]].area for q in self.kinds.of)


DEFAULT_COUNTS = {k.N_ANY: 8, k.N_NEAR: 6, k.N_TOP: 3, k.PATIENCE: 100, k.POLISH: 4}
DEFAULT_SHARES = {
    k.GROW_LO: 1.05, k.GROW_HI: 1.4, k.DECAY: 0.99, k.NEAR: 1.0,
}  # fmt: skip
