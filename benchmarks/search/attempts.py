"""What becomes of a search's attempts: how many succeed, how soon, and what they gain.

    python -m benchmarks.search.attempts CASE.json [CASE.json ...] --seconds 30 --seed 1 2

One search without helpers, by processor time; the first fifth, in which everything succeeds,
is left out. Told apart are attempts in strides from the best marker, those that persist at one
length, and the last squeeze. Positions weighed do not depend on how busy the machine is.
"""

from __future__ import annotations

import argparse
import random
import time
from collections.abc import Generator, Iterator
from dataclasses import dataclass, field

import numpy as np

from benchmarks.search.cases import read_case
from nesting.marker.lay import Lay
from nesting.search.problem import first_marker, prepare
from nesting.search.shortening import Settings, Shortening
from nesting.search.warm import warm

SORTS = ("in strides", "persisting", "at last")


@dataclass(frozen=True, slots=True)
class Attempt:
    """One attempt: its sort, whether it succeeded, positions weighed, gain (%), seconds."""

    sort: str
    done: bool
    positions: int
    gain: float
    seconds: float


@dataclass(slots=True)
class Watched(Shortening):
    """A search that keeps a list of its attempts."""

    tried: list[Attempt] = field(default_factory=list)
    sort: str = SORTS[0]

    def _in_strides(self, stride: float) -> Iterator[None]:
        self.sort = SORTS[0]
        yield from Shortening._in_strides(self, stride)

    def _persist(self) -> Iterator[None]:
        self.sort = SORTS[1]
        yield from Shortening._persist(self)

    def _finish(self) -> Iterator[None]:
        self.sort = SORTS[2]
        yield from Shortening._finish(self)

    def _attempt(self, patience: int) -> Generator[None, None, bool]:
        weighed, length, begin = self.evaluations, self.length, time.process_time()
        done = yield from Shortening._attempt(self, patience)
        if self.progress > 0.2:
            gain = 100.0 * (length / self.length - 1.0)
            spent = time.process_time() - begin
            weighed = self.evaluations - weighed
            self.tried.append(Attempt(self.sort, done, weighed, gain, spent))
        return done


def watch(lay: Lay, *, seconds: float, seed: int) -> list[Attempt]:
    """Search for some seconds of processor time; return the attempts."""
    problem, _ = prepare(lay)
    start = first_marker(problem, stop=lambda: False)
    dice = random.Random(seed)
    start.world.state.seed(dice.getrandbits(32))
    search = Watched(problem, start.world, start.layout, dice, Settings())
    steps, begin = search.run(), time.process_time()
    while search.progress < 1.0:
        search.progress = (time.process_time() - begin) / seconds
        next(steps, None)
    return search.tried


def quartiles(tried: list[Attempt]) -> str:
    """Return the quartiles of positions weighed, in thousands."""
    if not tried:
        return "-"
    values = np.quantile([one.positions for one in tried], [0.25, 0.5, 0.75]) / 1000
    return " ".join(f"{value:.0f}" for value in values)


def main() -> None:
    """Watch the cases named on the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("case", nargs="+")
    parser.add_argument("--seconds", type=float, default=30.0)
    parser.add_argument("--seed", type=int, default=[1], nargs="+")
    options = parser.parse_args()
    warm(print)
    print("positions: quartiles, thousands")
    for case in options.case:
        lay = read_case(case)
        tried = [
            one for seed in options.seed for one in watch(lay, seconds=options.seconds, seed=seed)
        ]
        for sort in SORTS:
            some = [one for one in tried if one.sort == sort]
            good = [one for one in some if one.done]
            bad = [one for one in some if not one.done]
            print(
                f"{lay.name:<10} {sort:<10} {len(good):4d} of {len(some):4d}, "
                f"positions {quartiles(good):>16} (failed {quartiles(bad)}), "
                f"gain {sum(one.gain for one in good):6.3f} % in "
                f"{sum(one.seconds for one in some):5.1f} s",
                flush=True,
            )


if __name__ == "__main__":
    main()
