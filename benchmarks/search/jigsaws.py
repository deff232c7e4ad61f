"""Parts that fit each other: jigsaws of known length, equal shapes that tile, a disc in a hole.

    python -m benchmarks.search.jigsaws [--parts 10 20 30 40] [--seed 1 2 3 4 5 6 7 8 9 10]
        [--time 60s | --rounds 600] [--workers 2] [--json OUT.json]

Jigsaws are those of ``freedom.py`` with so many parts, each as it is drawn: a rectangle of 400 by
240 mm whose largest part is cut in two again and again. Tiles may turn by quarters and are 100 %
if they are laid without waste: 20 L of three squares in 120 mm, 16 T of four squares in 80 mm,
24 right triangles of 40 by 30 mm in 120 mm. Of 24 half-discs of 40 mm in 120 mm no best length
is known here. Last a disc of 57 mm and a ring of 100 mm with a hole of 60 mm, 1 mm apart, on
102 mm: 100 mm long if the disc lies in the hole. A jigsaw or a set of tiles is solved at 99.99 %.
Then the recipes of ``interlocking.py``: jigsaws with 2 mm between their parts (398 mm is least),
jigsaws of 12 and 24 parts along curves (400 mm), both with the first four seeds; combs that
interlock with and without play, C, rings in rings (200 and 602 mm are least).
Seconds are those of the clock.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Iterator
from pathlib import Path as File

from benchmarks.results import Section
from benchmarks.search.freedom import jigsaw
from benchmarks.search.interlocking import combs, curved, hooks, rings, spaced
from benchmarks.search.trial import Trial, ended, limits_of, tried
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle
from nesting.search.warm import warm

SOLVED = 99.99
"""Density (%) from which a jigsaw counts as solved."""
QUARTERS = Turns(angles=(0.0, 90.0, 180.0, 270.0))

Ring = list[tuple[float, float]]


def tiled(name: str, ring: Ring, count: int, width: float) -> Lay:
    """Return a lay of equal shapes (mm) that may turn by quarters."""
    piece = Piece(name=name, cut=Path.polyline(ring, closed=True))
    parts = tuple(Part(name=f"{name} {i}", piece=piece, turns=QUARTERS) for i in range(count))
    return Lay(name=name, parts=parts, stock=Strip(width=width))


def tiles() -> Iterator[Lay]:
    """Yield sets of equal shapes."""
    ell: Ring = [(0, 0), (40, 0), (40, 20), (20, 20), (20, 40), (0, 40)]
    tee: Ring = [(0, 0), (60, 0), (60, 20), (40, 20), (40, 40), (20, 40), (20, 20), (0, 20)]
    half = [(20 * math.cos(a), 20 * math.sin(a)) for a in (math.pi * n / 24 for n in range(25))]
    yield tiled("L", ell, 20, 120.0)
    yield tiled("T", tee, 16, 80.0)
    yield tiled("right triangles", [(0, 0), (40, 0), (0, 30)], 24, 120.0)
    yield tiled("half-discs", half, 24, 120.0)


def in_a_hole() -> Lay:
    """Return a disc and the ring in whose hole there is just room for it."""
    hole = circle(60.0, centre=(50.0, 50.0))
    ring = Piece(name="ring", cut=circle(100.0), holes=(hole.reversed(),))
    plug = Piece(name="disc", cut=circle(57.0))
    parts = (Part(name="ring", piece=ring), Part(name="disc", piece=plug))
    return Lay(name="disc in a hole", parts=parts, stock=Strip(width=102.0), spacing=1.0)


def main() -> int:
    """Run all and print a table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--parts", type=int, nargs="*", default=[10, 20, 30, 40])
    parser.add_argument("--seed", type=int, nargs="+", default=list(range(1, 11)))
    parser.add_argument("--time", default="60s")
    parser.add_argument("--rounds", type=int)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--json")
    parser.add_argument("--results", type=File, help="put the table into this file")
    options = parser.parse_args()
    said = None if options.rounds is not None else options.time
    limits = limits_of(rounds=options.rounds, said=said)
    print(f"warm-up {warm(print):.1f} s", flush=True)
    told = Section(
        "Parts that fit each other",
        "Seconds by the clock. Half-discs have no known best; the disc lies in the hole where the "
        "marker is 100 mm long. With 2 mm of spacing a jigsaw is solved at 398 mm; rings in "
        "rings are at 200 mm, three sets of them at 602.",
    )
    told.say("| case | parts | seed | density (%) | length | seconds | rounds | findings |")
    told.say("|---|---|---|---|---|---|---|---|")
    cases = [(jigsaw(seed, count), seed) for count in options.parts for seed in options.seed]
    cases += [(lay, options.seed[0]) for lay in (*tiles(), in_a_hole())]
    some_seeds = options.seed[:4]
    cases += [(spaced(seed, count), seed) for count in options.parts for seed in some_seeds]
    cases += [(curved(seed, *cells), seed) for cells in ((4, 3), (6, 4)) for seed in some_seeds]
    sets = (combs(24, 10.5, 200.0), combs(24, 10.0, 200.0), hooks(24, 250.0), *rings())
    cases += [(lay, seed) for lay in sets for seed in some_seeds]
    done: list[Trial] = []
    for lay, seed in cases:
        one = tried(lay, limits=limits, seed=seed, workers=options.workers, clock=time.monotonic)
        done.append(one)
        told.say(
            f"| {one.case} | {one.parts} | {seed} | {one.density:.2f} | {one.length:.2f} "
            f"| {one.seconds:.1f} | {one.rounds} | {one.findings} |"
        )
    told.say("\n| parts | jigsaws | solved | least density (%) | slowest (s) | findings |")
    told.say("|---|---|---|---|---|---|")
    for count in options.parts:
        some = [one for one in done if one.case == "jigsaw" and one.parts == count]
        told.say(
            f"| {count} | {len(some)} | {sum(one.density >= SOLVED for one in some)} "
            f"| {min(one.density for one in some):.2f} | {max(one.seconds for one in some):.1f} "
            f"| {sum(one.findings for one in some)} |"
        )
    told.put(options.results)
    return ended(done, options.json)


if __name__ == "__main__":
    sys.exit(main())
