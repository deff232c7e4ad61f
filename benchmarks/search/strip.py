"""Open strip-packing cases: density, length and findings.

    python -m benchmarks.search.strip CASE.json [CASE.json ...] --time 60s --seed 1 [--workers 2]
        [--json OUT.json]

Reads the plain JSON form and the original XML of the data sets, both described in
``cases.py``. No spacing, no mirroring; density is the parts' area divided by strip width times
used length. The kernels are compiled before the clock starts.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import dataclass
from pathlib import Path as File

from benchmarks.search.cases import read_case
from nesting.errors import JobError
from nesting.marker.check import check
from nesting.marker.lay import Lay, Strip
from nesting.search.result import Limits
from nesting.search.solve import search
from nesting.search.warm import warm


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One case searched once."""

    case: str
    density: float
    length: float
    seconds: float
    seed: int
    workers: int
    findings: int
    first_seconds: float
    rounds: int
    history: tuple[tuple[float, float], ...]


def run(lay: Lay, *, seconds: float, seed: int, workers: int) -> Run:
    """Search a case and judge the marker."""
    result = search(lay, limits=Limits(seconds=seconds), seed=seed, workers=workers)
    xs = [
        placed.affine(point)[0]
        for placed in result.marker.placements
        for point in lay.parts[placed.part].piece.cut.points(1e-3)
    ]
    length = max(xs, default=0.0)
    stock = lay.stock
    assert isinstance(stock, Strip)
    findings = len(check(result.marker)) + len(result.unplaced)
    return Run(
        case=lay.name,
        density=100.0 * total_area(lay) / (length * stock.width) if length else 0.0,
        length=length,
        seconds=result.seconds,
        seed=seed,
        workers=workers,
        findings=findings,
        first_seconds=result.first_seconds,
        rounds=result.rounds,
        history=result.history,
    )


def total_area(lay: Lay) -> float:
    """Return the parts' area, cut-outs taken off (mm²)."""
    total = 0.0
    for part in lay.parts:
        for path in (part.piece.cut, *part.piece.holes):  # these run clockwise
            ring = path.points(1e-3)
            total += 0.5 * sum(
                x0 * y1 - x1 * y0
                for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True)
            )
    return total


def line_of(one: Run) -> str:
    """Return a row of the table."""
    return (
        f"{one.case:<14} {one.density:8.2f} {one.length:14.4f} "
        f"{one.seconds:8.1f} {one.seed:4d} {one.findings:8d}"
    )


def seconds_of(text: str) -> float:
    """Read "60s", "10 min", "2m" or a plain number of seconds."""
    body = text.strip().lower()
    for unit, factor in (("min", 60.0), ("m", 60.0), ("s", 1.0)):
        if body.endswith(unit):
            return float(body[: -len(unit)]) * factor
    return float(body)


def main() -> int:
    """Run the cases named on the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("case", nargs="+")
    parser.add_argument("--time", default="60s")
    parser.add_argument("--seed", type=int, default=1, nargs="+")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--json")
    options = parser.parse_args()
    seeds = options.seed if isinstance(options.seed, list) else [options.seed]
    try:
        lays = [read_case(case) for case in options.case]
    except JobError as error:
        print(error, file=sys.stderr)
        return 2
    print(f"warm-up {warm(print):.1f} s", flush=True)
    print(
        f"{'case':<14} {'density':>8} {'length':>14} {'seconds':>8} {'seed':>4} {'findings':>8}",
        flush=True,
    )
    done: list[Run] = []
    for lay in lays:
        for seed in seeds:
            one = run(lay, seconds=seconds_of(options.time), seed=seed, workers=options.workers)
            done.append(one)
            print(line_of(one), flush=True)
    if options.json:
        rows = [
            {
                "case": one.case,
                "density": one.density,
                "length": one.length,
                "seconds": one.seconds,
                "seed": one.seed,
                "workers": one.workers,
                "findings": one.findings,
                "first_seconds": one.first_seconds,
                "rounds": one.rounds,
            }
            for one in done
        ]
        File(options.json).write_text(json.dumps(rows, indent=1) + "\n", encoding="utf-8")
    return 0 if all(one.findings == 0 for one in done) else 1


if __name__ == "__main__":
    sys.exit(main())
