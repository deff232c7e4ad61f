"""Successes per attempt to separate at a fixed density: the search's tuning tool.

    python -m benchmarks.search.separation CASE.json --density 87 --attempts 20
        [--set anywhere=10 ...]

Final densities scatter too much to tune on. Here every attempt starts from parts thrown
anywhere on a strip of fixed length and ends with all of them apart, or stalled. What
counts is successes per attempt and per ten million weighed positions, which does not
depend on how busy the machine is. `--set` overrides a number
of the state by name (see `nesting/search/kernels/tables.py`).
"""

from __future__ import annotations

import argparse
import random
import time

from benchmarks.search.cases import read_case
from nesting.search import disturb
from nesting.search.prepared.state import Ending
from nesting.search.prepared.world import World
from nesting.search.problem import prepare
from nesting.search.squeezing import squeeze


def attempt(world: World, *, patience: int, repair: bool, strikes: int, most: int) -> bool:
    """Separate the present positions; tell whether it worked."""
    state = world.state
    state.start(patience)
    end = state.weighed + most
    while state.weighed < end:
        ending = state.separate(100_000)
        if ending is Ending.APART:
            return True
        if ending is Ending.STALLED:
            world.load(state.layout(least=True))
            if repair and squeeze.repair(world, steps=4):
                return True
            strikes -= 1
            if strikes <= 0:
                return False
            world.load(state.layout(least=True))
            state.resume(afresh=False)
    return False


def main() -> None:
    """Run attempts and print their successes."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("case", nargs="+")
    parser.add_argument("--density", type=float, nargs="+", required=True, help="%%, per case")
    parser.add_argument("--attempts", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--patience", type=int, default=120)
    parser.add_argument("--strikes", type=int, default=2)
    parser.add_argument("--most", type=int, default=3_000_000, help="positions per attempt")
    parser.add_argument("--no-repair", action="store_true")
    parser.add_argument("--set", nargs="*", default=[])
    options = parser.parse_args()
    for case, density in zip(options.case, options.density, strict=True):
        lay = read_case(case)
        problem, _ = prepare(lay)
        world = problem.world(problem.boards(1), fine=False)
        for setting in options.set:
            name, value = setting.split("=")
            world.state.tune(name, float(value))
        world.set_length(100.0 * world.area / density / lay.stock.width)  # type: ignore[union-attr]
        world.state.seed(options.seed)
        dice = random.Random(options.seed)
        good = 0
        for i in range(world.items):
            disturb.throw_in(world, dice, [i], 0, angle=None)
        begin = time.process_time()
        for _ in range(options.attempts):
            disturb.scatter(world, dice)
            good += attempt(
                world,
                patience=options.patience,
                repair=not options.no_repair,
                strikes=options.strikes,
                most=options.most,
            )
        spent = world.state.weighed
        seconds = time.process_time() - begin
        print(
            f"{lay.name} {density}: {good}/{options.attempts}, "
            f"{1e7 * good / max(spent, 1):.2f} per 10 M positions, "
            f"{spent / options.attempts / 1e6:.2f} M an attempt, "
            f"{spent / seconds / 1e6:.2f} M/s {' '.join(options.set)}",
            flush=True,
        )


if __name__ == "__main__":
    main()
