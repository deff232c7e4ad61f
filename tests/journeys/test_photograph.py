"""Paper pieces are photographed, laid, printed at true size, and fit on the print again."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest
from shapely import Polygon
from thriftlay.main import main

from benchmarks.photographed.renders import Camera, Thing, apart, placed, render, saved, sheet
from nesting.pattern.shapes import rectangle

PANEL = np.array(rectangle(120, 90, radius=20).points(0.01))
GUSSET = np.array([[0, 0], [110, 0], [80, 70], [30, 70]], float)
CAMERA = Camera(
    size=(1000, 770), focal=960.0, lens=(-0.06, 0.02, 0.0003, 0.0), tilt=(7, -6, 3), far=620.0
)
JOB = """
include = "pieces.toml"
[job]
name = "pouch"
[[cloth]]
name = "canvas"
width = "50 cm"
[[cut]]
piece = "piece"
material = "canvas"
[[cut]]
piece = "piece 2"
material = "canvas"
"""
DPI = 200.0


def drawn(file: Path, like: float) -> list[np.ndarray]:
    """Return the middles of the closed lines (mm) on a PDF's pages that hold about such an area."""
    found = []
    document = pypdfium2.PdfDocument(file)
    for number in range(len(document)):
        grey = document[number].render(scale=DPI / 72.0).to_numpy().min(axis=2)
        rings, nesting = cv2.findContours(
            (grey < 128).astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE
        )
        for outer, (_, _, child, _) in zip(rings, nesting[0], strict=True):
            if child < 0 or len(outer) < 50:
                continue
            whole, inside = (Polygon(r.reshape(-1, 2) * 25.4 / DPI) for r in (outer, rings[child]))
            pen = (whole.area - inside.area) / whole.length
            middle = whole.buffer(-0.5 * pen)
            if abs(middle.area / like - 1.0) < 0.05:
                found.append(np.array(middle.exterior.coords[:-1]) * [1.0, -1.0])
    document.close()
    return found


def test_photographed_paper_fits_on_what_is_printed(
    laid: Path, told: list[float], tmp_path: Path
) -> None:
    out = str(tmp_path / "p.pdf")
    assert main(["print", str(laid / "plan.json"), "--what", "templates", "--out", out]) == 0
    for true, most in zip((PANEL, GUSSET), told, strict=True):
        rings = drawn(tmp_path / "p.pdf", Polygon(true).area)  # a square to measure, too
        off = min(apart(ring, true) for ring in rings)
        assert off < most + 25.4 / DPI
        assert off < 1.0


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a photograph of two pieces of paper beside a sheet of A4."""
    folder = tmp_path_factory.mktemp("table")
    things = [
        sheet(-270, -205, turn=3),
        Thing(placed(PANEL, -200, 40, 15), (232, 228, 218)),
        Thing(placed(GUSSET, 60, 40, -25), (176, 120, 62)),
    ]
    pixels = render(CAMERA, things, light=0.25, noise=2.0, shadow=0.3)
    (folder / "table.jpg").write_bytes(saved(pixels, kind="JPEG"))
    return folder


@pytest.fixture(scope="module")
def told(folder: Path) -> list[float]:
    """Return how far each piece may be off (mm), the larger one first."""
    import nesting
    from nesting.reading.read import Reference

    pattern = nesting.read_pattern(folder / "table.jpg", reference=Reference(name="A4"))
    by_area = sorted(pattern.found, key=lambda found: -Polygon(found.piece.cut.points(0.1)).area)
    return [found.uncertainty or 0.0 for found in by_area]


@pytest.fixture(scope="module")
def laid(folder: Path) -> Path:
    """Return the folder of a plan of the photographed pieces."""
    words = ["pieces", str(folder / "table.jpg"), "--reference", "A4"]
    assert main([*words, "--out", str(folder / "pieces.toml")]) == 0
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    lay = ["lay", str(folder / "job.toml"), "--out", str(folder / "laid"), "--rounds", "1"]
    assert main([*lay, "--write", "dxf"]) == 0
    return folder / "laid"
