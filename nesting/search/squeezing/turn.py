"""The last squeeze with turns: a linear program in which parts also turn a little.

Between near convex parts the separating line is an edge of one of them and turns with it;
moves and small turns are linearised, the result is checked on the exactly turned parts and
mended by moves alone (after Milenkovic 1998, Computational Geometry 10, 3-22).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import accumulate, pairwise

import highspy
import numpy as np
import numpy.typing as npt

from nesting.marker.lay import Turns
from nesting.search.kernels import turned as kt
from nesting.search.prepared.boards import Area
from nesting.search.prepared.outlines import Outline
from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.square import pays
from nesting.search.squeezing.linear import solve
from nesting.search.squeezing.squeeze import Clock, endless

__all__ = ["Turned", "inside", "squeeze_turning", "state_of", "step", "telling", "worst"]

_NOWHERE = Area((0.0, 0.0, 0.0, 0.0), (), 0.0)
"""Of what is held on a sheet without an area of its name: it does not move."""

Ints = npt.NDArray[np.int64]


@dataclass(slots=True)
class Turned:
    """Items at any turn: positions (n, 2) and angles (n,) in radians.

    `low` and `high`: the angles they may take. `moved`: whether they move at all: those on
    the last sheet that no print, edge or mate holds; `loose`: those of all sheets. `boxes`
    (n, 4): where they may lie, less the blocks (convex rings) of obstacle `own`, -1 for none.
    `start`: where the last sheet's length is counted from.
    """

    world: World
    at: Floats
    angle: Floats
    flip: list[bool]
    low: Floats
    high: Floats
    moved: npt.NDArray[np.bool_]
    loose: npt.NDArray[np.bool_]
    last: npt.NDArray[np.bool_]
    boxes: Floats
    own: Ints
    blocks: list[list[Floats]]
    start: float

    @property
    def degrees(self) -> Floats:
        """The angles in degrees."""
        return np.degrees(self.angle)

    def ring(self, i: int) -> Floats:
        """Return the true outline's corners of an item about its origin, turned."""
        return _turn(self.outline(i).ring, self.angle[i], self.flip[i])

    def outline(self, i: int) -> Outline:
        """Return an item's outline."""
        world = self.world
        return world.outlines[world.outline_of_kind[world.kinds.of[i]]]

    def length(self) -> float:
        """Return how far the items on the last sheet reach (mm)."""
        return self._ends(self.last)

    def moved_length(self) -> float:
        """Return the same of those that move; nothing if none does."""
        return self._ends(self.last & self.moved)

    def _ends(self, items: npt.NDArray[np.bool_]) -> float:
        ends = [self.at[i, 0] + self.ring(i)[:, 0].max() for i in map(int, np.flatnonzero(items))]
        return float(max(ends, default=self.start)) - self.start


def _turn(ring: Floats, angle: float, flip: bool) -> Floats:
    xy = ring * np.array([1.0, -1.0 if flip else 1.0])
    c, s = math.cos(angle), math.sin(angle)
    return np.ascontiguousarray(xy @ np.array([[c, s], [-s, c]]))


def _range(turns: Turns, angle: float) -> tuple[float, float]:
    """Return how far (radians) an angle (degrees) may turn down and up."""
    if turns.free:
        return -math.pi, math.pi
    for allowed in turns.angles:
        off = math.remainder(angle - allowed, 360.0)
        if abs(off) <= turns.slack + 1e-9:
            slack = 0.999999 * turns.slack
            return math.radians(min(-slack - off, 0.0)), math.radians(max(slack - off, 0.0))
    return 0.0, 0.0


def state_of(world: World, layout: Layout, angles: Floats | None = None) -> Turned:
    """Return a layout's items at their turns, or at other angles (degrees)."""
    shapes = [world.shapes[int(s)] for s in layout.shape]
    turns = np.array([shape.angle for shape in shapes]) if angles is None else angles
    radians = np.radians(turns)
    number = [board.number for board in world.sheets]
    last = np.array([number[int(b)] for b in layout.sheet])
    final = int(last.max())
    board = next(b for b in world.sheets if b.number == final)
    held, ranges, boxes, own = [], [], [], []
    blocks: dict[tuple[int, int], int] = {}
    rings: list[list[Floats]] = []
    for i, part in enumerate(world.lay.parts):
        sheet = world.sheets[int(layout.sheet[i])]
        area = sheet.areas.get(part.region, _NOWHERE) if part.held else sheet.areas[part.region]
        bound = part.binding is not None or part.edge is not None or part.mates is not None
        held.append(bound or part.held is not None)
        fixed = held[-1] or part.turn_group is not None
        allowed = part.turns if area.turns is None else area.turns
        ranges.append((0.0, 0.0) if fixed else _range(allowed, float(turns[i])))
        boxes.append(np.array(area.box) + np.array([sheet.x, 0.0, sheet.x, 0.0]))
        key = int(layout.sheet[i]), id(area)  # sheets that are alike share their areas
        if area.blocks and key not in blocks:
            blocks[key] = len(rings)
            rings.append([block + np.array([sheet.x, 0.0]) for block in area.blocks])
        own.append(blocks[key] if area.blocks and part.held is None else -1)
    spans = np.array(ranges)
    return Turned(
        world, layout.at.copy(), radians, [shape.flipped for shape in shapes],
        radians + spans[:, 0], radians + spans[:, 1], (last == final) & ~np.array(held),
        ~np.array(held), last == final, np.array(boxes), np.array(own, dtype=np.int64), rings,
        board.x + board.low,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Parts:
    """The convex parts of items, then of obstacles, in one array, turned.

    `first`: parts' first entries; `of` (n, 4): each one's parts, first and last but one, and
    the same of those that count against obstacles, which have no spacing around them.
    """

    xy: Floats
    first: Ints
    of: Ints


@lru_cache(maxsize=1024)
def _radius(outline: Outline) -> float:
    """Return how far an outline reaches from its centre, half the spacing too (mm)."""
    return max(float(np.hypot(*ring.T).max()) for ring in (*outline.parts, *outline.plain))


def _met(state: Turned, reach: float) -> npt.NDArray[np.bool_]:
    """Tell which items may lie within reach of one that moves, and those that move."""
    if state.moved.all():
        return state.moved
    radius = np.array([_radius(state.outline(i)) for i in range(len(state.angle))])
    met = state.moved.copy()
    for i in np.flatnonzero(state.moved):
        met |= np.hypot(*(state.at - state.at[i]).T) <= radius + radius[i] + reach
    return met


def _parts(state: Turned, reach: float) -> _Parts:
    """Return what may matter to items that move; of all others there is nothing."""
    rings: list[Floats] = []
    of: list[tuple[int, int, int, int]] = []
    met = _met(state, reach)
    for i in range(len(state.angle)):
        if not met[i]:
            of.append((len(rings),) * 4)
            continue
        outline = state.outline(i)
        ends = [len(rings)]
        for body in (outline.parts, outline.plain if state.own[i] >= 0 else ()):
            if body:
                whole = _turn(np.concatenate(body), state.angle[i], state.flip[i])
                spans = pairwise(accumulate(map(len, body), initial=0))
                turned = [whole[first:end] for first, end in spans]
                rings += [ring[::-1] for ring in turned] if state.flip[i] else turned
            ends.append(len(rings))
        of.append((ends[0], ends[1], ends[1], ends[2]))
    for blocks in state.blocks:
        of.append((len(rings), len(rings) + len(blocks), 0, 0))
        rings.extend(blocks)
    first = np.concatenate([[0], np.cumsum([len(r) for r in rings])]).astype(np.int64)
    return _Parts(np.ascontiguousarray(np.concatenate(rings)), first, np.array(of, dtype=np.int64))


def _rows(state: Turned, reach: float) -> tuple[Ints, Floats]:
    parts = _parts(state, reach)
    fixed = np.zeros(len(state.blocks), dtype=bool)
    moved = np.concatenate([state.moved, fixed])
    at = np.concatenate([state.at, np.zeros((len(state.blocks), 2))])
    size = 200 * len(state.angle) + 4000
    while True:
        pairs = np.empty((size, 2), dtype=np.int64)
        rows = np.empty((size, 5))
        count = kt.turning_rows(
            parts.xy, parts.first, parts.of, at, state.own, moved, reach, pairs, rows
        )
        if count >= 0:
            return pairs[:count], rows[:count]
        size *= 3


def telling(pairs: Ints, rows: Floats, *, trust: float, spin: float) -> npt.NDArray[np.bool_]:
    """Tell which rows (n, 5) no other row of the same two items (n, 2) implies.

    As long as no item moves by more than `trust` (mm) along an axis, nor turns by more than
    `spin` (radians): then no gap changes by more, beside another, than its terms differ.
    """
    told = np.zeros(len(rows), dtype=bool)
    ends = np.flatnonzero((pairs[1:] != pairs[:-1]).any(axis=1)) + 1
    weights = np.array([2.0 * trust, 2.0 * trust, spin, spin])
    for group in np.split(np.arange(len(rows)), ends):
        told[group[_least(rows[group, :4] * weights, rows[group, 4])]] = True
    return told


def _least(terms: Floats, gaps: Floats) -> list[int]:
    """Return the rows whose gaps are least: others are larger by all that terms can differ."""
    found: list[int] = []
    alive = np.argsort(gaps, kind="stable")
    while len(alive):
        least, others = alive[0], alive[1:]
        found.append(int(least))
        more = np.abs(terms[others] - terms[least]).sum(axis=1)
        alive = others[gaps[others] - gaps[least] < more]
    return found


def worst(state: Turned) -> float:
    """Return the deepest overlap of an item that moves, mm; negative: the least gap."""
    _, rows = _rows(state, 0.02 * state.world.median)
    return float(-rows[:, 4].min()) if len(rows) else -1.0


def step(
    state: Turned, *, trust: float, spin: float, mend: bool, length: float, left: Clock
) -> Turned | None:
    """Solve one program; `spin` (radians, 0: no turning), `mend`: overlaps at fixed length."""
    n = len(state.angle)
    scale = 1e4 / state.world.median
    pairs, rows = _rows(state, 2.0 * trust)
    told = telling(pairs, rows, trust=trust, spin=spin)
    pairs, rows = pairs[told], rows[told]
    m = len(pairs)
    total = 3 * n + 1 + (m if mend else 0)
    size = state.world.median  # turns as arcs of this radius, to match moves
    cost, low, high = np.zeros(total), np.zeros(total), np.zeros(total)
    moves = np.where(state.moved, trust, 0.0)
    low[: 2 * n], high[: 2 * n] = -np.repeat(moves, 2), np.repeat(moves, 2)
    spins = np.where(state.moved, spin, 0.0)
    low[2 * n : 3 * n] = np.maximum(state.low - state.angle, -spins) * size
    high[2 * n : 3 * n] = np.minimum(state.high - state.angle, spins) * size
    low[3 * n], high[3 * n] = (length, length) if mend else (0.0, length)
    cost[3 * n] = 1.0
    low, high = np.minimum(low, high), high
    if mend:
        cost[3 * n + 1 :], high[3 * n + 1 :] = 1.0, highspy.kHighsInf / scale
    i, j = pairs[:, 0], pairs[:, 1]
    body = j < n  # an obstacle does not move
    columns = [2 * i, 2 * i + 1, 2 * n + i, 2 * j, 2 * j + 1, 2 * n + j]
    normal = rows[:, :2]
    values = [-normal[:, 0], -normal[:, 1], rows[:, 2] / size, normal[:, 0], normal[:, 1],
              rows[:, 3] / size]  # fmt: skip
    keep = [np.ones(m, dtype=bool)] * 3 + [body] * 3
    if mend:
        columns.append(3 * n + 1 + np.arange(m))
        values.append(np.ones(m))
        keep.append(np.ones(m, dtype=bool))
    kept = np.stack(keep, axis=1)
    index = [np.stack(columns, axis=1)[kept]]
    value = [np.stack(values, axis=1)[kept]]
    lengths = [kept.sum(axis=1)]
    least = [-rows[:, 4] * scale + 2e-7]
    boxes = state.boxes
    edges = [(0, 1.0, boxes[:, 0]), (1, 1.0, boxes[:, 1]), (1, -1.0, -boxes[:, 3])]
    if not state.world.lay.stock.open_ended:
        edges.append((0, -1.0, -boxes[:, 2]))
    end = np.full(n, -state.start)
    # At a fixed length what lies still is in nobody's way.
    bounding = state.last & state.moved if mend else state.last
    for axis, sign, limit, to_end in (*((*edge, False) for edge in edges), (0, -1.0, end, True)):
        of = np.flatnonzero(bounding if to_end else state.moved)
        idx, val, low_row = _edge_rows(state, of, axis, sign, limit, size, trust + spin * size)
        if to_end:
            idx = np.concatenate([idx, np.full((len(idx), 1), 3 * n)], axis=1)
            val = np.concatenate([val, np.ones((len(val), 1))], axis=1)
        index.append(idx.ravel())
        value.append(val.ravel())
        lengths.append(np.full(len(idx), idx.shape[1], dtype=np.int64))
        least.append(low_row * scale)
    answer = solve(
        cost=cost, low=low * scale, high=np.minimum(high * scale, highspy.kHighsInf),
        row_low=np.concatenate(least),
        starts=np.concatenate([[0], np.cumsum(np.concatenate(lengths))]),
        columns=np.concatenate(index), values=np.concatenate(value), seconds=0.5 * left(),
    )  # fmt: skip
    if answer is None:
        return None
    answer = answer / scale
    turned = np.clip(state.angle + answer[2 * n : 3 * n] / size, state.low, state.high)
    return replace(state, at=state.at + answer[: 2 * n].reshape(n, 2), angle=turned)


def _edge_rows(
    state: Turned, of: Ints, axis: int, sign: float, limit: Floats, size: float, reach: float
) -> tuple[Ints, Floats, Floats]:
    """Rows sign · (coordinate + moves) >= limit for the corners that may touch an edge."""
    n, reach = len(state.angle), min(reach, 0.2 * size)
    item, at, spin = [np.zeros(0, dtype=np.int64)], [np.zeros(0)], [np.zeros(0)]
    for i in map(int, of):
        ring = state.ring(i)
        along = sign * ring[:, axis]
        near = np.flatnonzero(along <= along.min() + reach)
        item.append(np.full(len(near), i))
        at.append(along[near])
        spin.append((-ring[near, 1] if axis == 0 else ring[near, 0]) * (sign / size))
    items, spins = np.concatenate(item), np.concatenate(spin)
    return (
        np.stack([2 * items + axis, 2 * n + items], axis=1),
        np.stack([np.full(len(items), sign), spins], axis=1),
        limit[items] - (sign * state.at[items, axis] + np.concatenate(at)),
    )


def inside(state: Turned) -> float:
    """Push items back into their boxes; return how far off the worst was (mm)."""
    worst = 0.0
    for i in map(int, np.flatnonzero(state.moved)):
        ring = state.ring(i) + state.at[i]
        low = np.maximum(state.boxes[i, :2] - ring.min(axis=0), 0.0)
        high = np.maximum(ring.max(axis=0) - state.boxes[i, 2:], 0.0)
        worst = max(worst, float(low.max()), float(high.max()))
        state.at[i] += low - high
    return worst


def _mended(
    state: Turned, tolerance: float, ends: Callable[[], bool], left: Clock
) -> Turned | None:
    """Return the state without overlap, by moves alone, or None."""
    trust = 0.05 * state.world.median
    length = state.length()
    for _ in range(5):
        if inside(state) <= tolerance and worst(state) <= tolerance:
            return state
        if ends():
            return None
        # the shortest length at which it works out: the length is free, overlaps are not
        got = step(state, trust=trust, spin=0.0, mend=False, length=2.0 * length, left=left)
        if got is None:
            got = step(state, trust=trust, spin=0.0, mend=True, length=length, left=left)
        if got is None:
            return None
        state = got
    return None


def squeeze_turning(
    world: World,
    layout: Layout,
    *,
    ends: Callable[[], bool],
    left: Clock = endless,
    steps: int = 25,
) -> tuple[Layout, Floats] | None:
    """Squeeze the last sheet of a layout with small turns; return positions and angles (degrees).

    None if that gained less than what odd turns are worth (`square.pays`).
    """
    if (layout.sheet < 0).any():
        return None
    best = state_of(world, layout)
    if not (best.high - best.low)[best.moved].any():
        return None
    shortest = before = best.length()
    tolerance = 1e-8 * world.median
    many = sum(len(o.parts) for o in world.outlines) > 10 * len(world.outlines)
    trust, spin = (0.04 if many else 0.1) * world.median, math.radians(2.0 if many else 4.0)
    took = 0.0
    for _ in range(steps):
        if ends() or left() < 2.0 * took:
            break
        begin = left()
        got = step(best, trust=trust, spin=spin, mend=False, length=shortest * 1.01, left=left)
        mended = _mended(got, tolerance, ends, left) if got is not None else None
        took = begin - left() if math.isfinite(begin) else 0.0
        gain = shortest - mended.length() if mended is not None else -1.0
        if mended is not None and gain > 0.0:
            best, shortest = mended, shortest - gain
        if gain < 2e-4 * shortest:
            spin /= 2.0
            trust = max(trust / 1.5, 0.01 * world.median)
            if spin < math.radians(0.02):
                break
    if not pays(shortest, before):
        return None
    return Layout(best.at, layout.shape, layout.sheet), best.degrees
