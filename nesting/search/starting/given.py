"""A search that goes on from a marker that is given, made by hand or found before."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np

from nesting.marker.figures import figures
from nesting.marker.marker import Marker, Placement
from nesting.marker.rest import taken
from nesting.pattern.path import Affine
from nesting.search.prepared.boards import Board
from nesting.search.prepared.forms import Shape, turned
from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.state import Ending, Layout
from nesting.search.prepared.world import World
from nesting.search.problem import Problem, Start
from nesting.search.result import Result
from nesting.search.square import may_turn, pays
from nesting.search.squeezing import squeeze

__all__ = ["better", "given", "score"]

_ROOM = (1.0, 1.005, 1.03, math.inf)
"""Lengths at which a marker is parted that touches where the search has coarser outlines."""

_PATIENCE, _QUOTA, _QUOTAS = 200, 20_000, 50
"""Rounds without improvement until parting is given up; positions between looks, and looks."""

Score = tuple[int, int, float]


def score(marker: Marker) -> Score:
    """Return what counts of a marker: parts that are missing, sheets, what else it takes.

    That is its length (mm), on sheets what is taken of the last (mm²).
    """
    return len(marker.lay.parts) - len(marker.placements), len(marker.sheets), taken(marker)


def better(result: Result, first: Marker) -> Result:
    """Return a result, but with the marker it began with if that one is as good.

    Where parts may turn freely, odd turns have to pay, as in any search.
    """
    found, before = score(result.marker), score(first)
    odd = _is_square(first) and not _is_square(result.marker)
    if found < before and not (odd and found[:2] == before[:2] and not pays(found[2], before[2])):
        return result
    history = result.history
    length = figures(first).last_length
    if not history or history[-1][1] != length:
        history = (*history, (result.seconds, length))
    left = {u.part: u for u in result.unplaced}.keys() - {p.part for p in first.placements}
    unplaced = tuple(u for u in result.unplaced if u.part in left)
    return replace(result, marker=first, unplaced=unplaced, history=history)


def _is_square(marker: Marker) -> bool:
    """Whether a lay's parts may turn freely, and those of this marker lie at right angles."""
    free = [p for p in marker.placements if marker.lay.parts[p.part].turns.free]
    right = all(abs(math.remainder(p.angle, 90.0)) < 1e-9 for p in free)
    return right and may_turn(marker.lay)


def given(problem: Problem, marker: Marker, *, gently: bool = False) -> Start | None:
    """Return where a search begins that goes on from a marker; None if it can't be parted.

    Parts that lie nowhere, or on a sheet that is too many, are among those that are left.
    `gently`: no part passes another.
    """
    boards = _boards(problem, marker)
    world = problem.world(boards, fine=False)
    layout = _layout(problem, world, marker)
    left = tuple(int(i) for i in np.flatnonzero(layout.sheet < 0))
    open_length = world.length
    world.load(layout)
    used = world.used_length(world.save())
    for share in _ROOM if used > 0.0 else ():
        world.set_length(min(share * used, open_length))
        good = world.load(layout)
        if (good and world.overlap() <= 0.0) or _parted(world, gently=gently):
            found = world.save()
            world.set_length(open_length)
            return Start(world, found, left)
    return None


def _parted(world: World, *, gently: bool) -> bool:
    """Push what overlaps apart, first by moves that disturb nothing; tell whether it worked."""
    before = world.save()
    if squeeze.repair(world, steps=8):
        return True
    if gently:
        return False
    world.load(before)
    world.state.start(_PATIENCE)
    for _ in range(_QUOTAS):
        ending = world.state.separate(_QUOTA)
        if ending is not Ending.GOING:
            return ending is Ending.APART
    return False


def _boards(problem: Problem, marker: Marker) -> tuple[Board, ...]:
    """Return the boards of a marker's sheets, in its order."""
    if problem.lay.stock.open_ended:
        return problem.boards(1)
    counts = [sheet.count for sheet in problem.lay.stock.sheets]
    most = sum(len(marker.sheets) if count is None else count for count in counts)
    every = problem.boards(most)
    of_kind: dict[int, list[int]] = {}
    for board in every:
        numbers = of_kind.setdefault(board.index, [])
        if board.number not in numbers:
            numbers.append(board.number)
    chosen = [of_kind[kind].pop(0) for kind in marker.sheets if of_kind.get(kind)]
    return tuple(board for number in chosen for board in every if board.number == number)


def _layout(problem: Problem, world: World, marker: Marker) -> Layout:
    """Return a marker's placements in a world's numbers, each at the nearest turn there is."""
    at = np.zeros((world.items, 2))
    shape = np.zeros(world.items, dtype=np.int64)
    sheet = np.full(world.items, -1, dtype=np.int64)
    item = {part: i for i, part in enumerate(problem.index)}
    numbers = list(dict.fromkeys(board.number for board in world.sheets))

    @cache  # copies lie at few turns
    def unlike(now: Shape, s: int) -> tuple[float, float]:
        return _unlike(world, now, s)

    for placement in marker.placements:
        i = item.get(placement.part)
        if i is None or placement.sheet >= len(numbers):
            continue
        number = numbers[placement.sheet]
        boards = [b for b, board in enumerate(world.sheets) if board.number == number]
        options = [(s, b) for b in boards for s in world.options_of(i, b)]
        if not options:
            continue
        o = world.outline_of_kind[world.kinds.of[i]]
        now = Shape(o, placement.angle, placement.flipped)
        s, b = min(options, key=lambda option: unlike(now, option[0]))
        at[i] = _middle_kept(world, now, s, placement)
        at[i, 0] += world.sheets[b].x
        shape[i], sheet[i] = s, b
    return Layout(at, shape, sheet)


def _unlike(world: World, now: Shape, s: int) -> tuple[float, float]:
    """Return how far an outline at one turn is from a shape (mm), and by how much it turns."""
    shape = world.shapes[s]
    turn = abs(math.remainder(now.angle - shape.angle, 360.0))
    if shape.flipped == now.flipped and turn < 1e-6:
        return 0.0, turn
    ring = world.outlines[now.outline].ring
    ring = ring[:: max(1, len(ring) // 60)]
    here, there = (_centred(turned(ring, one)) for one in (now, shape))
    apart = np.abs(here[:, None, :] - there[None, :, :]).sum(axis=2).min(axis=1).max()
    return float(apart), turn


def _centred(ring: Floats) -> Floats:
    return np.asarray(ring - 0.5 * (ring.min(axis=0) + ring.max(axis=0)))


def _middle_kept(world: World, now: Shape, s: int, placement: Placement) -> Floats:
    """Return an item's position in a shape whose middle is that of the placed outline (mm)."""
    outline = world.outlines[now.outline]
    turn = Affine.turn(now.angle)
    cx, cy = (turn.after(Affine.mirror()) if now.flipped else turn)(outline.centre)
    here, there = turned(outline.ring, now), turned(outline.ring, world.shapes[s])
    shift = here.min(axis=0) + here.max(axis=0) - there.min(axis=0) - there.max(axis=0)
    return np.asarray(np.array([placement.x + cx, placement.y + cy]) + 0.5 * shift)
