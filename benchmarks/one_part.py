"""How long the judge takes over one part that was moved, by the number of parts beside it.

Run ``python -m benchmarks.one_part [parts…]``. Seconds are of the processor, so that what else
the machine does counts little. Pieces of our own invention, in a grid; each move is judged,
then made.
"""

from __future__ import annotations

import argparse
import math
import random
import statistics
from dataclasses import replace
from time import process_time

from nesting.marker.check import check
from nesting.marker.judge import Judge
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle, rectangle

_PITCH, _ROWS, _MOVES = 70.0, 20, 40


def _pieces() -> tuple[Piece, ...]:
    """Return a disc, a panel with round corners, and a ring of sixty corners."""
    around = [2.0 * math.pi * k / 60 for k in range(60)]
    star = [
        (30.0 + (22.0 + 6.0 * (k % 2)) * math.cos(a), 30.0 + (22.0 + 6.0 * (k % 2)) * math.sin(a))
        for k, a in enumerate(around)
    ]
    return (
        Piece(name="disc", cut=circle(56.0, centre=(30.0, 30.0))),
        Piece(name="panel", cut=rectangle(60.0, 50.0, radius=8.0)),
        Piece(name="cog", cut=Path.polyline(star, closed=True)),
    )


def marker_of(count: int) -> Marker:
    """Return a marker of so many parts in a grid, without faults."""
    pieces = _pieces()
    parts = tuple(
        Part(name=f"part {i}", piece=pieces[i % 3], turns=Turns(slack=180.0)) for i in range(count)
    )
    placements = tuple(
        Placement(part=i, x=_PITCH * (i // _ROWS), y=_PITCH * (i % _ROWS)) for i in range(count)
    )
    lay = Lay(name="grid", parts=parts, stock=Strip(width=_PITCH * _ROWS), spacing=4.0)
    return Marker(lay=lay, placements=placements)


def main() -> None:
    """Print a table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("parts", type=int, nargs="*", default=[300, 5000], help="(300 and 5000)")
    counts = asked.parse_args().parts
    print("| parts | judge of all, s | made ready, s | one part, ms: median | most |")
    print("|---|---|---|---|---|")
    for count in counts:
        marker, dice = marker_of(count), random.Random(1)
        begun = process_time()
        check(marker)
        whole = process_time() - begun
        begun = process_time()
        judge = Judge(marker)
        ready = process_time() - begun
        took = []
        for _ in range(_MOVES):
            here = dice.choice(judge.marker.placements)
            there = replace(here, x=here.x + dice.uniform(-60.0, 60.0), angle=dice.uniform(0, 360))
            begun = process_time()
            judge.faults(there)
            judge.move(there)
            took.append(1e3 * (process_time() - begun))
        middle, most = statistics.median(took), max(took)
        print(f"| {count} | {whole:.2f} | {ready:.2f} | {middle:.1f} | {most:.1f} |")


if __name__ == "__main__":
    main()
