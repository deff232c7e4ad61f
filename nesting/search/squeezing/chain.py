"""What holds a marker's length: the dual values of the program that pushes its parts together.

A row's dual value says how much longer the marker gets for each mm by which two parts are kept
farther apart; the rows that have one are a chain from the one end to the other, as forces are in
a frame (linear programming duality: G. B. Dantzig, "Linear Programming and Extensions", 1963,
ch. 6 and 12). A dual value holds for a small change, and where several chains are equally long it
is one of several: so what a mm less of a part gives is not read from it, but asked of the same
program with that mm less.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import chain as joined

import numpy as np
import shapely

from nesting.marker.marker import Marker
from nesting.pattern.path import Point
from nesting.pattern.polygon import piece_polygon
from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.state import Layout
from nesting.search.squeezing.linear import Solution, solved
from nesting.search.squeezing.program import Program, program_of
from nesting.search.squeezing.push import Pushed, pushed
from nesting.search.squeezing.squeeze import trust_of
from nesting.search.squeezing.touching import Touching, touching

__all__ = ["Chain", "Hold", "Link", "Share", "chain_of"]

LEAST = 1e-4
"""A dual value, or a gain (mm for a mm), below this is nought."""

_MM = 1.0
"""What is taken away to see what it gives."""

_FAR = 2.0
"""Parts that are farther apart (mm), besides their room, do not come to touch by a mm."""


class Hold(StrEnum):
    """What a part is held by, besides other parts."""

    START = "start"
    END = "end"
    LOW = "low edge"
    HIGH = "high edge"
    PRINT = "print"
    HAND = "held"


_SIDES = {Hold.START: (0, -1.0), Hold.END: (0, 1.0), Hold.LOW: (1, -1.0), Hold.HIGH: (1, 1.0)}
"""The axis and the way in which a part leans on an edge."""

_HAIR = 0.01
"""What is no farther in than this (mm) touches an edge."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Two parts that press on each other, or a part and what else holds it (`by`).

    `force`: how much longer the marker gets for each mm between them. `at`: where (mm).
    """

    part: int
    other: int | None
    by: str
    force: float
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """A part of the chain: how much shorter (mm) the marker is if it is drawn a mm smaller.

    `along` and `across` the goods, as it lies, or along and across itself if it lies `aslant`;
    its neighbours stay neighbours.
    """

    part: int
    along: float
    across: float
    aslant: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """What holds a marker's length.

    `marker`: pushed together, `length` of it (mm). `shares`: the parts between the two ends, in
    the order in which they lie. `wider`: how much shorter (mm) it is on a ground a mm wider;
    `closer`: with a mm less between parts, None if they are no mm apart.
    """

    marker: Marker
    length: float
    links: tuple[Link, ...]
    shares: tuple[Share, ...]
    wider: float
    closer: float | None

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the parts of the chain, in order."""
        return tuple(self.marker.lay.parts[share.part].name for share in self.shares)

    def by(self, hold: str) -> tuple[int, ...]:
        """Return the parts of the chain that something holds."""
        return tuple(dict.fromkeys(link.part for link in self.links if link.by == hold))


def chain_of(marker: Marker) -> Chain | None:
    """Return what holds a marker's length on a strip; None on sheets, or if parts overlap."""
    if not marker.lay.stock.open_ended or not marker.placements:
        return None
    found = pushed(marker)
    return None if found is None else _Chain(found).read()


@dataclass(frozen=True, slots=True, eq=False)
class Shrunk:
    """An outline (n, 2) that is drawn a mm smaller one `way` (a unit vector)."""

    way: Floats
    ring: Floats

    def share(self, points: Floats) -> Floats:
        """Return how much of it points move against the way: 0 at the near side, 1 at the far."""
        at = self.ring @ self.way
        return np.asarray((points @ self.way - at.min()) / (at.max() - at.min()))

    @property
    def moved_edges(self) -> tuple[Floats, Floats]:
        """How far (mm) the least x and y of its box move to less, and the largest."""
        shares, axes = self.share(self.ring), (0, 1)
        ends = [self.ring.argmin(axis=0), self.ring.argmax(axis=0)]
        low, high = (
            np.array([_MM * self.way[a] * shares[which[a]] for a in axes]) for which in ends
        )
        return low, high


class _Chain:
    """The program of a marker that is pushed together, and its answer."""

    def __init__(self, of: Pushed) -> None:
        world = of.world
        world.load(of.layout)
        self.of, self.trust = of, trust_of(world)
        self.length = world.used_length(of.layout)
        world.set_length(self.length + self.trust)  # its bound is no part of the chain
        self.program = program_of(
            world, trust=self.trust, elastic=False, scale=1e4 / world.median, tight=True
        )
        self.answer = _solved(self.program)
        self._touching: dict[tuple[int, int], Touching] = {}
        self._areas: dict[int, shapely.Polygon] = {}
        self.domains = np.array(
            [
                world.state.domain(i, int(self.now.shape[i]), int(self.now.sheet[i]))
                for i in range(world.items)
            ]
        )

    @property
    def now(self) -> Layout:
        return self.program.now

    def read(self) -> Chain | None:
        """Read the chain off the dual values."""
        if self.answer is None:
            return None
        links = tuple(sorted(self._links(), key=lambda link: (link.at, link.part)))
        parts = {link.part for link in links} | {
            link.other for link in links if link.other is not None
        }
        middle = {i: self._middle(i) for i in parts}
        item = {part: i for i, part in enumerate(self.of.index)}
        marker, lay = self.of.marker, self.of.marker.lay
        return Chain(
            marker=marker,
            length=self.length,
            links=links,
            shares=tuple(
                Share(
                    part=part,
                    along=self._less(item[part], 0),
                    across=self._less(item[part], 1),
                    aslant=bool(self._shrunk(item[part], 0).way[0] < 1.0),
                )
                for part in sorted(parts, key=lambda part: (middle[part], part))
            ),
            wider=self._wider(),
            closer=self._closer() if lay.spacing >= _MM else None,
        )

    # ------------------------------------------------------------ who presses on whom

    def _links(self) -> Iterator[Link]:
        assert self.answer is not None
        rows, n = self.answer.rows, self.of.world.items
        pairs = self.program.pairs
        between: defaultdict[tuple[int, int], float] = defaultdict(float)
        for (i, j), force in zip(pairs.pairs, rows, strict=False):
            if force > LEAST and j < n:
                between[int(i), int(j)] += float(force)
        for (i, j), force in between.items():
            a, b = self.of.index[i], self.of.index[j]
            line = shapely.shortest_line(self._area(a), self._area(b))
            (x0, y0), (x1, y1) = line.coords
            at = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
            yield Link(part=a, other=b, by="", force=force, at=at)
        ends = rows[len(pairs.gaps) : len(pairs.gaps) + len(self.program.on_last)]
        for item, force in zip(self.program.on_last, ends, strict=True):
            if force > LEAST:
                yield self._edge(int(item), Hold.END, float(force))
        yield from joined.from_iterable(self._held(i) for i in range(n))
        for row in range(len(pairs.gaps) + len(self.program.on_last), len(rows)):
            if rows[row] > LEAST:  # a link to the shift that parts share
                item = int(self.program.index[self.program.starts[row]]) // 2
                yield self._edge(item, Hold.PRINT, float(rows[row]))

    def _held(self, i: int) -> Iterator[Link]:
        """Yield what keeps an item from moving, by the bounds of its own moves."""
        assert self.answer is not None
        x0, y0, _, y1 = self.domains[i] - np.tile(self.now.at[i], 2)
        part = self.of.marker.lay.parts[self.of.index[i]]
        for axis, (low, high) in enumerate(((x0, None), (y0, y1))):
            cost = float(self.answer.columns[2 * i + axis])
            if abs(cost) <= LEAST:
                continue
            hold = Hold.PRINT if part.binding is not None else None
            if part.held is not None:
                hold = Hold.HAND
            elif cost > 0.0 and abs(low) < 1e-3:
                hold = (Hold.START, Hold.LOW)[axis]
            elif cost < 0.0 and high is not None and abs(high) < 1e-3:
                hold = Hold.HIGH
            if hold is not None:
                yield self._edge(i, hold, abs(cost))

    def _edge(self, i: int, hold: Hold, force: float) -> Link:
        """Return the link of an item to what it leans on, at the middle of what touches there."""
        part = self.of.index[i]
        ring = shapely.get_coordinates(self._area(part).exterior)
        at = self._middle(part)
        if hold in _SIDES:
            axis, sign = _SIDES[hold]
            out = sign * ring[:, axis]
            there = ring[out >= out.max() - _HAIR]
            x, y = 0.5 * (there.min(axis=0) + there.max(axis=0))
            at = (float(x), float(y))
        return Link(part=part, other=None, by=hold, force=force, at=at)

    def _area(self, part: int) -> shapely.Polygon:
        if part not in self._areas:
            place = next(p for p in self.of.marker.placements if p.part == part)
            piece = self.of.marker.lay.parts[part].piece
            self._areas[part] = piece_polygon(piece, by=place.affine)
        return self._areas[part]

    def _middle(self, part: int) -> Point:
        x0, y0, x1, y1 = self._area(part).bounds
        return 0.5 * (x0 + x1), 0.5 * (y0 + y1)

    # ------------------------------------------------------------ what a mm less gives

    def _less(self, i: int, axis: int) -> float:
        """Return the gain of an item drawn a mm smaller, its near side where it is."""
        pairs, program = self.program.pairs, self.program
        least, low, high = program.least.copy(), program.low.copy(), program.high.copy()
        shrunk = self._shrunk(i, axis)
        for which, sign in ((0, 1.0), (1, -1.0)):
            for row in np.flatnonzero(pairs.pairs[:, which] == i):
                other = int(pairs.pairs[row, 1 - which])
                if other < self.of.world.items and pairs.gaps[row] <= _FAR:
                    outward = sign * pairs.normals[row]
                    least[row] -= self._given_way(i, other, shrunk, outward) * program.scale
        (left, bottom), (right, top) = shrunk.moved_edges
        ends = slice(len(pairs.gaps), len(pairs.gaps) + len(program.on_last))
        least[ends][program.on_last == i] -= right * program.scale
        if self.of.marker.lay.parts[self.of.index[i]].held is None:
            low[2 * i] += left * program.scale
        if self._free_across(i):
            low[2 * i + 1] += bottom * program.scale
            high[2 * i + 1] += top * program.scale
        return self._gain(replace(program, least=least, low=low, high=high))

    def _shrunk(self, i: int, axis: int) -> Shrunk:
        """Return how an item is drawn smaller: as it lies, or if it lies aslant in itself."""
        part = self.of.index[i]
        place = next(p for p in self.of.marker.placements if p.part == part)
        turn = 0.0 if abs(math.remainder(place.angle, 90.0)) < 1e-6 else math.radians(place.angle)
        along = (math.cos(turn), math.sin(turn))
        way = np.array(along if axis == 0 else (-along[1], along[0]))
        return Shrunk(way, shapely.get_coordinates(self._area(part).exterior))

    def _given_way(self, i: int, other: int, shrunk: Shrunk, outward: Floats) -> float:
        """Return how far (mm) an item gives way to another as it is drawn smaller.

        `outward`: the normal between them. Of all points where they touch along it the one that
        gives way least counts: sides that slope turn a little.
        """
        if (i, other) not in self._touching:
            mine, theirs = (self._area(self.of.index[k]) for k in (i, other))
            self._touching[i, other] = touching(mine, theirs)
        points = self._touching[i, other].along(outward)
        moved = float(outward @ shrunk.way) * shrunk.share(points)
        return float(moved.min()) * _MM if len(points) else 0.0

    def _wider(self) -> float:
        """Return the gain of a ground that is a mm wider."""
        high = self.program.high.copy()
        for i in range(self.of.world.items):
            if self._free_across(i):
                high[2 * i + 1] += _MM * self.program.scale
        return self._gain(replace(self.program, high=high))

    def _closer(self) -> float:
        """Return the gain of a mm less between every two parts."""
        pairs, n = self.program.pairs, self.of.world.items
        least = self.program.least.copy()
        least[: len(pairs.gaps)][pairs.pairs[:, 1] < n] -= _MM * self.program.scale
        return self._gain(replace(self.program, least=least))

    def _free_across(self, i: int) -> bool:
        """Whether nothing but the edges says how far across an item may lie."""
        part = self.of.marker.lay.parts[self.of.index[i]]
        return part.held is None and part.binding is None and part.edge is None

    def _gain(self, program: Program) -> float:
        assert self.answer is not None
        changed, column = _solved(program), 2 * self.of.world.items
        if changed is None:
            return 0.0
        gain = float(self.answer.values[column] - changed.values[column]) / program.scale
        return gain if gain > LEAST else 0.0


def _solved(program: Program) -> Solution | None:
    return solved(
        cost=program.cost, low=program.low, high=program.high, row_low=program.least,
        starts=program.starts, columns=program.index, values=program.values,
    )  # fmt: skip
