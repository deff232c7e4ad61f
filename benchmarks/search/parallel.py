"""How much faster two workers are than one, and how long a worker takes to start.

    python -m benchmarks.search.parallel [--rounds 8]

Eight lays (the order sample's cloths, one and two bags each) are searched with a limit of
rounds, so that the work is the same however many workers there are; the markers have to
be equal. The wall time is given, the processor time of each worker, and what the lays' own
processor times come to with a core for each worker. Linux only (reads /proc).
"""

from __future__ import annotations

import argparse
import os
import time
from dataclasses import replace
from pathlib import Path

import nesting
from nesting.material.material import Cloth
from nesting.planning.lay.lays import lays
from nesting.planning.running.laying import lay_all
from nesting.planning.running.pool import Processes, processes
from nesting.planning.running.run import Run

ORDER = Path(__file__).parents[2] / "sample_markers" / "order" / "order.toml"


def eight_lays() -> dict[str, nesting.Lay]:
    """Return eight different lays of some ten to fifty parts."""
    job = nesting.read_job(ORDER)
    found: dict[str, nesting.Lay] = {}
    for material in job.materials:
        for bag in job.bags:
            if not isinstance(material, Cloth) or bag.name in ("rucksack, rust", "rucksack, slate"):
                continue
            for count in (1, 2, 3):
                alone = replace(job, bags=(replace(bag, count=count),))
                if not any(cut.material == material.name for cut in bag.cuts):
                    continue
                (lay,) = lays(alone, only=(material.name,))
                found[f"{material.name}, {count} × {bag.name}"] = lay
    return dict(sorted(found.items(), key=lambda item: len(item[1].parts))[-8:])


def processor_seconds(executor: Processes) -> list[float]:
    """Return the processor time that each worker has had."""
    tick = os.sysconf("SC_CLK_TCK")
    spent = []
    for number in executor.numbers():
        fields = Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()
        spent.append((int(fields[11]) + int(fields[12])) / tick)
    return spent


def measured(workers: int, *, rounds: int) -> tuple[float, list[float], object]:
    """Return wall time, processor time of each worker, and where everything was laid."""
    todo = eight_lays()
    warm_up = dict(list(todo.items())[:workers])
    with processes(workers) as executor:
        lay_all(warm_up, Run(executor=executor, rounds=1))
        before = processor_seconds(executor)
        begin = time.perf_counter()
        results = lay_all(todo, Run(executor=executor, rounds=rounds))
        wall = time.perf_counter() - begin
        spent = [b - a for a, b in zip(before, processor_seconds(executor), strict=True)]
    return wall, spent, {name: result.marker.placements for name, result in results.items()}


def shared_out(*, rounds: int) -> float:
    """Return how much faster two workers are, reckoned from each lay's processor time.

    A machine that does other things as well gives two workers unequal shares; this is
    what the same order of work, the longest lay first, comes to with a core for each.
    """
    todo = sorted(eight_lays().items(), key=lambda item: -len(item[1].parts))
    costs = []
    with processes(1) as executor:
        lay_all(dict(todo[:1]), Run(executor=executor, rounds=1))
        for name, lay in todo:
            (before,) = processor_seconds(executor)
            lay_all({name: lay}, Run(executor=executor, rounds=rounds))
            costs.append(processor_seconds(executor)[0] - before)
    loads = [0.0, 0.0]
    for cost in costs:
        loads[loads.index(min(loads))] += cost
    return sum(costs) / max(loads)


def start_up() -> float:
    """Return the seconds from no server to the first marker of a tiny lay."""
    todo = dict(list(eight_lays().items())[:1])
    begin = time.perf_counter()
    with processes(1) as executor:
        lay_all(todo, Run(executor=executor, rounds=1))
    return time.perf_counter() - begin


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=8)
    asked = parser.parse_args()
    print(f"first worker started and a lay of one round searched: {start_up():.1f} s")
    one, work, markers = measured(1, rounds=asked.rounds)
    two, shares, again = measured(2, rounds=asked.rounds)
    assert markers == again, "the markers depend on the number of workers"
    print(f"one worker: {one:.1f} s, {sum(work):.1f} s of processor time")
    print(f"two workers: {two:.1f} s, {' + '.join(f'{s:.1f}' for s in shares)} s")
    print(f"faster by wall time {one / two:.2f}, by processor time {sum(work) / max(shares):.2f}")
    print(f"with a core for each: {shared_out(rounds=asked.rounds):.2f}")
    print(f"load of this machine meanwhile: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")


if __name__ == "__main__":
    main()
