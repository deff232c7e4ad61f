"""How true hides and repeats are that are measured in photographs: renders with a known truth.

Run ``python benchmarks/photographs.py [hides|prints]``; it prints tables for `RESULTS.md`. A camera
of 12 megapixels (hides) or 4 (prints) with a lens that bends lines looks askew at an invented hide
or print, in light that falls off, with noise; `photographed/` draws them. Outlines are laid upon
the truth by a turn and a move; what is told is the largest distance anywhere, not the mean.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from time import perf_counter

import numpy as np
import shapely
from photographed.camera import Camera, photograph
from photographed.fit import laid_upon
from photographed.hides import Scene, floor_of, outline
from photographed.prints import PRINTS, cloth

from nesting.errors import PatternError
from nesting.reading.pictures.flat import flatten
from nesting.reading.pictures.hides.chalk import parse_ink
from nesting.reading.pictures.hides.hide import measure_hide
from nesting.reading.pictures.picture import Picture
from nesting.reading.pictures.prints.measure import measure_repeat
from nesting.reading.pictures.reference import parse_reference

_LOW, _HIGH = (700.0, 640.0, 8.0, 297.0, 210.0), (2800.0, 2150.0, -70.0, 297.0, 210.0)


def _hides() -> Iterator[str]:
    """Yield a row for each floor and number of sheets."""
    ring = outline(2000.0, 1500.0, at=(1700.0, 1400.0), turn=6.0)
    yield "| floor | sheets | outline off, most | told | beyond the edge | flaws | seconds |"
    yield "|---|---|---|---|---|---|---|"
    for floor, sheets in (("plain", 1), ("plain", 2), ("tiles", 2), ("boards", 2)):
        scene = Scene(
            size=(3400.0, 2800.0),
            hide=ring,
            floor=floor,
            sheets=[_LOW, _HIGH][:sheets],
            rings=[(2000.0, 1550.0, 45.0), (1300.0, 1150.0, 25.0)],
            spine=[(900.0, 1320.0), (2500.0, 1485.0)],
            mm=0.9,
        )
        camera = Camera(
            size=(4000, 3000),
            at=(1700.0, 1400.0),
            height=2300.0,
            back=350.0,
            roll=3.0,
            focal=0.78,
            bend=(-0.03, 0.006),
        )
        pixels = photograph(camera, floor_of(scene), noise=3.0, shade=0.25, finer=1)
        start = perf_counter()
        try:
            flat = flatten(Picture(pixels=pixels), [parse_reference("A4")])
            found = measure_hide(flat, inks=[parse_ink("chalk")])
        except PatternError as error:
            yield f"| {floor} | {sheets} | refused: {error.what} | | | | |"
            continue
        seconds = perf_counter() - start
        truth = shapely.Polygon(ring)
        laid = laid_upon(found.outline, truth)
        far = shapely.hausdorff_distance(laid.exterior, truth.exterior, densify=0.002)
        points = shapely.points(shapely.get_coordinates(laid))
        over = shapely.distance(truth, points).max()
        yield (
            f"| {floor} | {len(flat.references)} of {sheets} | {far:.1f} mm | {found.off:.1f} mm |"
            f" {over:.1f} mm | {len(found.flaws)} of 2 | {seconds:.0f} |"
        )


def _prints() -> Iterator[str]:
    """Yield a row for each invented print."""
    yield "| print | along off | across off | drop | upside down | sure | seconds |"
    yield "|---|---|---|---|---|---|---|"
    for name, print_ in PRINTS.items():
        fine = 0.4 if name == "fine" else 1.0
        camera = Camera(
            size=(2400, 1800),
            at=(400.0, 300.0),
            height=720.0 * fine,
            back=110.0 * fine,
            roll=-2.0,
            bend=(-0.02, 0.003),
        )
        colours = cloth(print_, turn=1.0, origin=(410.0, 300.0), weave=3.0)
        pixels = photograph(camera, colours, noise=5.0, shade=0.3, finer=1)
        corners = np.array([[-100.0, 75.0], [100.0, 75.0], [100.0, -75.0], [-100.0, -75.0]]) * fine
        seen = camera.seen(corners * 2.0 + [400.0, 300.0])
        said = f"{400 * fine:g} x {300 * fine:g} mm at " + " ".join(
            f"{x:.2f},{y:.2f}" for x, y in seen
        )
        start = perf_counter()
        flat = flatten(Picture(pixels=pixels), [parse_reference(said)])
        try:
            _, found, _ = measure_repeat(flat)
        except PatternError as error:
            yield f"| {name} | refused: {error.what} | | | | | |"
            continue
        right = "right" if found.two_way == print_.two_way else "wrong"
        drop = "right" if found.drop == print_.drop else f"{found.drop:g}"
        yield (
            f"| {name} | {_off(found.up, print_.along)} | {_off(found.right, print_.across)} |"
            f" {drop} | {right} | {found.sure:.0%} | {perf_counter() - start:.0f} |"
        )


def _off(found: float | None, truth: float | None) -> str:
    if found is None or truth is None:
        return "none, as it is" if found is truth else "wrong"
    return f"{100.0 * (found / truth - 1.0):+.2f} %"


def main() -> None:
    """Print the tables."""
    asked = sys.argv[1:] or ["hides", "prints"]
    for name in asked:
        for row in {"hides": _hides, "prints": _prints}[name]():
            print(row, flush=True)


if __name__ == "__main__":
    main()
