"""How true pieces of scans and photographs are, against renders of known shapes: a table.

Run ``python -m benchmarks.photographed.pictures [--small] [--only N] [--write]
[--picture FILE.png]``. Every row
is a picture: what is largest off anywhere in any outline (Hausdorff distance, both ways, the
outlines laid on each other), the most that it was told to be, pieces that lie off by more than they
are told (there should be none), and how long reading took. `--small`: half of the pixels along a
side. `--write`: puts the table into `RESULTS.md`, in place of the one there. `--picture`: draws
what was found over one of the renders, and measures nothing; so the README's picture is made.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path as FilePath

import numpy as np
from PIL import Image

from benchmarks.photographed.renders import (
    Camera,
    Points,
    Scanner,
    Thing,
    apart,
    box,
    placed,
    render,
    saved,
    sheet,
    stroke,
)
from benchmarks.results import RESULTS, commit
from nesting.pattern.curves import Bezier, Line
from nesting.pattern.path import Path
from nesting.pattern.shapes import circle, ellipse, rectangle
from nesting.reading.items import Role
from nesting.reading.pictures.overlay import write_overlay
from nesting.reading.pictures.picture import read_picture
from nesting.reading.pictures.reader import Pen, read_photograph
from nesting.reading.pictures.references.reference import parse_references
from nesting.reading.read import Reference, read_pattern


def _points(path: Path) -> Points:
    return np.array(path.points(0.005))


def _flap() -> Points:
    """Return a flap with two curved corners, as bags have them."""
    return _points(
        Path(
            (
                Line((0, 0), (220, 0)),
                Line((220, 0), (220, 90)),
                Bezier((220, 90), (218, 140), (180, 165), (120, 165)),
                Bezier((120, 165), (50, 165), (2, 140), (0, 90)),
                Line((0, 90), (0, 0)),
            )
        )
    )


FLAP, PANEL = _flap(), _points(rectangle(260, 180, radius=25))
OVAL, DISC = _points(ellipse(150, 90)), _points(circle(110))
STRAP = box(330, 40)
PAPER, KRAFT, BLUE = (236, 233, 226), (182, 132, 84), (96, 128, 190)
LENS = (-0.06, 0.02, 0.0004, -0.0003, 0.0)


@dataclass(frozen=True)
class Case:
    """A picture, what gives its scale, and the true outlines in it."""

    name: str
    view: Camera | Scanner
    things: list[Thing]
    reference: str
    true: list[Points]
    ground: tuple[int, int, int] = (92, 84, 78)
    pen: Pen | None = None


def _table(sheets: Sequence[Thing], name: str, camera: Camera, reference: str = "A4") -> Case:
    """Return pieces of paper on a table of about 1 m."""
    shapes = [
        (FLAP, -430, 40, 8, PAPER),
        (PANEL, 20, 110, -15, KRAFT),
        (OVAL, -40, -60, 30, BLUE),
        (DISC, -110, -255, 0, PAPER),
        (STRAP, -420, -30, -3, KRAFT),
    ]
    things = [Thing(placed(shape, x, y, turn), colour) for shape, x, y, turn, colour in shapes]
    return Case(name, camera, [*sheets, *things], reference, [shape for shape, *_ in shapes])


def cases(share: float) -> list[Case]:
    """Return the pictures; `share`: how many pixels along a side, of the full size."""
    size = (round(4000 * share), round(3000 * share))
    camera = Camera(size=size, focal=3100.0 * share, lens=LENS, tilt=(9, -6, 3), far=800.0)
    steep = replace(camera, tilt=(22, 12, 10), far=880.0, lens=(0.0,) * 5)
    straight = replace(camera, lens=(0.0,) * 5, tilt=(1, 1, 0))
    beside, other = sheet(60, -340, turn=4), sheet(-430, -330, turn=-3)
    letter = sheet(70, -340, turn=4, sides=(279.4, 215.9))
    dpi = 150.0 * share
    scanner = Scanner(
        size=(round(2500 * share), round(1900 * share)), dpi=dpi, turn=1.3, corner=(14.0, 20.0)
    )
    drawn = [
        *stroke(placed(FLAP, 10, 90), 0.7),
        *stroke(placed(PANEL, 20, 5) * [1.0, 0.4], 0.7),
        *stroke(placed(OVAL, 245, 110), 0.7),
        *stroke(placed(box(50, 50), 310, 20), 0.5),
    ]
    scan = Case(
        f"scan, {dpi:g} dpi, middle of lines",
        scanner,
        drawn,
        "5 cm square",
        [FLAP, PANEL * [1.0, 0.4], OVAL],
        ground=(249, 248, 244),
        pen=Pen.MIDDLE,
    )
    return [
        scan,
        _table([beside], "photograph, one A4, lens", camera),
        _table([beside, other], "photograph, two A4, lens", camera),
        _table([letter], "photograph, one Letter, no lens", straight, "Letter"),
        _table([beside], "photograph, one A4, steep, no lens", steep),
    ]


@dataclass(frozen=True)
class Result:
    """What came of a picture, mm and seconds."""

    name: str
    pixel: float
    found: int
    wanted: int
    off: float
    told: float
    beyond: int
    seconds: float


def measured(case: Case) -> Result:
    """Render a picture, read it, and compare what is found with what is true."""
    pixels = render(case.view, case.things, ground=case.ground, light=0.3, shadow=0.3, noise=2.5)
    scan = isinstance(case.view, Scanner)
    data = saved(pixels, kind="PNG" if scan else "JPEG")
    begun = time.perf_counter()
    raw, shown = read_photograph(read_picture(data), parse_references(case.reference), pen=case.pen)
    seconds = time.perf_counter() - begun
    items = [item for draft in raw.drafts for item in draft.group.items]
    found = [item for item in items if item.role in (Role.CUT, Role.ANY)]
    off, told, beyond = 0.0, 0.0, 0
    left = list(found)
    for true in case.true:
        if not left:
            break
        rated = [(apart(np.array(i.path.points(0.01)), true), i) for i in left if i.path]
        far, best = min(rated, key=lambda one: one[0])
        left.remove(best)
        off, told = max(off, far), max(told, best.off or 0.0)
        beyond += far > (best.off or 0.0)
    return Result(
        case.name, shown.mm_per_pixel, len(found), len(case.true), off, told, beyond, seconds
    )


def _drawn(case: Case, path: FilePath) -> None:
    """Write what is found in a picture, drawn over it."""
    pixels = render(case.view, case.things, ground=case.ground, light=0.3, shadow=0.3)
    with tempfile.TemporaryDirectory() as folder:
        file = FilePath(folder) / "table.jpg"
        file.write_bytes(saved(pixels, kind="JPEG"))
        pattern = read_pattern(file, reference=Reference(name=case.reference))
    assert pattern.shown is not None
    shown = pattern.shown
    small = replace(shown, pixels=shown.pixels[::2, ::2], mm_per_pixel=2.0 * shown.mm_per_pixel)
    small = replace(
        small,
        references=tuple(tuple((x / 2, y / 2) for x, y in ring) for ring in shown.references),
    )
    write_overlay(small, pattern.found, path, overwrite=True)
    Image.open(path).quantize(64).save(path, optimize=True)


def main(words: Sequence[str] | None = None) -> int:
    """Write the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--small", action="store_true", help="a quarter of the pixels")
    parser.add_argument("--only", type=int, metavar="N", help="one of the pictures, from 1")
    parser.add_argument("--write", action="store_true", help="put the table into RESULTS.md")
    parser.add_argument("--picture", type=FilePath, metavar="FILE.png", help="draw one of them")
    arguments = parser.parse_args(words)
    if arguments.picture:
        _drawn(cases(0.5)[2], arguments.picture)
        return 0
    every = cases(0.5 if arguments.small else 1.0)
    some = every if arguments.only is None else every[arguments.only - 1 : arguments.only]
    table = []
    for line in _table_of(some):
        print(line, flush=True)
        table.append(line)
    if arguments.write:
        if arguments.small or arguments.only is not None:
            parser.error("--write is for all pictures at their full size")
        RESULTS.write_text(written(RESULTS.read_text(encoding="utf-8"), table), encoding="utf-8")
    return 0


def _table_of(some: Sequence[Case]) -> Iterator[str]:
    yield HEAD
    yield "|---|---:|---:|---:|---:|---:|---:|"
    for case in some:
        r = measured(case)
        yield (
            f"| {r.name} | {r.pixel:.3f} | {r.found} of {r.wanted} | {r.off:.2f} | {r.told:.2f}"
            f" | {r.beyond} | {r.seconds:.0f} |"
        )


HEAD = "| picture | mm per pixel | pieces | off, mm | told, mm | beyond | s |"
_COMMAND = "`python -m benchmarks.photographed.pictures"


def written(page: str, table: Sequence[str]) -> str:
    """Return the page of results with another table of pictures, and the commit it is of."""
    lines = page.splitlines()
    said = next(i for i, line in enumerate(lines) if line.startswith(_COMMAND))
    first = lines.index(HEAD)
    last = next((i for i in range(first, len(lines)) if not lines[i].startswith("|")), len(lines))
    words = (
        f"{_COMMAND} --write`, commit {commit()}; aims: 0.3 mm in a scan, 1.0 mm in 12 megapixels"
    )
    return "\n".join([*lines[:said], f"{words} of 1 m:", "", *table, *lines[last:]]) + "\n"


if __name__ == "__main__":
    sys.exit(main())
