"""The last squeeze with turns: a linear program in which parts also turn a little.

Between near convex parts the separating line is an edge of one of them and turns with it;
moves and small turns are linearised, the result is checked on the exactly turned parts and
mended by moves alone (after Milenkovic 1998, Computational Geometry 10, 3-22).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import highspy
import numpy as np

from nesting.marker.lay import Strip, Turns
from nesting.search.kernels import turned as kt
from nesting.search.shapes import Floats
from nesting.search.squeeze import Clock, endless, solve
from nesting.search.world import Layout, World

__all__ = ["Turned", "squeeze_turning"]


@dataclass(slots=True)
class Turned:
    """Items at any turn on a strip: positions (n, 2) and angles (n,) in radians."""

    world: World
    at: Floats
    angle: Floats
    flip: list[bool]
    low: Floats
    high: Floats

    @property
    def degrees(self) -> Floats:
        """The angles in degrees."""
        return np.degrees(self.angle)

    def ring(self, i: int) -> Floats:
        """Return the true outline's corners of an item about its origin, turned."""
        world = self.world
        outline = world.outlines[world.outline_of_kind[world.kinds.of[i]]]
        return _turn(outline.ring, self.angle[i], self.flip[i])

    def length(self) -> float:
        """Return how far the items reach (mm)."""
        ends = [self.at[i, 0] + self.ring(i)[:, 0].max() for i in range(len(self.angle))]
        return float(max(ends))


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


def _of(world: World, layout: Layout) -> Turned:
    angles = [world.shapes[int(s)].angle for s in layout.shape]
    flips = [world.shapes[int(s)].flipped for s in layout.shape]
    radians = np.radians(np.array(angles))
    ranges = []
    for i, part in enumerate(world.lay.parts):
        fixed = part.binding is not None or part.turn_group is not None
        ranges.append((0.0, 0.0) if fixed else _range(part.turns, angles[i]))
    spans = np.array(ranges)
    low, high = radians + spans[:, 0], radians + spans[:, 1]
    return Turned(world, layout.at.copy(), radians, flips, low, high)


@dataclass(frozen=True, slots=True, eq=False)
class _Parts:
    """All items' convex parts in one array, turned: items' and parts' first entries."""

    xy: Floats
    first: np.ndarray
    of_item: np.ndarray


def _parts(state: Turned) -> _Parts:
    rings: list[Floats] = []
    of_item = [0]
    world = state.world
    for i in range(len(state.angle)):
        outline = world.outlines[world.outline_of_kind[world.kinds.of[i]]]
        for part in outline.parts:
            ring = _turn(part, state.angle[i], state.flip[i])
            rings.append(ring[::-1] if state.flip[i] else ring)
        of_item.append(len(rings))
    first = np.concatenate([[0], np.cumsum([len(r) for r in rings])]).astype(np.int64)
    return _Parts(
        np.ascontiguousarray(np.concatenate(rings)), first, np.array(of_item, dtype=np.int64)
    )


def _rows(state: Turned, reach: float) -> tuple[np.ndarray, Floats]:
    parts = _parts(state)
    size = 200 * len(state.angle) + 4000
    while True:
        pairs = np.empty((size, 2), dtype=np.int64)
        rows = np.empty((size, 5))
        count = kt.turning_rows(parts.xy, parts.first, parts.of_item, state.at, reach, pairs, rows)
        if count >= 0:
            return pairs[:count], rows[:count]
        size *= 3


def _worst(state: Turned) -> float:
    """Return the deepest overlap of two convex parts, mm; negative: the least gap."""
    _, rows = _rows(state, 0.02 * state.world.median)
    return float(-rows[:, 4].min()) if len(rows) else -1.0


def _step(
    state: Turned, *, trust: float, spin: float, mend: bool, length: float, left: Clock
) -> Turned | None:
    """Solve one program; `spin` (radians, 0: no turning), `mend`: overlaps at fixed length."""
    n = len(state.angle)
    stock = state.world.lay.stock
    assert isinstance(stock, Strip)
    scale = 1e4 / state.world.median
    pairs, rows = _rows(state, 2.0 * trust)
    m = len(pairs)
    total = 3 * n + 1 + (m if mend else 0)
    size = state.world.median  # turns as arcs of this radius, to match moves
    cost, low, high = np.zeros(total), np.zeros(total), np.zeros(total)
    low[: 2 * n], high[: 2 * n] = -trust, trust
    low[2 * n : 3 * n] = np.maximum(state.low - state.angle, -spin) * size
    high[2 * n : 3 * n] = np.minimum(state.high - state.angle, spin) * size
    low[3 * n], high[3 * n] = (length, length) if mend else (0.0, length)
    cost[3 * n] = 1.0
    low, high = np.minimum(low, high), high
    if mend:
        cost[3 * n + 1 :], high[3 * n + 1 :] = 1.0, highspy.kHighsInf / scale
    i, j = pairs[:, 0], pairs[:, 1]
    columns = [2 * i, 2 * i + 1, 2 * n + i, 2 * j, 2 * j + 1, 2 * n + j]
    normal = rows[:, :2]
    values = [-normal[:, 0], -normal[:, 1], rows[:, 2] / size, normal[:, 0], normal[:, 1],
              rows[:, 3] / size]  # fmt: skip
    if mend:
        columns.append(3 * n + 1 + np.arange(m))
        values.append(np.ones(m))
    index = [np.stack(columns, axis=1).ravel()]
    value = [np.stack(values, axis=1).ravel()]
    lengths = [np.full(m, len(columns), dtype=np.int64)]
    least = [-rows[:, 4] * scale + 2e-7]
    edges = ((0, 1.0, 0.0), (1, 1.0, 0.0), (1, -1.0, -stock.width), (0, -1.0, 0.0))
    for axis, sign, limit in edges:
        idx, val, low_row = _edge_rows(state, axis, sign, limit, size, trust + spin * size)
        if axis == 0 and sign < 0:
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
    at = state.at + answer[: 2 * n].reshape(n, 2)
    return Turned(state.world, at, turned, state.flip, state.low, state.high)


def _edge_rows(
    state: Turned, axis: int, sign: float, limit: float, size: float, reach: float
) -> tuple[np.ndarray, Floats, Floats]:
    """Rows sign · (coordinate + moves) >= limit for the corners that may touch an edge."""
    n = len(state.angle)
    index, value, least = [], [], []
    for i in range(n):
        ring = state.ring(i)
        along = sign * ring[:, axis]
        near = np.flatnonzero(along <= along.min() + min(reach, 0.2 * size))
        spin = -ring[:, 1] if axis == 0 else ring[:, 0]
        for v in near:
            index.append((2 * i + axis, 2 * n + i))
            value.append((sign, sign * spin[v] / size))
            least.append(limit - sign * (state.at[i, axis] + ring[v, axis]))
    return np.array(index, dtype=np.int64), np.array(value), np.array(least)


def _inside(state: Turned) -> float:
    """Push items back onto the strip; return how far off the worst was (mm)."""
    stock = state.world.lay.stock
    assert isinstance(stock, Strip)
    worst = 0.0
    for i in range(len(state.angle)):
        ring = state.ring(i) + state.at[i]
        low, high = ring.min(axis=0), ring.max(axis=0)
        worst = max(worst, -low[0], -low[1], high[1] - stock.width)
        state.at[i, 0] += max(0.0, -low[0])
        state.at[i, 1] += max(0.0, -low[1]) - max(0.0, high[1] - stock.width)
    return float(worst)


def _mended(
    state: Turned, tolerance: float, ends: Callable[[], bool], left: Clock
) -> Turned | None:
    """Return the state without overlap, by moves alone, or None."""
    trust = 0.05 * state.world.median
    length = state.length()
    for _ in range(5):
        if _inside(state) <= tolerance and _worst(state) <= tolerance:
            return state
        if ends():
            return None
        # the shortest length at which it works out: the length is free, overlaps are not
        got = _step(state, trust=trust, spin=0.0, mend=False, length=2.0 * length, left=left)
        if got is None:
            got = _step(state, trust=trust, spin=0.0, mend=True, length=length, left=left)
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
    """Squeeze a strip's layout with small turns; return positions and angles (degrees).

    None if that gained nothing.
    """
    if not isinstance(world.lay.stock, Strip) or (layout.sheet < 0).any():
        return None
    best = _of(world, layout)
    if any(part.binding or part.edge for part in world.lay.parts):
        return None
    shortest = before = best.length()
    tolerance = 1e-8 * world.median
    many = sum(len(o.parts) for o in world.outlines) > 10 * len(world.outlines)
    trust, spin = (0.04 if many else 0.1) * world.median, math.radians(2.0 if many else 4.0)
    for _ in range(steps):
        if ends():
            break
        got = _step(best, trust=trust, spin=spin, mend=False, length=shortest * 1.01, left=left)
        mended = _mended(got, tolerance, ends, left) if got is not None else None
        gain = shortest - mended.length() if mended is not None else -1.0
        if mended is not None and gain > 0.0:
            best, shortest = mended, shortest - gain
        if gain < 2e-4 * shortest:
            spin /= 2.0
            trust = max(trust / 1.5, 0.01 * world.median)
            if spin < math.radians(0.02):
                break
    if shortest >= before * (1.0 - 1e-9):
        return None
    return Layout(best.at, layout.shape, layout.sheet), best.degrees
