"""The repeat of invented prints whose repeat is known; nothing here is a print of others."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from benchmarks.photographed.camera import Camera, photograph
from benchmarks.photographed.prints import PRINTS, Invented, cloth
from nesting import read_job
from nesting.errors import PatternError
from nesting.reading.pictures.flat import flatten
from nesting.reading.pictures.picture import Picture
from nesting.reading.pictures.prints.axes import axes_of
from nesting.reading.pictures.prints.measure import measure_repeat
from nesting.reading.pictures.prints.print_file import repeat_pixels, save_print
from nesting.reading.pictures.prints.repeat import Repeat, repeat_of
from nesting.reading.pictures.references.reference import parse_reference

MM = 0.9
SIZE = (560, 720)  # rows, columns: 50 by 65 cm
ORIGIN = (231.0, 177.0)


def seen(print_: Invented, *, turn: float = 0.0, noise: float = 8.0, mm: float = MM) -> np.ndarray:
    """Return a flat picture of a print in light that falls off, with noise in each pixel."""
    high, wide = SIZE
    y, x = np.mgrid[0:high, 0:wide] * mm
    colours = cloth(print_, turn=turn, origin=ORIGIN)(x, (high - 1) * mm - y)
    lit = colours * (1.0 - 0.3 * x / (wide * mm))[..., None]
    random = np.random.default_rng(1)
    return np.clip(np.rint(lit + random.normal(0.0, noise, lit.shape)), 0, 255).astype(np.uint8)


def measured(print_: Invented, **how: float) -> Repeat:
    return repeat_of(seen(print_, **how), np.ones(SIZE, bool), mm=how.get("mm", MM))


def off_lattice(found: Repeat, print_: Invented, turn: float) -> tuple[float, float]:
    """Return how far a motif's middle lies off the nearest true one (mm, right and up)."""
    dx, dy = found.middle[0] - ORIGIN[0], found.middle[1] - ORIGIN[1]
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    u, v = c * dx + s * dy, -s * dx + c * dy
    column = 0 if print_.across is None else round(u / print_.across)
    u = 0.0 if print_.across is None else u - column * print_.across
    if print_.along is None:
        return u, 0.0
    v -= (column % 2) * print_.drop * print_.along
    return u, v - round(v / print_.along) * print_.along


WHOLE = [name for name in PRINTS if name != "fine"]


@pytest.mark.parametrize("name", WHOLE)
def test_a_repeat_is_found_to_half_a_per_cent(name: str) -> None:
    print_, turn = PRINTS[name], 1.3
    found = measured(print_, turn=turn)
    assert (found.up is None, found.right is None) == (print_.along is None, print_.across is None)
    assert found.up is None or found.up == pytest.approx(print_.along, rel=0.005)
    assert found.right is None or found.right == pytest.approx(print_.across, rel=0.005)
    assert found.drop == print_.drop
    assert found.two_way == print_.two_way
    assert found.turn == pytest.approx(turn, abs=0.1)
    assert found.sure > 0.5


@pytest.mark.parametrize("name", ["dots", "dots, half drop", "mirrored leaves", "stripes across"])
def test_the_middle_of_a_motif_is_found(name: str) -> None:
    u, v = off_lattice(measured(PRINTS[name], turn=1.3), PRINTS[name], 1.3)
    assert np.hypot(u, v) < 1.0


def test_a_flower_with_a_stalk_has_the_middle_of_both() -> None:
    """A flower goes 16 mm up from its middle, its stalk 32 mm down: the middle of both is at −8."""
    u, v = off_lattice(measured(PRINTS["flowers with stalks"]), PRINTS["flowers with stalks"], 0.0)
    assert (u, v) == pytest.approx((0.0, -8.0), abs=1.5)


def test_a_fine_print_is_looked_at_larger() -> None:
    found = measured(PRINTS["fine"], mm=0.35)
    assert (found.up, found.right) == pytest.approx((9.0, 9.0), rel=0.005)


def test_what_is_no_cloth_does_not_count() -> None:
    pixels, mask = seen(PRINTS["flowers, half drop"]), np.ones(SIZE, bool)
    pixels[100:400, 150:420], mask[100:400, 150:420] = 255, False  # a sheet of paper lies there
    found = repeat_of(pixels, mask, mm=MM)
    assert (found.up, found.right) == pytest.approx((120.0, 55.0), rel=0.005)


def test_plain_cloth_is_refused_in_one_line() -> None:
    random = np.random.default_rng(2)
    plain = np.clip(random.normal(150.0, 6.0, (*SIZE, 3)), 0, 255).astype(np.uint8)
    with pytest.raises(PatternError, match="plain") as trouble:
        repeat_of(plain, np.ones(SIZE, bool), mm=MM)
    assert "\n" not in str(trouble.value)


def test_what_does_not_repeat_is_refused() -> None:
    random = np.random.default_rng(3)
    small = random.uniform(60.0, 220.0, (14, 18, 3)).astype(np.uint8)
    blotches = np.kron(small, np.ones((40, 40, 1), np.uint8))
    with pytest.raises(PatternError, match="no repeat"):
        repeat_of(blotches[: SIZE[0], : SIZE[1]], np.ones(SIZE, bool), mm=MM)


@pytest.mark.parametrize(
    ("basis", "columns", "drop"),
    [
        ([[32.0, 32.0], [32.0, -32.0]], 2, 0.5),  # a half drop whose lattice is square on its tip
        ([[50.0, 0.0], [0.0, 80.0]], 1, 0.0),
        ([[30.0, 30.0], [0.0, 90.0]], 3, 1 / 3),  # a third drop
    ],
)
def test_a_lattice_is_read_upright(basis: list[list[float]], columns: int, drop: float) -> None:
    axes = axes_of(np.array(basis))
    assert axes is not None
    assert (axes.columns, axes.drop) == (columns, pytest.approx(drop))


def test_a_photograph_becomes_the_print_of_a_cloth(tmp_path: Path) -> None:
    """As people do it: a sheet of paper on printed cloth, seen askew; the print is laid to."""
    print_ = PRINTS["flowers, half drop"]
    colours = cloth(print_, turn=1.0, origin=(410.0, 300.0))

    def floor(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        paper = (np.abs(x - 170.0) < 148.5) & (np.abs(y - 190.0) < 105.0)
        return np.where(paper[..., None], [250.0, 250.0, 248.0], colours(x, y))

    camera = Camera(size=(1200, 900), at=(400.0, 300.0), height=720.0, back=110.0, roll=-2.0)
    pixels = photograph(camera, floor, noise=3.0, shade=0.2, finer=2)
    flat = flatten(Picture(pixels=pixels), [parse_reference("A4")])
    upright, found, _ = measure_repeat(flat)
    assert found.up == pytest.approx(120.0, rel=0.005)
    assert found.right == pytest.approx(55.0, rel=0.005)
    assert found.error > abs(found.up - 120.0)
    save_print(upright, found, tmp_path / "print.toml", material="canvas", source="cloth.jpg")
    (tmp_path / "job.toml").write_text(
        'include = "print.toml"\n[job]\nname = "Tote"\n[[piece]]\nname = "panel"\n'
        'rectangle = [300, 200]\n[[cloth]]\nname = "canvas"\nwidth = 800\n'
        '[[cut]]\npiece = "panel"\nmaterial = "canvas"\ncentred = true\n',
        encoding="utf-8",
    )
    motif = read_job(tmp_path / "job.toml").material("canvas").print
    assert motif is not None
    assert (motif.along, motif.across, motif.drop) == pytest.approx((120.0, 55.0, 0.5), rel=0.005)
    assert motif.picture is not None
    assert motif.picture.size == (motif.along, motif.across)
    shown = repeat_pixels(upright, found).astype(int)
    # The flower's top points along the cloth: blue petals on the right of the middle, on the
    # left the green stalk, the ground above and below.
    high, wide = shown.shape[:2]
    stalk, petals = shown[high // 2, int(0.35 * wide)], shown[high // 2, int(0.7 * wide)]
    assert stalk[1] > stalk[0]
    assert petals[2] > petals[0] + 30
    assert shown[int(0.06 * high), wide // 2].min() > 150


@pytest.mark.parametrize("up", ["top", "right"])
def test_the_first_motif_is_told_from_the_corner_of_the_cloth(tmp_path: Path, up: str) -> None:
    """True: `seen` puts a motif's middle at `ORIGIN` from the lower left, y upwards."""
    pixels = seen(PRINTS["dots"])
    corner = (400.0, 120.0)  # mm from the lower left of the print as it stands upright
    place = np.array([corner[0] / MM, SIZE[0] - 1 - corner[1] / MM])
    if up == "right":
        pixels, place = np.ascontiguousarray(np.rot90(pixels, -1)), place[::-1]
        place = np.array([SIZE[0] - 1 - place[0], place[1]])
    flat = flatten(Picture(pixels=pixels), [parse_reference(f"{25.4 / MM:.3f} dpi")])
    upright, found, _ = measure_repeat(flat, up=up, corner=(float(place[0]), float(place[1])))
    assert found.origin is not None
    # The cloth runs the print's way up from there, and lies to the left of the corner.
    true = ((ORIGIN[1] - corner[1]) % 40.0, (corner[0] - ORIGIN[0]) % 40.0)
    assert found.origin == pytest.approx(true, abs=1.0)
    save_print(upright, found, tmp_path / "print.toml", material="canvas", source="cloth.jpg")
    (tmp_path / "job.toml").write_text(
        'include = "print.toml"\n[job]\nname = "Tote"\n[[piece]]\nname = "panel"\n'
        'rectangle = [300, 200]\n[[cloth]]\nname = "canvas"\nwidth = 800\n'
        '[[cut]]\npiece = "panel"\nmaterial = "canvas"\n',
        encoding="utf-8",
    )
    motif = read_job(tmp_path / "job.toml").material("canvas").print
    assert motif is not None
    assert motif.origin == pytest.approx(true, abs=1.0)


def test_every_other_column_of_a_half_drop_is_counted_from_the_corner() -> None:
    found = replace(measured(PRINTS["dots, half drop"]), middle=(100.0, 90.0), turn=0.0)
    # One column (32 mm) farther left, by half of the repeat (64 mm) moved along.
    first, second = (found.origin_from((x, 80.0)) for x in (110.0, 110.0 + 32.0))
    assert first == pytest.approx((10.0, 10.0), abs=0.2)
    assert second == pytest.approx((10.0 + 32.0, 10.0), abs=0.4)


def test_a_corner_outside_of_the_picture_is_refused() -> None:
    flat = flatten(Picture(pixels=seen(PRINTS["dots"])), [parse_reference("100 dpi")])
    with pytest.raises(PatternError, match="lies outside of the picture"):
        measure_repeat(flat, corner=(9000.0, 5.0))


def test_the_top_of_a_print_may_lie_anyhow() -> None:
    print_ = PRINTS["flowers with stalks"]
    pixels = np.ascontiguousarray(np.rot90(seen(print_), -1))  # the print's top is on the right now
    flat = flatten(Picture(pixels=pixels), [parse_reference(f"{25.4 / MM:.3f} dpi")])
    _, found, _ = measure_repeat(flat, up="right")
    assert (found.up, found.right) == pytest.approx((81.5, 63.0), rel=0.005)
