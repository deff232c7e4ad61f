"""The last squeeze: on fine outlines, and with turns that may vary."""

from __future__ import annotations

import random
from collections.abc import Callable

from nesting.marker.marker import Placement
from nesting.search import bottom_left, disturb, squeeze
from nesting.search.kernels import core as k
from nesting.search.problem import Problem, Start
from nesting.search.squeeze import set_phases
from nesting.search.world import Layout, World

__all__ = ["finish", "insert", "set_phases", "share_of_time"]


def share_of_time(problem: Problem) -> float:
    """Return which share of the time is to be kept for the last squeeze."""
    return 0.1 if problem.coarse is not problem.fine or _turning(problem) else 0.0


def _turning(problem: Problem) -> bool:
    return any(part.turns.slack > 0.0 for part in problem.lay.parts)


def finish(
    problem: Problem, world: World, layout: Layout, *, ends: Callable[[], bool]
) -> list[Placement]:
    """Squeeze a layout for the last time and return its placements."""
    if problem.coarse is not problem.fine and not ends():
        fine = problem.world(world.sheets, fine=True)
        set_phases(fine, squeeze.phases(world))
        fine.load(layout)
        if fine.overlap() <= 0.0:
            world, layout = fine, squeeze.compact(fine, steps=12, ends=ends)
    return world.placements(layout)


def insert(
    start: Start, *, seed: int, ends: Callable[[], bool], timed: bool, tries: int = 6
) -> Start:
    """Find room for parts that are left over, by separation on the boards there are."""
    world, layout = start.world, start.layout
    if not world.sheets:
        return start
    dice = random.Random(seed)
    world.seed(seed)
    left: list[int] = []
    for i in start.left:
        boards = [b for b in range(len(world.sheets)) if world.may(i, b)]
        placed = False
        for attempt in range(tries):
            if ends() or not boards:
                break
            world.load(layout)
            disturb.throw_in(world, dice, i, dice.choice(boards))
            if attempt > 1:
                disturb.disturb(world, dice)
            if _separated(world, ends):
                placed = True
                layout = world.save()
                break
        if not placed:
            left.append(i)
    world.load(layout)
    if left and not ends():
        rest = bottom_left.place_each(world, left)
        layout = world.save()
        left = rest
    return Start(world, layout, tuple(left))


def _separated(world: World, ends: Callable[[], bool]) -> bool:
    world.I[k.PATIENCE] = 60
    k.start(world.I, world.F, world.W)
    while not ends():
        state = k.separate(world.I, world.F, world.T, world.J, world.W, 20_000)
        if state == 1:
            return True
        if state == 2:
            world.load(world.save(best=True))
            return squeeze.repair(world, steps=4)
    return False
