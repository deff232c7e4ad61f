"""Rectangles on sheets: the ten classes of two-dimensional bin packing, against the bound.

Run ``python -m benchmarks.search.bins [--class 1 2 …] [--parts 20 40] [--cases 3] [--rounds 20]
[--json OUT.json] [--results benchmarks/RESULTS.md]``. Classes 1 to 6 are those of J. O. Berkey
and P. Y. Wang, "Two-dimensional finite bin-packing algorithms", Journal of the Operational
Research Society 38 (1987), 7 to 10 those of S. Martello and D. Vigo, "Exact solution of the
two-dimensional finite bin packing problem", Management Science 44 (1998). The recipes are told
from memory, and drawn with seeds of our own, so no figure stands for a published one. Rectangles
lie as given.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import sys
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path as File
from time import process_time

from benchmarks.results import Section
from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Sheet, Sheets
from nesting.marker.measure import piece_area
from nesting.pattern.measure import area
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.result import Limits
from nesting.search.solve import search

UNIFORM = {1: (10, 10), 2: (10, 30), 3: (35, 40), 4: (35, 100), 5: (100, 100), 6: (100, 300)}
"""Of classes 1 to 6: sides go from 1 to the first number, sheets are squares of the other."""

SIDE = 100
"""Of the sheets of classes 7 to 10."""

KINDS = (
    (2 / 3, 1.0, 0.0, 1 / 2),
    (0.0, 1 / 2, 2 / 3, 1.0),
    (1 / 2, 1.0, 1 / 2, 1.0),
    (0.0, 1 / 2, 0.0, 1 / 2),
)
"""Of classes 7 to 10: least and largest share of the sheet, along and across."""

MOSTLY = 0.7
"""In class 7 the first kind is drawn so often, in 8 the second …; the others a tenth each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What came of one class and number of parts: sums over its cases.

    `area`: what the parts' area alone needs (the continuous bound); `bound`: what is proved.
    """

    case: str
    parts: int
    cases: int
    sheets: int
    area: int
    bound: int
    proved: int
    unplaced: int
    findings: int
    seconds: float
    rounds: int
    seed: int


def sizes(number: int, count: int, dice: random.Random) -> tuple[int, list[tuple[int, int]]]:
    """Draw the rectangles of a class; return the side of its sheets, too."""
    if number in UNIFORM:
        most, side = UNIFORM[number]
        return side, [(dice.randint(1, most), dice.randint(1, most)) for _ in range(count)]
    return SIDE, [_of_kind(number - 7, dice) for _ in range(count)]


def _of_kind(main: int, dice: random.Random) -> tuple[int, int]:
    others = [kind for kind in range(len(KINDS)) if kind != main]
    kind = main if dice.random() < MOSTLY else dice.choice(others)
    a, b, c, d = (round(share * SIDE) for share in KINDS[kind])
    return dice.randint(max(a, 1), b), dice.randint(max(c, 1), d)


def lay_of(number: int, count: int, case: int) -> Lay:
    """Return one lay of a class: as many sheets as it takes."""
    side, boxes = sizes(number, count, random.Random(f"{number} {count} {case}"))
    parts = tuple(
        Part(name=str(i), piece=Piece(name=f"{w} x {h}", cut=rectangle(w, h)))
        for i, (w, h) in enumerate(boxes)
    )
    sheet = Sheet(name="sheet", outline=rectangle(side, side))
    return Lay(name=f"class {number}", parts=parts, stock=Sheets(sheets=(sheet,)))


def by_area(lay: Lay) -> int:
    """Return how many sheets the parts fill if nothing is wasted."""
    (sheet,) = lay.stock.sheets
    total = math.fsum(piece_area(part.piece) for part in lay.parts)
    return math.ceil(total / area(sheet.outline) - 1e-9)


def measured(number: int, count: int, *, cases: int, rounds: int, seed: int) -> Row:
    """Lay all cases of a class with so many parts."""
    begin = process_time()
    limits = Limits(seconds=None, rounds=rounds)
    lays = [lay_of(number, count, case) for case in range(cases)]
    found = [search(lay, limits=limits, seed=seed, workers=1) for lay in lays]
    used = [len(result.marker.sheets) for result in found]
    bounds = [round(result.bound.value) for result in found]
    return Row(
        case=f"class {number}",
        parts=count,
        cases=cases,
        sheets=sum(used),
        area=sum(map(by_area, lays)),
        bound=sum(bounds),
        proved=sum(u == b for u, b in zip(used, bounds, strict=True)),
        unplaced=sum(len(result.unplaced) for result in found),
        findings=sum(len(check(result.marker)) for result in found),
        seconds=round(process_time() - begin, 1),
        rounds=rounds,
        seed=seed,
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Print a table; return 1 if something was not laid, or not well."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    add = parser.add_argument
    add("--class", dest="classes", type=int, nargs="+", choices=range(1, 11), default=range(1, 11))
    add("--parts", type=int, nargs="+", default=[20, 40])
    add("--cases", type=int, default=3)
    add("--rounds", type=int, default=20)
    add("--seed", type=int, default=1)
    add("--json", type=File)
    add("--results", type=File, help="put the table into this file")
    asked = parser.parse_args(argv)
    told = Section("Rectangles on sheets", "Sums over the cases; one worker, processor seconds.")
    told.say(
        "| class | parts | cases | sheets | by area | bound | proved fewest | seconds | findings |"
    )
    told.say("|---|---|---|---|---|---|---|---|---|")
    rows = []
    for number in asked.classes:
        for count in asked.parts:
            row = measured(number, count, cases=asked.cases, rounds=asked.rounds, seed=asked.seed)
            rows.append(row)
            told.say(
                f"| {row.case} | {row.parts} | {row.cases} | {row.sheets} | {row.area} |"
                f" {row.bound} | {row.proved} | {row.seconds} | {row.findings} |"
            )
    sheets, least, plain, proved, all_of = (
        sum(getattr(row, of) for row in rows)
        for of in ("sheets", "bound", "area", "proved", "cases")
    )
    told.say(
        f"\nOf {all_of} lays {proved} are proved to take the fewest sheets; all together take "
        f"{sheets / least - 1.0:.1%} more\nthan the bound, {sheets / plain - 1.0:.1%} more than "
        "the area alone would. Published averages are left\nout until they can be held against "
        "the papers."
    )
    told.put(asked.results)
    if asked.json is not None:
        asked.json.write_text(json.dumps([asdict(row) for row in rows], indent=1) + "\n")
    return int(any(row.unplaced or row.findings for row in rows))


if __name__ == "__main__":
    sys.exit(main())
