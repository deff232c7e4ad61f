"""Density after so many positions, by the settings of a search.

    python -m benchmarks.search.settings CASE.json [CASE.json ...] [--seeds 1 2 3] [--millions 45]
        [--with kept=20] [--with again=160,640] [--with anywhere=4]

Every case and seed is searched as it stands and with each of the changes named, in turn, by one
worker that weighs so many million positions; nothing is timed. What can be changed are `Settings`
and the numbers by which parts are moved (`prepared/arrays.py`). Told is the density of each, and
the mean of the differences with its standard error. 45 million positions are what one worker
weighs in ten to seventeen seconds on a quiet machine.
"""

from __future__ import annotations

import argparse
import statistics
from dataclasses import fields, replace
from typing import Any

from benchmarks.search.cases import read_case
from benchmarks.search.persisting import begun
from benchmarks.search.strip import total_area
from nesting.marker.lay import Lay
from nesting.search.shortening import Settings
from nesting.search.warm import warm
from nesting.search.worker import IDLE


def changed(said: str) -> tuple[Settings, dict[str, float]]:
    """Return the settings with one of them as it is said, and the numbers that are changed."""
    name, _, value = said.partition("=")
    if name not in {one.name for one in fields(Settings)}:
        return Settings(), {name: float(value)}
    before = getattr(Settings(), name)
    several = isinstance(before, tuple)
    now: Any = tuple(map(int, value.split(","))) if several else type(before)(value)
    return replace(Settings(), **{name: now}), {}


def density(lay: Lay, seed: int, said: str, positions: float) -> float:
    """Return the density (%) after so many positions, with what is said changed."""
    settings, numbers = changed(said) if said else (Settings(), {})
    search = begun(lay, seed, settings)
    for name, value in numbers.items():
        search.world.state.tune(name, value)
    steps = search.run()
    while search.progress < 1.0:
        before = search.evaluations
        search.progress = before / positions
        next(steps, None)
        if search.evaluations - before < IDLE:
            search.spend(IDLE)
    assert lay.stock.open_ended
    return 100.0 * total_area(lay) / lay.stock.width / search.length


def main() -> None:
    """Compare the settings given on the command line with those that stand."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("cases", nargs="+")
    parser.add_argument("--seeds", nargs="+", type=int, default=[1, 2, 3])
    parser.add_argument("--millions", type=float, default=45.0)
    parser.add_argument("--with", dest="changes", action="append", default=[])
    asked = parser.parse_args()
    warm()
    gains: dict[str, list[float]] = {change: [] for change in asked.changes}
    for path in asked.cases:
        lay = read_case(path)
        for seed in asked.seeds:
            base = density(lay, seed, "", 1e6 * asked.millions)
            row = [f"{base:.2f}"]
            for change in gains:
                other = density(lay, seed, change, 1e6 * asked.millions)
                gains[change].append(other - base)
                row.append(f"{change} {other:.2f}")
            print(f"{path.rpartition('/')[2]}, seed {seed}: {', '.join(row)}", flush=True)
    for change, found in gains.items():
        error = statistics.stdev(found) / len(found) ** 0.5 if len(found) > 1 else float("nan")
        print(f"{change}: {statistics.mean(found):+.2f} ± {error:.2f} ({len(found)} pairs)")


if __name__ == "__main__":
    main()
