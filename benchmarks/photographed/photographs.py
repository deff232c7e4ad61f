"""How true hides and repeats are that are measured in photographs: renders with a known truth.

Run ``python -m benchmarks.photographed.photographs [hides|prints|sure]``; it prints tables for
`RESULTS.md`.
`sure` tries whether what is called so sure holds so often: prints of random sizes by random
cameras and lenses, with a sheet of paper on the cloth or corners named by hand, a pixel off. A
camera of 12 megapixels (hides) or 4 (prints) with a lens that bends lines looks askew at an
invented hide or print, in light that falls off, with noise; `photographed/` draws them. Outlines
are laid upon the truth by a turn and a move; what is told is the largest distance anywhere, not
the mean.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from time import perf_counter

import numpy as np
import shapely

from benchmarks.photographed.camera import Camera, photograph
from benchmarks.photographed.fit import laid_upon
from benchmarks.photographed.hides import Scene, floor_of, outline
from benchmarks.photographed.prints import PRINTS, cloth
from nesting.errors import PatternError
from nesting.reading.pictures.flat import flatten
from nesting.reading.pictures.hides.chalk import parse_ink
from nesting.reading.pictures.hides.hide import measure_hide
from nesting.reading.pictures.picture import Picture
from nesting.reading.pictures.prints.measure import measure_repeat
from nesting.reading.pictures.references.reference import parse_reference

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
            f" {drop} | {right} | {int(100.0 * found.sure)}% | {perf_counter() - start:.0f} |"
        )


_BANDS = ((0.95, 1.01), (0.8, 0.95), (0.5, 0.8), (0.0, 0.5))


def _sure(count: int = 52) -> Iterator[str]:
    """Yield, for each band of what is told, how many repeats lie within half a per cent."""
    told: list[tuple[float, float, bool]] = []
    refused = 0
    for seed in range(count):
        try:
            told.append(_tried(seed))
        except PatternError:
            refused += 1
    yield "| told sure | repeats | within 0.5 % | largest off | beyond what is told |"
    yield "|---|---:|---:|---:|---:|"
    for low, high in _BANDS:
        some = [one for one in told if low <= one[0] < high]
        if some:
            within = np.mean([one[1] <= 0.005 for one in some])
            most = 100.0 * max(one[1] for one in some)
            beyond = sum(one[2] for one in some)
            name = f"{low:.0%} and more" if high > 1.0 else f"{low:.0%} to {high:.0%}"
            yield f"| {name} | {len(some)} | {within:.0%} | {most:.2f} % | {beyond} |"
    if refused:
        yield f"| refused | {refused} | | | |"


def _tried(seed: int) -> tuple[float, float, bool]:
    """Return of a random print how sure it is, by what share off, and whether more than told."""
    random = np.random.default_rng(seed)
    print_ = list(PRINTS.values())[seed % len(PRINTS)]
    larger = float(random.uniform(0.6, 1.6))
    close = float(random.uniform(0.5, 1.2)) * (0.4 if print_.along == 9.0 else 1.0)
    camera = Camera(
        size=(1600, 1200),
        at=(400.0, 300.0),
        height=720.0 * close,
        back=float(random.uniform(-160.0, 160.0)) * close,
        aside=float(random.uniform(-120.0, 120.0)) * close,
        roll=float(random.uniform(-4.0, 4.0)),
        focal=float(random.uniform(0.7, 1.0)),
        bend=(float(random.uniform(-0.08, 0.05)), float(random.uniform(-0.01, 0.02))),
    )
    lean = float(random.uniform(-3.0, 3.0))
    printed = cloth(print_, turn=lean, origin=(410.0, 300.0), weave=3.0)
    paper = bool(random.random() < 0.3)
    middle = random.uniform(-90.0, 90.0, 2) * close + [400.0, 300.0]
    half = np.array([148.5, 105.0]) if paper else np.array([200.0, 150.0]) * close

    def floor(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        u, v = (x - middle[0]) / larger, (y - middle[1]) / larger
        colours = printed(u + 410.0, v + 300.0)
        lies = paper & (np.abs(x - middle[0]) < half[0]) & (np.abs(y - middle[1]) < half[1])
        return np.where(lies[..., None], [250.0, 250.0, 248.0], colours)

    shade, noise = float(random.uniform(0.0, 0.4)), float(random.uniform(2.0, 9.0))
    pixels = photograph(camera, floor, noise=noise, shade=shade, finer=1, seed=seed)
    said = "A4"
    if not paper:
        corners = np.array([[-1.0, 1.0], [1.0, 1.0], [1.0, -1.0], [-1.0, -1.0]]) * half + middle
        seen = camera.seen(corners) + random.normal(0.0, 1.0, (4, 2))
        said = f"{2 * half[0]:.1f} x {2 * half[1]:.1f} mm at " + " ".join(
            f"{x:.2f},{y:.2f}" for x, y in seen
        )
    _, found, _ = measure_repeat(flatten(Picture(pixels=pixels), [parse_reference(said)]))
    off, beyond = 0.0, False
    for length, true in ((found.up, print_.along), (found.right, print_.across)):
        if length is None or true is None:
            off = off if length is true else 1.0
            continue
        off = max(off, abs(length / (true * larger) - 1.0))
        beyond |= abs(length - true * larger) > found.error
    return found.sure, off, beyond


def _off(found: float | None, truth: float | None) -> str:
    if found is None or truth is None:
        return "none, as it is" if found is truth else "wrong"
    return f"{100.0 * (found / truth - 1.0):+.2f} %"


def main() -> None:
    """Print the tables."""
    tables = {"hides": _hides, "prints": _prints, "sure": _sure}
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("tables", nargs="*", default=["hides", "prints"], help=", ".join(tables))
    for name in asked.parse_args().tables:
        if name not in tables:
            asked.error(f"no table is called {name!r}")
        for row in tables[name]():
            print(row, flush=True)


if __name__ == "__main__":
    main()
