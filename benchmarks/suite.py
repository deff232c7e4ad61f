"""The suite over seeds and times, written to RESULTS.md.

    python benchmarks/suite.py CASE.json [CASE.json ...] --times 10s 60s --seeds 1 2 3
                               [--workers 2] [--scale 24 240 960] [--out benchmarks/RESULTS.md]

Best, mean and worst of the seeds; how the density grows with time; our own bottom-left and a
plain shelf layout of bounding boxes beside it; and, with --scale, how time and memory grow
with the number of parts (copies of the first case's). Kernels are warm before any clock starts.
"""

from __future__ import annotations

import argparse
import platform
import resource
import statistics
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from importlib.metadata import version
from pathlib import Path as File

from cases import read_case
from strip import Run, run, seconds_of, total_area

from nesting.marker.lay import Lay, Strip
from nesting.search.warm import warm

CAMPAIGNS = "## Campaigns"
MOMENTS = (1.0, 2.0, 5.0, 10.0, 20.0, 60.0, 120.0, 300.0, 600.0)


def shelves(lay: Lay) -> float:
    """Return the density (%) of rows of bounding boxes, tallest first, none turned."""
    boxes = []
    for part in lay.parts:
        xs, ys = zip(*part.piece.cut.points(1e-3), strict=True)
        boxes.append((max(xs) - min(xs), max(ys) - min(ys)))
    width = _width(lay)
    length = shelf = across = 0.0
    for along, wide in sorted(boxes, reverse=True):
        if across + wide > width + 1e-9:
            length, shelf, across = length + shelf, 0.0, 0.0
        shelf, across = max(shelf, along), across + wide
    return 100.0 * total_area(lay) / ((length + shelf) * width)


def _width(lay: Lay) -> float:
    assert isinstance(lay.stock, Strip)
    return lay.stock.width


def density_at(one: Run, moment: float, lay: Lay) -> float | None:
    """Return the density (%) of the best marker known after `moment` seconds."""
    known = [length for seconds, length in one.history if seconds <= moment]
    return 100.0 * total_area(lay) / (min(known) * _width(lay)) if known else None


def enlarged(lay: Lay, parts: int) -> Lay:
    """Return a lay of at least so many parts: copies of the given one's, on the same width."""
    times = -(-parts // len(lay.parts))
    copies = tuple(
        replace(part, name=f"{part.name} ({n})") for n in range(times) for part in lay.parts
    )
    return replace(lay, parts=copies[: max(parts, 1)])


def main() -> int:
    """Run the suite."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("case", nargs="+")
    parser.add_argument("--times", nargs="+", default=["10s", "60s"])
    parser.add_argument("--seeds", nargs="+", type=int, default=[1, 2, 3])
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--scale", nargs="*", type=int, default=[])
    parser.add_argument("--out", default="benchmarks/RESULTS.md")
    options = parser.parse_args()
    warm(print)
    lays = {lay.name: lay for lay in map(read_case, options.case)}
    runs: list[tuple[float, Run]] = []
    for seconds in map(seconds_of, options.times):
        for lay in lays.values():
            for seed in options.seeds:
                one = run(lay, seconds=seconds, seed=seed, workers=options.workers)
                runs.append((seconds, one))
                print(f"{lay.name} {seconds:g} s seed {seed}: {one.density:.2f} %", flush=True)
    lines = [
        *_heading(options),
        *_densities(lays, runs),
        *_anytime(lays, runs),
        *_rivals(lays, runs),
        *_scaling(next(iter(lays.values())), options),
        *_footnotes(),
    ]
    out = File(options.out)
    out.write_text("\n".join([*lines, *_campaigns(out)]) + "\n", encoding="utf-8")
    return 0 if all(one.findings == 0 for _, one in runs) else 1


def _heading(options: argparse.Namespace) -> Iterator[str]:
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False
    ).stdout.strip()
    packages = ", ".join(f"{name} {version(name)}" for name in ("numba", "numpy", "highspy"))
    yield from (
        "# What the search reaches",
        "",
        f"Written by `python benchmarks/suite.py` on {date.today().isoformat()}, commit {commit}.",
        f"{_processor()}, {options.workers} workers; Python {platform.python_version()}, "
        f"{packages}.",
        "",
    )


def _processor() -> str:
    try:
        names = [
            line.partition(":")[2].strip()
            for line in File("/proc/cpuinfo").read_text().splitlines()
            if line.startswith("model name")
        ]
    except OSError:
        names = []
    return (
        f"{names[0]}, {len(names)} cores" if names else platform.processor() or "processor unknown"
    )


def _densities(lays: dict[str, Lay], runs: Sequence[tuple[float, Run]]) -> Iterator[str]:
    yield "## Density by time (%)"
    yield ""
    yield "| case | parts | time | best | mean | worst | findings¹ |"
    yield "|---|---|---|---|---|---|---|"
    for name, lay in lays.items():
        for seconds in dict.fromkeys(s for s, _ in runs):
            of = [one for s, one in runs if s == seconds and one.case == name]
            found = [one.density for one in of]
            yield (
                f"| {name} | {len(lay.parts)} | {seconds:g} s | {max(found):.2f} "
                f"| {statistics.fmean(found):.2f} | {min(found):.2f} "
                f"| {sum(one.findings for one in of)} |"
            )
    yield ""


def _anytime(lays: dict[str, Lay], runs: Sequence[tuple[float, Run]]) -> Iterator[str]:
    longest = max(seconds for seconds, _ in runs)
    moments = [moment for moment in MOMENTS if moment <= longest]
    yield f"## How it grows: mean density of the {longest:g} s runs after …"
    yield ""
    yield "| case | " + " | ".join(f"{moment:g} s" for moment in moments) + " |"
    yield "|---" * (len(moments) + 1) + "|"
    for name, lay in lays.items():
        of = [one for seconds, one in runs if seconds == longest and one.case == name]
        cells = []
        for moment in moments:
            known = [density_at(one, moment, lay) for one in of]
            there = [value for value in known if value is not None]
            cells.append(f"{statistics.fmean(there):.2f}" if len(there) == len(of) else "–")
        yield f"| {name} | " + " | ".join(cells) + " |"
    yield ""


def _rivals(lays: dict[str, Lay], runs: Sequence[tuple[float, Run]]) -> Iterator[str]:
    yield "## Beside simpler ways"
    yield ""
    yield "| case | shelves of bounding boxes | our bottom-left | search, longest time, mean |"
    yield "|---|---|---|---|"
    longest = max(seconds for seconds, _ in runs)
    for name, lay in lays.items():
        of = [one for seconds, one in runs if seconds == longest and one.case == name]
        first = [100.0 * total_area(lay) / (one.history[0][1] * _width(lay)) for one in of]
        yield (
            f"| {name} | {shelves(lay):.2f} | {statistics.fmean(first):.2f} "
            f"| {statistics.fmean(one.density for one in of):.2f} |"
        )
    yield ""


def _scaling(lay: Lay, options: argparse.Namespace) -> Iterator[str]:
    if not options.scale:
        return
    yield f"## Growth with the number of parts (copies of {lay.name}, 20 s, one worker)"
    yield ""
    yield "| parts | first marker (s) | rounds in 20 s | density (%) | peak memory² (MB) |"
    yield "|---|---|---|---|---|"
    for parts in sorted(options.scale):
        large = enlarged(lay, parts)
        one = run(large, seconds=20.0, seed=1, workers=1)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        yield (
            f"| {len(large.parts)} | {one.first_seconds:.2f} | {one.rounds} "
            f"| {one.density:.2f} | {peak:.0f} |"
        )
    yield ""


def _campaigns(out: File) -> list[str]:
    """Return the last section of the file that is there: campaigns are runs of their own."""
    there = out.read_text(encoding="utf-8").splitlines() if out.exists() else []
    return ["", *there[there.index(CAMPAIGNS) :]] if CAMPAIGNS in there else []


def _footnotes() -> Iterator[str]:
    yield "¹ What the independent judge found in all runs together: overlaps, parts outside, wrong"
    yield "turns, missing parts. ² Of the whole process so far, kernels and libraries included."


if __name__ == "__main__":
    sys.exit(main())
