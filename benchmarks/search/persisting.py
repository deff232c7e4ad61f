"""How often a search gets on that persists at one length, by its settings.

    python -m benchmarks.search.persisting CASE.json [CASE.json ...] [--seed 1 2]
        [--before 8] [--weigh 8] [--kept 3 20] [--patience 0 100] [--window 100]

Final densities scatter by half a point from seed to seed. Here each case is searched until some
million positions are weighed; from that marker on it persists at the next length, again and again
from the same marker, until some million more are weighed: successes are counted, and what they
gain. The settings given are tried in all their combinations; patience 0 is as it stands. One
worker, nothing timed. What gets on more often from such markers need not end up denser (NOTES.md).
"""

from __future__ import annotations

import argparse
import itertools
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from benchmarks.search.cases import read_case
from nesting.marker.lay import Lay
from nesting.search.prepared.state import Layout
from nesting.search.problem import first_marker, prepare
from nesting.search.shortening import Settings, Shortening
from nesting.search.warm import warm


@dataclass(frozen=True, slots=True)
class Reached:
    """A marker to persist from."""

    lay: Lay
    seed: int
    layout: Layout
    length: float


def begun(lay: Lay, seed: int, settings: Settings) -> Shortening:
    """Return a search that has its first marker."""
    problem, _ = prepare(lay)
    start = first_marker(problem, stop=lambda: False)
    dice = random.Random(seed)
    start.world.state.seed(dice.getrandbits(32))
    return Shortening(problem, start.world, start.layout, dice, settings)


def reached(lay: Lay, seed: int, positions: float) -> Reached:
    """Search until so many positions are weighed."""
    search = begun(lay, seed, Settings())
    steps = search.run()
    while search.evaluations < positions:
        next(steps)
    return Reached(lay, seed, search.best, search.length)


def gains(one: Reached, settings: Settings, positions: float) -> Iterator[float]:
    """Persist from a marker again and again; yield what each success gains (%)."""
    search = begun(one.lay, one.seed + 1, settings)
    limit = search.evaluations + positions
    while search.evaluations < limit:
        search.best, search.length = one.layout, one.length
        for _ in search._persist():
            if search.evaluations >= limit:
                return
        yield 100.0 * (one.length / search.length - 1.0)


def line(found: Sequence[float], weighed: float) -> str:
    """Return how often and how far it got on per ten million positions."""
    per = 10.0 / weighed
    return (
        f"{len(found):4d} successes, {len(found) * per:.2f} ± {len(found) ** 0.5 * per:.2f} "
        f"and {sum(found) * per:.2f} % gained per ten million positions"
    )


def main() -> None:
    """Compare the settings given on the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("case", nargs="+")
    parser.add_argument("--seed", type=int, nargs="+", default=[1, 2])
    parser.add_argument("--before", type=float, default=8.0)
    parser.add_argument("--weigh", type=float, default=8.0)
    parser.add_argument("--kept", type=int, nargs="+", default=[Settings().kept])
    parser.add_argument("--patience", type=int, nargs="+", default=[0], help="0: as it stands")
    parser.add_argument("--window", type=int, nargs="+", default=[Settings().window])
    options = parser.parse_args()
    warm(print)
    lays = [read_case(case) for case in options.case]
    markers = [reached(lay, seed, 1e6 * options.before) for lay in lays for seed in options.seed]
    every = itertools.product(options.kept, options.patience, options.window)
    for kept, patience, window in every:
        settings = Settings(kept=kept, window=window)
        if patience:
            settings = replace(settings, patience=patience, again=(patience,))
        found = [gain for one in markers for gain in gains(one, settings, 1e6 * options.weigh)]
        weighed = options.weigh * len(markers)
        said = f"kept {kept:2d}, patience {patience or 'as it stands'}, window {window}"
        print(f"{said}: {line(found, weighed)}", flush=True)


if __name__ == "__main__":
    main()
