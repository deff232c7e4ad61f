"""More freedom, never worse: the same lays with two turns, as in `nap = "none"`, and with any.

    python -m benchmarks.search.freedom [CASE.json ...] [--rounds 300 | --time 20s] [--seed 1 2 3]
        [--json OUT.json]

Beside the cases that are named three of known length 0.4 m are made by a recipe: `rectangles`
(a rectangle parted 19 times across its longest side, at 30 to 70 %), `jigsaw` (9 times the
largest part is parted through its middle, across its longer side give or take 35°) and `tiles`
(40 L of three squares). No spacing. One worker; seconds are processor seconds. With rounds
both searches weigh as many positions.
"""

from __future__ import annotations

import argparse
import math
import random
import sys
from dataclasses import replace
from pathlib import Path as File

from shapely import Polygon
from shapely.geometry import LineString
from shapely.geometry.polygon import orient
from shapely.ops import split

from benchmarks.results import Section
from benchmarks.search.cases import read_case
from benchmarks.search.trial import Trial, ended, limits_of, tried
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import polygon_path
from nesting.search.warm import warm

TURNS = {"two": Turns(angles=(0.0, 180.0)), "any": Turns(slack=180.0)}


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


def turned(lay: Lay, turns: str) -> Lay:
    """Return a lay whose parts may take some turns."""
    return replace(lay, parts=tuple(replace(part, turns=TURNS[turns]) for part in lay.parts))


def main() -> int:
    """Run the cases and print a table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("case", nargs="*")
    parser.add_argument("--rounds", type=int, default=300)
    parser.add_argument("--time")
    parser.add_argument("--seed", type=int, default=[1, 2, 3], nargs="+")
    parser.add_argument("--json")
    parser.add_argument("--results", type=File, help="put the table into this file")
    options = parser.parse_args()
    limits = limits_of(rounds=options.rounds, said=options.time)
    print(f"warm-up {warm(print):.1f} s", flush=True)
    told = Section("Freedom to turn", "Two turns are 0 and 180°; one worker, processor seconds.")
    told.say("| case | seed | two turns (%) | any (%) | seconds | findings |")
    told.say("|---|---|---|---|---|---|")
    done: list[Trial] = []
    given = {case: read_case(case) for case in options.case}
    for name in (*given, "rectangles", "jigsaw", "tiles"):
        for seed in options.seed:
            made = {"rectangles": rectangles, "jigsaw": jigsaw, "tiles": tiles}
            lay = given[name] if name in given else made[name](seed)
            two, free = (
                tried(turned(lay, turns), kind=turns, limits=limits, seed=seed) for turns in TURNS
            )
            done += [two, free]
            told.say(
                f"| {lay.name} | {seed} | {two.density:.2f} | {free.density:.2f} "
                f"| {two.seconds:.1f}, {free.seconds:.1f} | {two.findings + free.findings} |"
            )
    told.put(options.results)
    return ended(done, options.json)


if __name__ == "__main__":
    sys.exit(main())
