"""A bound for parts centred on a print: each takes steps of the repeat, and no point twice.

A part whose anchor has to hit the print's lattice may lie in a row and a column of it only.
Points of one repeat are chosen, among them one of every overlap that two such parts may have;
over each of its images lies one part at most. Whether all parts find rows and columns so that
the marker is no longer than some length decides CP-SAT; a length at which they don't is proved
to be too short. Parts that are not bound, and all rules but these, are left out of account.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from nesting.marker.lay import Lattice, Lay, Part, Strip
from nesting.pattern.path import Affine
from nesting.pattern.polygon import piece_polygon
from nesting.tolerance import TOLERANCE

__all__ = ["printed_length"]

_EFFORT = 0.6
"""CP-SAT's deterministic time for one length."""

_TYPES = 60
"""Of more ways in which parts may lie in a repeat no bound is sought: it would take long."""

_CELLS = 4_000
"""Nor where so many places would have to be weighed."""

_GRID = 4
"""Points of a repeat along and across, before those of overlaps."""

_TOUCH = 1e-3
"""An overlap of less than this (mm²) is rounding."""

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """One way of a kind of part to lie in the repeat: its body when its anchor is at a motif.

    `kind` counts the kinds; `odd`: in an odd row, whose shift is in the body. The body is
    smaller by what its anchor may be off, and larger by half the spacing. `box`: left, bottom,
    right and top of the part itself, no more than it surely reaches.
    """

    kind: int
    odd: int
    body: BaseGeometry
    box: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class _Repeat:
    """The print's repeat: its lattice, the ways of all kinds, and how many parts of each."""

    along: float
    across: float
    x: float
    y: float
    ways: tuple[_Way, ...]
    counts: tuple[int, ...]
    width: float


def printed_length(lay: Lay, *, low: float, high: float, ends: Callable[[], bool]) -> float:
    """Return a length (mm) no marker of a lay undercuts, by the parts that its print binds.

    Parameters
    ----------
    lay
        Any lay; of one that has no such parts, or too many kinds of them, nothing is proved.
    low, high
        A bound that is known, and the length of a marker.
    ends
        Whether to stop; what is proved by then counts.

    """
    if not lay.stock.open_ended:
        return low
    repeat = _repeat(lay, lay.stock)
    if repeat is None:
        return low
    places = list(_places(repeat, high))
    if len(places) > _CELLS:
        return low
    points = _points(repeat)
    covered = [_covered(repeat, way, points) for way in repeat.ways]
    found = [low, *sorted({right for _, _, _, right in places if low < right <= high})]
    first, last = 0, len(found)  # at found[last] and beyond it may be possible
    while first < last and not ends():
        middle = (first + last) // 2
        if _certainly_not(repeat, covered, places, found[middle]):
            first = middle + 1
        else:
            last = middle
    # After those that are too short the next at which a part may end.
    return found[min(first, len(found) - 1)]


def _repeat(lay: Lay, strip: Strip) -> _Repeat | None:
    """Return the repeat that most parts are bound to; None if none is, or it is too much."""
    kinds: defaultdict[Lattice, Counter[Part]] = defaultdict(Counter)
    for part in lay.parts:
        binding = part.binding
        if binding is None or binding.phase is not None or part.turns.slack or part.flip:
            continue
        if binding.lattice.along and binding.lattice.across:
            lattice = replace(binding.lattice, tolerance=0.0)
            kinds[lattice][Part(name="", piece=part.piece, turns=part.turns, binding=binding)] += 1
    if not kinds:
        return None
    lattice, found = max(kinds.items(), key=lambda pair: pair[1].total())
    assert lattice.along is not None
    assert lattice.across is not None
    ways = [
        way
        for kind, part in enumerate(found)
        for way in _ways(kind, part, lattice, spacing=lay.spacing)
    ]
    if len(ways) > _TYPES:
        return None
    return _Repeat(
        lattice.along, 2.0 * lattice.across, *lattice.origin, tuple(ways),
        tuple(found.values()), strip.width,
    )  # fmt: skip


def _ways(kind: int, part: Part, lattice: Lattice, *, spacing: float) -> Iterator[_Way]:
    """Yield how a part may lie about a motif: in each of its turns, in even rows and odd ones."""
    binding = part.binding
    assert binding is not None
    assert lattice.along is not None
    assert lattice.across is not None
    for angle in part.turns.angles:
        turn = Affine.turn(angle)
        anchor = turn(binding.anchor)
        area = piece_polygon(part.piece, by=turn)
        size = max(area.bounds[2] - area.bounds[0], area.bounds[3] - area.bounds[1])
        off = binding.lattice.tolerance + TOLERANCE.lattice
        rough = TOLERANCE.chord + TOLERANCE.contact * size
        body = area.buffer(0.5 * spacing - math.sqrt(2.0) * off - 2.0 * rough)
        for odd in (0, 1):
            x = odd * lattice.drop * lattice.along - anchor[0]
            y = odd * lattice.across - anchor[1]
            x0, y0, x1, y1 = affinity.translate(area, x, y).bounds
            most = off + rough
            box = (x0 + most, y0 + most, x1 - most, y1 - most)
            yield _Way(kind, odd, affinity.translate(body, x, y), box)


def _places(repeat: _Repeat, high: float) -> Iterator[tuple[int, int, int, float]]:
    """Yield where parts may lie: way, column, pair of rows, and how far they reach (mm)."""
    for n, way in enumerate(repeat.ways):
        x0, y0, x1, y1 = way.box
        rows = range(
            math.ceil((-repeat.y - y0) / repeat.across),
            math.floor((repeat.width - repeat.y - y1) / repeat.across) + 1,
        )
        first = math.ceil((-repeat.x - x0) / repeat.along)
        last = math.floor((high - repeat.x - x1) / repeat.along)
        for row in rows:
            for column in range(first, last + 1):
                yield n, column, row, repeat.x + column * repeat.along + x1


def _points(repeat: _Repeat) -> Points:
    """Return points of a repeat (of two rows): evenly spread, and one of every overlap."""
    a, b = repeat.along, repeat.across
    even = (np.arange(_GRID) + 0.5) / _GRID
    even_y = (np.arange(2 * _GRID) + 0.5) / (2 * _GRID)
    points = [(x * a, y * b) for x in even for y in even_y]
    covered = [_covered(repeat, way, np.array(points)) for way in repeat.ways]
    for u, one in enumerate(repeat.ways):
        for v, other in enumerate(repeat.ways[u:], start=u):
            for i, j in _near(repeat, one, other):
                if (u, i, j) == (v, 0, 0):
                    continue
                moved = {(n, i + k, j + m) for n, k, m in covered[v]}
                if covered[u] & moved:
                    continue
                both = one.body.intersection(affinity.translate(other.body, i * a, j * b))
                if both.area < _TOUCH:
                    continue
                at = both.representative_point()
                point = (at.x % a, at.y % b)
                number = len(points)
                points.append(point)
                for w, way in enumerate(repeat.ways):
                    covered[w] |= _covered(repeat, way, np.array([point]), first=number)
    return np.array(points)


def _near(repeat: _Repeat, one: _Way, other: _Way) -> Iterator[tuple[int, int]]:
    """Yield the repeats by which the box of another body may be moved to meet that of the one."""
    if one.body.is_empty or other.body.is_empty:
        return
    a, b, c, d = one.body.bounds
    e, f, g, h = other.body.bounds
    for i in range(math.ceil((a - g) / repeat.along), math.floor((c - e) / repeat.along) + 1):
        for j in range(math.ceil((b - h) / repeat.across), math.floor((d - f) / repeat.across) + 1):
            yield i, j


def _covered(
    repeat: _Repeat, way: _Way, points: Points, *, first: int = 0
) -> set[tuple[int, int, int]]:
    """Return which points, moved by how many repeats, lie in a way's body."""
    if way.body.is_empty:
        return set()
    x0, y0, x1, y1 = way.body.bounds
    shapely.prepare(way.body)
    out = set()
    for i in range(math.floor(x0 / repeat.along) - 1, math.ceil(x1 / repeat.along) + 1):
        for j in range(math.floor(y0 / repeat.across) - 1, math.ceil(y1 / repeat.across) + 1):
            x, y = points[:, 0] + i * repeat.along, points[:, 1] + j * repeat.across
            inside = shapely.contains_xy(way.body, x, y)
            out |= {(first + int(n), i, j) for n in np.flatnonzero(inside)}
    return out


def _certainly_not(
    repeat: _Repeat,
    covered: Sequence[set[tuple[int, int, int]]],
    places: Sequence[tuple[int, int, int, float]],
    length: float,
) -> bool:
    """Whether it is proved that a marker is longer than so much; `covered`: by each way."""
    from ortools.sat.python import cp_model  # it loads much, and few lays are bound by a print

    model = cp_model.CpModel()
    of_kind: list[list[cp_model.IntVar]] = [[] for _ in repeat.counts]
    over: defaultdict[tuple[int, int, int], list[cp_model.IntVar]] = defaultdict(list)
    for n, column, row, right in places:
        if right <= length:
            here = model.new_bool_var("")
            of_kind[repeat.ways[n].kind].append(here)
            for point, i, j in covered[n]:
                over[point, i + column, j + row].append(here)
    for chosen, count in zip(of_kind, repeat.counts, strict=True):
        model.add(sum(chosen) == count)
    for some in {tuple(sorted(v.index for v in one)): one for one in over.values()}.values():
        if len(some) > 1:
            model.add_at_most_one(some)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = _EFFORT
    solver.parameters.catch_sigint_signal = False
    return bool(solver.solve(model) == cp_model.INFEASIBLE)
