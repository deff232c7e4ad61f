"""Lays of small jobs in one process for a long time, and what grows.

Run ``python -m benchmarks.campaigns.soak --minutes M --seed S [--workers N] [--json FILE]
[--every SECONDS]``.

Small random jobs are read, laid, judged and now and then written. Memory (of this process
and of its workers), open files, threads and processes are sampled; a straight line is fitted
to each, the first half left out, in which caches fill. Growth is per 1,000 lays. Wrong is
what grows by more than a bound stated here *and* by more than thrice the line's own
uncertainty.
"""

from __future__ import annotations

import gc
import math
import os
import tempfile
import threading
import time
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from random import Random

from nesting import make_plan, parse_job, processes, write_plan
from nesting.planning.running.pool import Processes

from .row import Tally, options

__all__ = ["growth", "job_text", "main", "run"]

_BOUNDS = {"MB": 20.0, "MB of workers": 20.0, "files": 1.0, "threads": 1.0, "processes": 1.0}
"""Growth per 1,000 lays that is taken for noise."""
_WRITTEN = 20
"""One plan in so many is written, with all its files."""
_FILLING = 0.5
"""Share of the samples at the beginning that tells of caches: some take 2,000 lays to fill."""
_SURE = 3.0
_FEWEST = 10
"""Of fewer samples nothing can be said."""


def job_text(rng: Random) -> str:
    """Return a small job: a few pieces on a cloth, sheets or a hide."""
    lines = ['[job]\nname = "made-up things"']
    kind = rng.choice(("cloth", "cloth", "print", "sheet"))
    if kind == "sheet":
        lines.append('[[sheet]]\nname = "goods"\nsize = ["60 cm", "45 cm"]')
    else:
        lines.append(f'[[cloth]]\nname = "goods"\nwidth = "{rng.randint(40, 150)} cm"')
        lines.append(f'nap = "{rng.choice(("none", "one-way", "any"))}"')
    if kind == "print":
        lines.append('print = { along = "16 cm", across = "12 cm" }')
    for number in range(rng.randint(1, 4)):
        a, b = rng.randint(40, 300), rng.randint(40, 300)
        shape = rng.choice(
            (
                f"rectangle = [{a}, {b}]",
                f'outline = "M 0,0 L {a},0 L {a - 20},{b} L 0,{b} Z"',
                f"circle = {min(a, b)}",
            )
        )
        lines.append(f'[[piece]]\nname = "piece {number}"\n{shape}')
        copies = rng.randint(1, 6)
        lines.append(f'[[cut]]\npiece = "piece {number}"\nmaterial = "goods"\ncopies = {copies}')
    return "\n".join(lines)


def growth(done: Sequence[float], values: Sequence[float]) -> tuple[float, float]:
    """Return the slope of the line nearest to values by least squares, and its standard error.

    Both per 1,000 of what is counted in `done`.
    """
    n = len(done)
    mean, level = sum(done) / n, sum(values) / n
    across = sum((x - mean) ** 2 for x in done)
    if across <= 0.0 or n < 3:
        return 0.0, math.inf
    pairs = list(zip(done, values, strict=True))
    slope = sum((x - mean) * (y - level) for x, y in pairs) / across
    rest = sum((y - level - slope * (x - mean)) ** 2 for x, y in pairs)
    return 1000.0 * slope, 1000.0 * math.sqrt(rest / (n - 2) / across)


def _megabytes(number: int | str) -> float:
    """Return what a process holds in memory that is its own."""
    with suppress(OSError):
        for line in Path(f"/proc/{number}/smaps_rollup").read_text().splitlines():
            if line.startswith(("Private_Dirty:",)):
                return int(line.split()[1]) / 1024.0
    return 0.0


def _processes() -> int:
    """Count the processes below this one."""

    def below(number: int | str) -> int:
        found = 0
        with suppress(OSError):
            for task in Path(f"/proc/{number}/task").iterdir():
                children = (task / "children").read_text().split()
                found += len(children) + sum(below(child) for child in children)
        return found

    return below("self")


def _sample(executor: Processes) -> dict[str, float]:
    gc.collect()
    return {
        "MB": _megabytes("self"),
        "MB of workers": sum(_megabytes(number) for number in executor.numbers()),
        "files": float(len(os.listdir("/proc/self/fd"))),
        "threads": float(threading.active_count()),
        "processes": float(_processes()),
    }


def run(
    minutes: float,
    seed: int,
    *,
    size: int | None = None,
    workers: int = 1,
    every: float = 15.0,
    say: bool = False,
) -> Tally:
    """Lay so many small jobs, or for so many minutes; sample every so many seconds."""
    tally = Tally("soak", seed)
    rng = Random(seed)
    done: list[float] = []
    samples: list[dict[str, float]] = []
    due = 0.0
    with tempfile.TemporaryDirectory() as folder, processes(workers) as executor:
        ends = time.monotonic() + 60.0 * minutes
        while time.monotonic() < ends if size is None else tally.tried["lays"] < size:
            text = job_text(rng)
            try:
                plan = make_plan(parse_job(text), rounds=1, executor=executor)
                if tally.tried["lays"] % _WRITTEN == 0:
                    write_plan(plan, Path(folder) / "plan", overwrite=True)
                    tally.tried["plans written"] += 1
            except Exception as error:
                tally.faults.append(f"lay {tally.tried['lays']}: {error!r}")
            tally.tried["lays"] += 1
            if time.monotonic() >= due:
                due = time.monotonic() + every
                done.append(float(tally.tried["lays"]))
                samples.append(_sample(executor))
                if say:
                    held = ", ".join(f"{value:.0f} {what}" for what, value in samples[-1].items())
                    print(f"{tally.seconds:.0f} s, {tally.tried['lays']} lays: {held}", flush=True)
    _judge(tally, done, samples)
    return tally


def _judge(tally: Tally, done: Sequence[float], samples: Sequence[dict[str, float]]) -> None:
    """Say what grows."""
    tally.tried["samples"] = len(samples)
    first = int(_FILLING * len(samples))
    if len(samples) - first < _FEWEST:
        tally.faults.append(f"{len(samples)} samples are too few to tell growth")
        return
    for what, bound in _BOUNDS.items():
        values = [sample[what] for sample in samples[first:]]
        slope, error = growth(done[first:], values)
        tally.found[f"{what} at the end"] = round(values[-1])
        words = f"{slope:+.2f} ± {error:.2f} {what} per 1,000 lays"
        tally.notes.append(words)
        if slope > bound and slope > _SURE * error:
            tally.faults.append(f"grows: {words}")


def main() -> int:
    """Run the campaign."""
    parser = options("Many lays in one process.", size=0)
    parser.add_argument("--minutes", type=float, default=5.0, help="how long (default: 5)")
    parser.add_argument("--workers", type=int, default=1, help="worker processes (default: 1)")
    parser.add_argument("--every", type=float, default=15.0, help="seconds between samples")
    asked = parser.parse_args()
    tally = run(
        asked.minutes,
        asked.seed,
        size=asked.size or None,
        workers=asked.workers,
        every=asked.every,
        say=True,
    )
    for note in tally.notes:
        print(note)
    return tally.tell(asked.json)


if __name__ == "__main__":
    raise SystemExit(main())
