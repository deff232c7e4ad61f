"""How much travel the order of cutting saves, and how long it takes to find.

Run ``python -m benchmarks.cutting_order [contours]``. The drawings are invented: parts
of some shapes with notches and cut-outs on a loose grid, listed piece by piece as a
cutting list gives them, so that neighbours in the list are not neighbours on the cloth.
"""

from __future__ import annotations

import argparse
import math
import random
from time import perf_counter

from nesting.pattern.path import Arc, Line, Path
from nesting.writing.machines.formats import Format
from nesting.writing.machines.machine import Kind, Machine, Tool
from nesting.writing.machines.sequence import in_sequence
from nesting.writing.neutral.drawing import Drawing, Operation, Stroke

LASER = Machine(
    name="invented",
    kind=Kind.LASER,
    reads=(Format.SVG,),
    bed_length=10_000.0,
    bed_width=1_500.0,
    tools=tuple(
        Tool(operation=op, name="laser", layer="1", pen=1, colour="#ff0000")
        for op in (Operation.CUT, Operation.NOTCH, Operation.DRILL)
    ),
    travel_speed=300.0,
    cutting_speed=30.0,
)


def invented(contours: int, *, details: bool, seed: int = 1) -> Drawing:
    """Return so many outlines on a grid in mixed order; with `details` also notches and holes."""
    rng = random.Random(seed)
    rows = 14
    cells = [(i // rows, i % rows) for i in range(contours)]
    rng.shuffle(cells)
    strokes: list[Stroke] = []
    for index, (column, row) in enumerate(cells):
        x, y = 100.0 * column + rng.uniform(0, 15), 100.0 * row + rng.uniform(0, 15)
        w, h, r = rng.uniform(40, 80), rng.uniform(40, 80), rng.uniform(5, 15)
        if details:
            bore = Arc((x + w / 2, y + h / 2), (r, 0.0), (0.0, r), 0.0, -2 * math.pi)
            strokes.append(
                Stroke(operation=Operation.CUT, path=Path((bore,)), part=index, inner=True)
            )
            strokes += [
                Stroke(operation=Operation.NOTCH, path=Path((Line(p, q),)), part=index)
                for p, q in (
                    ((x + w / 3, y), (x + w / 3, y + 4)),
                    ((x + w, y + h / 3), (x + w - 4, y + h / 3)),
                )
            ]
        box = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        strokes.append(
            Stroke(operation=Operation.CUT, path=Path.polyline(box, closed=True), part=index)
        )
    length = 100.0 * (contours // rows + 1)
    return Drawing(name="invented", length=length, width=1400.0, strokes=tuple(strokes))


def main() -> None:
    """Print a table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("contours", type=int, nargs="?", default=1000, help="outlines (1000)")
    contours = asked.parse_args().contours
    print("| outlines | strokes | travel as listed (m) | ordered (m) | saved | seconds |")
    print("|---|---|---|---|---|---|")
    for details in (False, True):
        drawing = invented(contours, details=details)
        begun = perf_counter()
        result = in_sequence(drawing, LASER, form=Format.SVG)
        took = perf_counter() - begun
        before, after = result.travel_before / 1e3, result.travel_after / 1e3
        print(
            f"| {contours} | {result.lifts} | {before:.1f} | {after:.1f} "
            f"| {1.0 - after / before:.0%} | {took:.1f} |"
        )


if __name__ == "__main__":
    main()
