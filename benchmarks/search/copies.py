"""More copies, denser: the same parts once, 4, 16 and 64 times, at equal work.

    python -m benchmarks.search.copies [CASE.json ...] [--copies 1 4 16 64]
        [--rounds 100 | --time 20s] [--seed 1 2 3] [--json OUT.json]

Without a case a bag of our own invention is laid: 13 parts of five outlines, on cloth of
1,400 mm, either way up. One worker; seconds are processor seconds. With rounds all searches
weigh as many positions.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path as File

from benchmarks.results import Section
from benchmarks.search.cases import read_case
from benchmarks.search.trial import Trial, ended, limits_of, tried
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.piece import Piece
from nesting.pattern.svg_path import parse_path
from nesting.search.warm import warm

BAG = (
    ("panel", "M 0,0 L 400,0 C 430,60 430,260 400,320 L 0,320 C -20,220 -20,100 0,0 Z", 2),
    ("gusset", "M 0,0 L 350,0 L 300,120 L 40,110 Z", 2),
    ("pocket", "M 0,0 L 220,0 L 220,150 C 180,190 40,190 0,150 Z", 4),
    ("base", "M 10,0 L 320,0 L 330,10 L 330,100 L 320,110 L 10,110 L 0,100 L 0,10 Z", 1),
    ("tab", "M 15,0 L 90,0 L 90,40 L 15,40 C -5,40 -5,0 15,0 Z", 4),
)
"""Name, outline (mm) and how often a bag has it."""


def bag() -> Lay:
    """Return the parts of one bag."""
    parts = tuple(
        Part(
            name=f"{name} {i}",
            piece=Piece(name=name, cut=parse_path(outline)[0]),
            turns=Turns(angles=(0.0, 180.0)),
        )
        for name, outline, count in BAG
        for i in range(count)
    )
    return Lay(name="bag", parts=parts, stock=Strip(width=1400.0), spacing=2.0)


def times(lay: Lay, copies: int) -> Lay:
    """Return a lay with all parts so often."""
    parts = tuple(
        replace(part, name=f"{part.name}, {n}") for n in range(copies) for part in lay.parts
    )
    return replace(lay, parts=parts)


def main() -> int:
    """Run the cases and print a table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("case", nargs="*")
    parser.add_argument("--copies", type=int, nargs="+", default=[1, 4, 16, 64])
    parser.add_argument("--rounds", type=int, default=100)
    parser.add_argument("--time")
    parser.add_argument("--seed", type=int, default=[1, 2, 3], nargs="+")
    parser.add_argument("--json")
    parser.add_argument("--results", type=File, help="put the table into this file")
    options = parser.parse_args()
    limits = limits_of(rounds=options.rounds, said=options.time)
    print(f"warm-up {warm(print):.1f} s", flush=True)
    told = Section("Copies", "One worker, processor seconds.")
    told.say("| case | copies | seed | density (%) | length | seconds | findings |")
    told.say("|---|---|---|---|---|---|---|")
    done: list[Trial] = []
    for lay in [read_case(case) for case in options.case] or [bag()]:
        for copies in options.copies:
            for seed in options.seed:
                many = times(lay, copies)
                one = tried(many, kind=str(copies), limits=limits, seed=seed)
                done.append(one)
                told.say(
                    f"| {one.case} | {one.kind} | {one.seed} | {one.density:.2f} "
                    f"| {one.length:.2f} | {one.seconds:.1f} | {one.findings} |"
                )
    told.put(options.results)
    return ended(done, options.json)


if __name__ == "__main__":
    sys.exit(main())
