"""Positions weighed per second of processor time, with few parts and with many.

    python -m benchmarks.search.speed CASE.json --copies 1 3 10 30 --density 85

Every lay, the case so many times over, is thrown anywhere on a strip of that density and
separated until so many positions per part are weighed, again and again up to a million in
all: so the parts overlap alike, however many there are. What else the machine does counts, so
compare lays, or versions, in turn.
"""

from __future__ import annotations

import argparse
import random
import time
from dataclasses import replace

from benchmarks.search.cases import read_case
from nesting.marker.lay import Lay, Strip
from nesting.search import disturb
from nesting.search.prepared.state import Ending
from nesting.search.prepared.world import World
from nesting.search.problem import prepare
from nesting.search.warm import warm

ALL, FIRST, QUOTA = 1_000_000, 200_000, 20_000
"""Positions weighed in all, before time is taken (pairs meet for the first time), at a time."""


def repeated(lay: Lay, copies: int) -> Lay:
    """Return a lay with all parts so many times."""
    parts = [
        replace(part, name=f"{part.name} {k}", copy=1, copies=1)
        for k in range(copies)
        for part in lay.parts
    ]
    return replace(lay, parts=tuple(parts))


def world_at(lay: Lay, density: float) -> World:
    """Return all parts thrown anywhere on a strip that they would fill to a density (%)."""
    assert isinstance(lay.stock, Strip)
    problem, _ = prepare(lay)
    world = problem.world(problem.boards(1), fine=False)
    world.set_length(100.0 * world.area / density / lay.stock.width)
    world.state.seed(1)
    dice = random.Random(1)
    for i in range(world.items):
        disturb.throw_in(world, dice, [i], 0, angle=None)
    return world


def seconds_per_position(world: World, each: int) -> float:
    """Separate scattered parts, so many positions for each of them, up to a million in all."""
    state, dice, spent = world.state, random.Random(2), 0.0
    state.start(10**9)
    state.separate(FIRST)
    begin = state.weighed
    while state.weighed < begin + ALL:
        disturb.scatter(world, dice)
        state.start(10**9)
        end = state.weighed + each * world.items
        now = time.process_time()
        while state.weighed < end:
            if state.separate(min(QUOTA, end - state.weighed)) is not Ending.GOING:
                break
        spent += time.process_time() - now
    return spent / (state.weighed - begin)


def main() -> None:
    """Print a line for each number of copies."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("case")
    parser.add_argument("--copies", type=int, nargs="+", default=[1, 3, 10, 30])
    parser.add_argument("--density", type=float, default=85.0, help="%%")
    parser.add_argument("--each", type=int, default=330, help="positions for each part")
    options = parser.parse_args()
    warm(print)
    lay = read_case(options.case)
    for copies in options.copies:
        world = world_at(repeated(lay, copies), options.density)
        taken = seconds_per_position(world, options.each)
        print(f"{world.items:6d} parts: {1e-6 / taken:.2f} M/s, {1e9 * taken:.0f} ns", flush=True)


if __name__ == "__main__":
    main()
