"""More freedom, never worse: the same lays with two turns, as in `nap = "none"`, and with any.

    python benchmarks/freedom.py [CASE.json ...] [--rounds 300 | --time 20s] [--seed 1 2 3]
        [--json OUT.json]

Beside the cases that are named three of known length 0.4 m are made by a recipe: `rectangles`
(a rectangle parted 19 times across its longest side, at 30 to 70 %), `jigsaw` (9 times the
largest part is parted through its middle, across its longer side give or take 35°) and `tiles`
(40 L of three squares). No spacing. One worker; seconds are processor seconds. With rounds
both searches weigh as many positions.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import sys
import time
from dataclasses import asdict, dataclass, replace
from pathlib import Path as File

from cases import read_case
from shapely import Polygon
from shapely.geometry import LineString
from shapely.geometry.polygon import orient
from shapely.ops import split
from strip import seconds_of, total_area

from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import polygon_path
from nesting.search.result import Limits
from nesting.search.solve import search
from nesting.search.warm import warm

TURNS = {"two": Turns(angles=(0.0, 180.0)), "any": Turns(slack=180.0)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One case searched once."""

    case: str
    turns: str
    density: float
    length: float
    seconds: float
    rounds: int
    seed: int
    findings: int


def lay_of(name: str, rings: list[Polygon], width: float) -> Lay:
    """Return a lay of polygons, each as it is drawn (mm)."""
    parts = tuple(
        Part(name=f"{name} {i}", piece=Piece(name=f"{name} {i}", cut=polygon_path(corners(ring))))
        for i, ring in enumerate(rings)
    )
    return Lay(name=name, parts=parts, stock=Strip(width=width))


def corners(ring: Polygon) -> list[tuple[float, float]]:
    """Return a polygon's corners, counter-clockwise."""
    return [(float(x), float(y)) for x, y in orient(ring).exterior.coords[:-1]]


def rectangles(seed: int) -> Lay:
    """Return 20 rectangles that fill 400 × 240 mm, all sides whole mm."""
    dice = random.Random(seed)
    boxes = [(400, 240)]
    while len(boxes) < 20:
        boxes.sort(key=max)
        length, width = boxes.pop()
        at = round(dice.uniform(0.3, 0.7) * max(length, width))
        if length >= width:
            boxes += [(at, width), (length - at, width)]
        else:
            boxes += [(length, at), (length, width - at)]
    rings = [Polygon([(0, 0), (w, 0), (w, h), (0, h)]) for w, h in boxes]
    return lay_of("rectangles", rings, 240.0)


def jigsaw(seed: int, count: int = 10) -> Lay:
    """Return so many convex polygons that fill 400 × 240 mm."""
    dice = random.Random(seed)
    parts = [Polygon([(0, 0), (400, 0), (400, 240), (0, 240)])]
    while len(parts) < count:
        parts.sort(key=lambda part: part.area)
        largest = parts.pop()
        x0, y0, x1, y1 = largest.bounds
        across = math.pi / 2 if x1 - x0 >= y1 - y0 else 0.0
        angle = across + math.radians(dice.uniform(-35.0, 35.0))
        x, y = largest.centroid.coords[0]
        dx, dy = 1e3 * math.cos(angle), 1e3 * math.sin(angle)
        line = LineString([(x - dx, y - dy), (x + dx, y + dy)])
        parts += [part for part in split(largest, line).geoms if isinstance(part, Polygon)]
    return lay_of("jigsaw", parts, 240.0)


def tiles(seed: int) -> Lay:
    """Return 40 L of three squares of 20 mm, which fill 400 × 120 mm; the seed is not used."""
    ell = Polygon([(0, 0), (40, 0), (40, 20), (20, 20), (20, 40), (0, 40)])
    return lay_of("tiles", [ell] * 40, 120.0)


def run(lay: Lay, turns: str, *, limits: Limits, seed: int) -> Run:
    """Search a lay with some turns and judge the marker."""
    parts = tuple(replace(part, turns=TURNS[turns]) for part in lay.parts)
    lay = replace(lay, parts=parts)
    begin = time.process_time()
    result = search(lay, limits=limits, seed=seed, workers=1)
    spent = time.process_time() - begin
    length = figures(result.marker).length
    assert isinstance(lay.stock, Strip)
    return Run(
        case=lay.name,
        turns=turns,
        density=100.0 * total_area(lay) / (length * lay.stock.width),
        length=length,
        seconds=spent,
        rounds=result.rounds,
        seed=seed,
        findings=len(check(result.marker)) + len(result.unplaced),
    )


def main() -> int:
    """Run the cases and print a table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("case", nargs="*")
    parser.add_argument("--rounds", type=int, default=300)
    parser.add_argument("--time")
    parser.add_argument("--seed", type=int, default=[1, 2, 3], nargs="+")
    parser.add_argument("--json")
    options = parser.parse_args()
    limits = Limits(seconds=None, rounds=options.rounds)
    if options.time:
        limits = Limits(seconds=seconds_of(options.time))
    print(f"warm-up {warm(print):.1f} s", flush=True)
    print("| case | seed | two turns (%) | any (%) | seconds | findings |")
    print("|---|---|---|---|---|---|", flush=True)
    done: list[Run] = []
    given = {case: read_case(case) for case in options.case}
    for name in (*given, "rectangles", "jigsaw", "tiles"):
        for seed in options.seed:
            made = {"rectangles": rectangles, "jigsaw": jigsaw, "tiles": tiles}
            lay = given[name] if name in given else made[name](seed)
            two, free = (run(lay, turns, limits=limits, seed=seed) for turns in TURNS)
            done += [two, free]
            print(
                f"| {lay.name} | {seed} | {two.density:.2f} | {free.density:.2f} "
                f"| {two.seconds:.1f}, {free.seconds:.1f} | {two.findings + free.findings} |",
                flush=True,
            )
    if options.json:
        rows = json.dumps([asdict(one) for one in done], indent=1)
        File(options.json).write_text(rows + "\n", encoding="utf-8")
    return 0 if all(one.findings == 0 for one in done) else 1


if __name__ == "__main__":
    sys.exit(main())
