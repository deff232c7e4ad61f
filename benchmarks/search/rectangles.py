"""Rectangles with a known optimum: how near, how soon, and whether it is proven.

Run ``python -m benchmarks.search.rectangles CASE.json [CASE.json ...] [--time 60s] [--seed 1]
[--workers 2] [--turning] [--json OUT.json]``. A case is
``{"name", "strip_width", "optimum_length", "rectangles": [[w, h], ...]}``, w across the
strip, as the zero-waste cases T1 to T7 of E. Hopper, "Two-dimensional packing utilising
evolutionary algorithms and other meta-heuristic methods", PhD thesis, Cardiff, 2000
(cut from 200 × 200 by guillotine cuts, five of each size). Without ``--turning`` the
rectangles lie as given; with it they may turn by 90°.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path as File
from time import perf_counter
from typing import Any

from nesting.errors import JobError
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.search.rectangles.course import pack
from nesting.search.result import Result, Stopped

UNITS = {"s": 1.0, "min": 60.0, "h": 3600.0}


def seconds(text: str) -> float:
    """Read "60s", "10min", "1h" or plain seconds."""
    number = text.rstrip("abcdefghijklmnopqrstuvwxyz ")
    try:
        return float(number) * UNITS[text[len(number) :].strip() or "s"]
    except (KeyError, ValueError):
        raise argparse.ArgumentTypeError(f"{text!r} is no time such as 60s or 10min") from None


def read_case(file: File, *, turning: bool) -> tuple[Lay, float | None]:
    """Read a case: its lay, and its optimum if the file knows it and it holds.

    Raises
    ------
    JobError
        One line: which file, and what is wrong with it.

    """
    try:
        case = json.loads(file.read_text(encoding="utf-8-sig"))
        width = float(case["strip_width"])
        sizes = [(float(across), float(along)) for across, along in case["rectangles"]]
        optimum = case.get("optimum_length")
        optimum = None if optimum is None else float(optimum)
    except OSError as error:
        why = error.strerror or str(error)
        raise JobError(f"can't be opened: {why}", file=file.name) from error
    except (KeyError, TypeError, ValueError) as error:
        hint = 'a case is {"strip_width", "rectangles": [[w, h], ...]}'
        raise JobError("can't be read as a case", file=file.name, hint=hint) from error
    if not all(size > 0.0 for pair in ((width, width), *sizes) for size in pair):
        raise JobError("has a size that is not above 0", file=file.name)
    turns = Turns(angles=(0.0, 90.0) if turning else (0.0,))
    parts = []
    for i, (across, along) in enumerate(sizes):
        ring = [(0.0, 0.0), (along, 0.0), (along, across), (0.0, across)]
        piece = Piece(name=f"{i + 1}", cut=Path.polyline(ring, closed=True))
        parts.append(Part(name=piece.name, piece=piece, turns=turns))
    name = str(case.get("name") or file.stem)
    return Lay(name=name, parts=tuple(parts), stock=Strip(width=width)), optimum


def warm() -> float:
    """Compile the kernels; return how long that took (s)."""
    begin = perf_counter()
    ring = [(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (0.0, 1.0)]
    piece = Piece(name="p", cut=Path.polyline(ring, closed=True))
    part = Part(name="p", piece=piece, turns=Turns(angles=(0.0, 90.0)))
    pack(Lay(name="warm", parts=(part,), stock=Strip(width=3.0)), rounds=1)
    return perf_counter() - begin


def row(lay: Lay, result: Result, optimum: float | None) -> dict[str, Any]:
    """Return what is said of a run."""
    f = figures(result.marker)
    reached = next((t for t, length in result.history if length <= f.length * (1 + 1e-9)), None)
    return {
        "case": lay.name,
        "parts": len(lay.parts),
        "optimum": optimum,
        "length": f.length,
        "bound": result.bound.value,
        "proven": result.stopped is Stopped.OPTIMAL,
        "density": f.efficiency,
        "found_after": reached,
        "seconds": result.seconds,
        "seed": result.seed,
        "workers": result.workers,
        "findings": [finding.text for finding in check(result.marker)],
    }


TITLES = ("case", "parts", "optimum", "found", "over", "proven", "found after", "seconds", "faults")


def line(run: dict[str, Any]) -> str:
    """Return one line of the table."""
    over = "" if not run["optimum"] else f"{100 * (run['length'] / run['optimum'] - 1):.2f} %"
    cells = (
        run["case"],
        run["parts"],
        "?" if run["optimum"] is None else f"{run['optimum']:g}",
        f"{run['length']:.6g}",
        over,
        "yes" if run["proven"] else "no",
        f"{run['found_after']:.1f}",
        f"{run['seconds']:.1f}",
        len(run["findings"]),
    )
    return " ".join(f"{cell!s:>11}" for cell in cells)


def main(arguments: list[str], *, say: Callable[[str], None] = print) -> int:
    """Run the cases; return 1 if any marker has a finding."""
    parser = argparse.ArgumentParser(description="Rectangles with a known optimum.")
    parser.add_argument("cases", nargs="+", type=File)
    parser.add_argument("--time", type=seconds, default=60.0, help="a case, such as 60s")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--turning", action="store_true", help="turns by 90° allowed")
    parser.add_argument("--json", type=File, help="write the same as a JSON list")
    options = parser.parse_args(arguments)
    try:
        cases = [read_case(file, turning=options.turning) for file in options.cases]
    except JobError as error:
        print(error, file=sys.stderr)
        return 2
    say(f"compiled in {warm():.1f} s; turning by 90° {'' if options.turning else 'not '}allowed")
    say(" ".join(f"{title:>11}" for title in TITLES))
    runs = []
    for lay, optimum in cases:
        result = pack(lay, seconds=options.time, seed=options.seed, workers=options.workers)
        runs.append(row(lay, result, optimum))
        say(line(runs[-1]))
    proven = sum(run["proven"] for run in runs)
    say(f"proven optimal: {proven} of {len(runs)}")
    if options.json:
        options.json.write_text(json.dumps(runs, indent=1) + "\n")
    return int(any(run["findings"] for run in runs))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
