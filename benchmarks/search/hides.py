"""One hide, 40 parts, 12 flaws, 4 zones: how full it can be laid in 30 s.

    python -m benchmarks.search.hides [--time 30] [--seed 1] [--shares 0.5,0.6,0.7,0.8]
        [--json OUT.json]

The same parts on hides of the same outline, smaller and smaller: their net area is the
share of the hide that is asked for. A share counts if all 40 parts are laid and the judge
finds no fault. Beside it stands the trade's rule of thumb for small articles, 20 % waste
(leather-dictionary.com, "Leather cutting waste"). Hide, flaws, zones and parts are ours.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
from pathlib import Path

from nesting import make_plan, parse_job
from nesting.job.job import Job
from nesting.pattern.measure import area
from nesting.pattern.svg_path import parse_path
from nesting.planning.buying.hide_yield import SMALL_ARTICLES_WASTE, hide_yield
from nesting.search.warm import warm

SIDE = (
    "M 30,40 C 400,10 1300,0 1780,30 C 1880,40 1960,60 2010,110 C 2030,200 1980,260 1900,290 "
    "C 1800,330 1700,360 1660,450 C 1650,560 1690,700 1720,800 L 1600,830 C 1560,760 1520,720 "
    "1440,720 C 1180,800 820,820 560,760 C 480,740 420,780 380,860 L 270,830 C 280,700 220,600 "
    "150,540 C 70,460 20,340 0,220 Z"
)
"""A cow's side, tail on the left, the straight edge the back (mm)."""

ZONES = (
    (
        "butt",
        "A",
        "M 60,60 L 1000,40 L 1000,470 C 700,480 400,480 200,430 C 100,340 60,200 60,60 Z",
    ),
    ("shoulder", "B", "M 1000,40 L 1560,40 C 1600,160 1600,300 1560,430 L 1000,470 Z"),
    ("neck", "C", "M 1560,40 L 1780,50 L 1985,120 L 1890,262 L 1660,390 L 1570,400 Z"),
    ("belly", "D", "M 200,430 L 1000,470 L 1560,430 L 1440,690 L 820,760 L 560,700 Z"),
)

PARTS = (  # name, outline, copies, poorest grade: 40 small articles
    ("wallet back", "M 0,0 L 205,0 L 205,95 L 0,95 Z", 4, "A"),
    ("card pocket", "M 0,0 L 95,0 L 95,70 C 60,60 35,60 0,70 Z", 8, "B"),
    ("key flap", "M 0,0 L 110,0 L 110,60 A 55,55 0 0 1 0,60 Z", 6, "C"),
    ("pouch side", "M 0,0 L 180,0 L 180,95 C 180,130 130,140 90,140 L 0,140 Z", 6, "D"),
    ("gusset", "M 0,0 L 260,0 L 245,60 L 15,60 Z", 4, "D"),
    ("strap", "M 0,0 L 330,0 L 345,12 L 330,24 L 0,24 Z", 4, "B"),
    ("lining", "M 0,0 L 150,0 L 150,110 L 0,110 Z", 8, "D"),
)


def job_text(share: float, seed: int) -> str:
    """Return the job with a hide of which the parts are a share."""
    net = sum(count * area(parse_path(outline)[0]) for _, outline, count, _ in PARTS)
    scale = (net / share / area(parse_path(SIDE)[0])) ** 0.5
    dice = random.Random(seed)
    lines = ['[job]\nname = "Small articles"']
    for name, outline, _, _ in PARTS:
        lines.append(f'[[piece]]\nname = "{name}"\noutline = "{outline}"')
    lines.append('[[leather]]\nname = "side"\nspacing = 3\nmargin = 5')
    lines.append(f'[[leather.hide]]\nname = "17"\noutline = "{scaled(SIDE, scale)}"')
    for name, grade, outline in ZONES:
        lines.append(
            f'[[leather.hide.zone]]\nname = "{name}"\ngrade = "{grade}"\n'
            f'outline = "{scaled(outline, scale)}"'
        )
    for _ in range(12):
        x, y = dice.uniform(150, 1500) * scale, dice.uniform(80, 650) * scale
        size = dice.uniform(8, 30)
        lines.append(f"[[leather.hide.flaw]]\ncircle = {size:.1f}\nat = [{x:.1f}, {y:.1f}]")
    for name, _, count, grade in PARTS:
        nap = 'nap = "none"' if name == "strap" else ""
        lines.append(
            f'[[cut]]\npiece = "{name}"\nmaterial = "side"\ncopies = {count}\n'
            f'grade = "{grade}"\n{nap}'
        )
    return "\n".join(lines) + "\n"


def scaled(data: str, factor: float) -> str:
    """Return path data of lines and Bézier curves with every number scaled."""
    words = data.replace(",", " ").split()
    return " ".join(w if w.isalpha() else f"{float(w) * factor:.3f}" for w in words)


def run(share: float, seconds: float, seed: int) -> dict[str, object]:
    """Lay the job once."""
    job: Job = parse_job(job_text(share, seed))
    (entry,) = make_plan(job, seconds=seconds, seed=seed).entries
    found = hide_yield(entry)
    assert found is not None
    return {
        "asked": share,
        "laid": len(entry.marker.placements),
        "good": entry.good,
        "yield": round(found.share, 4),
        "first waste": round(found.first / found.gross, 4),
        "second waste": round(found.second / found.gross, 4),
        "kept": round(found.kept / found.gross, 4),
        "first marker": round(entry.search.first_seconds, 2),
        "seconds": round(entry.search.seconds, 1),
    }


def main() -> int:
    """Run the shares and print a line for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--time", type=float, default=30.0, help="seconds for each")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--shares", default="0.5,0.6,0.65,0.7,0.75")
    parser.add_argument("--json", type=Path)
    arguments = parser.parse_args()
    warm(lambda text: print(text, file=sys.stderr))
    found = []
    for share in map(float, arguments.shares.split(",")):
        found.append(run(share, arguments.time, arguments.seed))
        print(found[-1], flush=True)
    print(f"rule of thumb for small articles: {SMALL_ARTICLES_WASTE:.0%} waste")
    if arguments.json:
        arguments.json.write_text(json.dumps(found, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
