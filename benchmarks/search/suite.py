"""The suite over seeds and times, written to RESULTS.md.

    python -m benchmarks.search.suite CASE.json [CASE.json ...] --times 10s 60s --seeds 1 2 3
                               [--workers 2] [--scale 24 240 960] [--out benchmarks/RESULTS.md]
                               [--chart sample_markers/density.png]

Best, mean and worst of the seeds; how the density grows with time; our own bottom-left and a
plain shelf layout of bounding boxes beside it; and, with --scale, how time and memory grow
with the number of parts (copies of the first case's). Kernels are warm before any clock starts.
"""

from __future__ import annotations

import argparse
import platform
import resource
import statistics
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from importlib.metadata import version
from pathlib import Path as File

from benchmarks.results import RESULTS, commit, replaced
from benchmarks.search.cases import read_case
from benchmarks.search.strip import Run, run, seconds_of, total_area
from nesting.marker.lay import Lay, Strip
from nesting.search.warm import warm

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
    parser.add_argument("--out", type=File, default=RESULTS)
    parser.add_argument("--chart", type=File)
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
    ]
    there = options.out.read_text(encoding="utf-8") if options.out.exists() else ""
    options.out.write_text(replaced(there, lines), encoding="utf-8")
    if options.chart is not None:
        _draw(lays, runs, options.chart)
    return 0 if all(one.findings == 0 for _, one in runs) else 1


def _heading(options: argparse.Namespace) -> Iterator[str]:
    packages = ", ".join(f"{name} {version(name)}" for name in ("numba", "numpy", "highspy"))
    yield from (
        "# What the search reaches",
        "",
        f"Written by `python -m benchmarks.search.suite` on {date.today().isoformat()}, "
        f"commit {commit()}.",
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
    yield "¹ What the independent judge found in all runs together: overlaps, parts outside, wrong"
    yield "turns, missing parts."
    yield ""


def _anytime(lays: dict[str, Lay], runs: Sequence[tuple[float, Run]]) -> Iterator[str]:
    longest = max(seconds for seconds, _ in runs)
    moments = [moment for moment in MOMENTS if moment <= longest]
    yield "## How it grows"
    yield ""
    yield f"Mean density (%) of the runs of {longest:g} s after …"
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
    yield "## Growth with the number of parts"
    yield ""
    yield f"Copies of {lay.name}, 20 s, one worker; the memory is that of the whole process so far,"
    yield "kernels and libraries included."
    yield ""
    yield "| parts | first marker (s) | rounds in 20 s | density (%) | peak memory (MB) |"
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


def _draw(lays: dict[str, Lay], runs: Sequence[tuple[float, Run]], file: File) -> None:
    """Draw density against time: of each case the mean of the seeds, from the worst to the best."""
    from matplotlib.figure import Figure
    from matplotlib.ticker import FuncFormatter

    longest = max(seconds for seconds, _ in runs)
    moments = [0.5 * (2.0 * longest) ** (i / 80) for i in range(81)]
    figure = Figure(figsize=(8.4, 4.2), layout="constrained", dpi=110)
    every = figure.subplots(2, -(-len(lays) // 2), sharex=True, squeeze=False).flat
    for axes, (name, lay) in zip(every, lays.items(), strict=False):
        of = [one for seconds, one in runs if seconds == longest and one.case == name]
        known = [[density_at(one, moment, lay) or 0.0 for one in of] for moment in moments]
        there = [one for one in zip(moments, known, strict=True) if all(one[1])]
        at = [moment for moment, _ in there]
        low, high = [min(found) for _, found in there], [max(found) for _, found in there]
        axes.fill_between(at, low, high, color="#b5562b", alpha=0.2, linewidth=0.0)
        axes.plot(at, [statistics.fmean(found) for _, found in there], color="#b5562b")
        axes.set(title=f"{name}, {len(lay.parts)} parts", xscale="log")
        axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        axes.tick_params(labelsize=8)
        axes.title.set_fontsize(9)
        axes.grid(alpha=0.3, linewidth=0.5)
    figure.supxlabel("seconds", fontsize=9)
    figure.supylabel("density (%)", fontsize=9)
    figure.savefig(file, metadata={"Software": None})


if __name__ == "__main__":
    sys.exit(main())
