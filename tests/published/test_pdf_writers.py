"""Patterns in PDF of writers that are not ours, with shapes whose areas are known by formula.

reportlab, matplotlib, ezdxf's drawing add-on; and cairo through poppler's pdftocairo, and
Ghostscript, which turn PDF and PostScript of others into their own.
"""

from __future__ import annotations

import math
import os
import shutil
import subprocess
from pathlib import Path

import ezdxf
import matplotlib.pyplot as plt
import pytest
from ezdxf.addons.drawing import Frontend, RenderContext
from ezdxf.addons.drawing.config import BackgroundPolicy, ColorPolicy, Configuration
from ezdxf.addons.drawing.matplotlib import MatplotlibBackend
from matplotlib.patches import Circle, Ellipse, PathPatch
from matplotlib.path import Path as Curve
from reportlab.pdfgen.canvas import Canvas

from nesting.pattern.measure import area
from nesting.reading.read import read_pattern

MM = 72.0 / 25.4
DISC = math.pi * 80.0**2
OVAL = math.pi * 100.0 * 50.0
LEAF = 1080.0 * (30.0 / 20.0 + 280.0 / 30.0 + 30.0 / 20.0)
"""Under a cubic Bézier, by the integral of its Bernstein form. Its points are no corners of a box:
poppler's pdftops takes such a curve for a rectangle."""
PLATE = 180.0 * 120.0
KAPPA = 3e-4
"""A circle of four Béziers is too large by so small a share: 2.7e-4 at the most in the radius
(e.g. Goldapp, Approximation of circular arcs by cubic polynomials, 1991; from memory)."""


def reportlab(file: Path) -> None:
    canvas = Canvas(str(file), pagesize=(1700, 1400))  # whole points: poppler rounds to them
    canvas.scale(MM, MM)
    canvas.setLineWidth(0.3)
    canvas.circle(100, 100, 80)
    canvas.ellipse(200, 50, 400, 150)
    leaf = canvas.beginPath()
    leaf.moveTo(50, 250)
    leaf.curveTo(80, 370, 220, 370, 250, 250)
    leaf.close()
    canvas.drawPath(leaf)
    canvas.rect(300, 250, 180, 120)
    canvas.save()


def matplotlib(file: Path) -> None:
    figure = plt.figure(figsize=(600 / 25.4, 500 / 25.4))
    axes = figure.add_axes((0, 0, 1, 1), xlim=(0, 600), ylim=(0, 500))
    axes.axis("off")
    axes.add_patch(Circle((100, 100), 80, fill=False))
    axes.add_patch(Ellipse((300, 100), 200, 100, fill=False))
    leaf = Curve([(50, 250), (80, 370), (220, 370), (250, 250), (50, 250)], [1, 4, 4, 4, 79])
    axes.add_patch(PathPatch(leaf, fill=False))
    plate = [(300, 250), (480, 250), (480, 370), (300, 370)]
    axes.add_patch(plt.Polygon(plate, fill=False))
    figure.savefig(file)
    plt.close(figure)


def ezdxf_addon(file: Path) -> None:
    document = ezdxf.new()
    space = document.modelspace()
    space.add_circle((100, 100), 80)
    space.add_ellipse((300, 100), (100, 0), 0.5)
    space.add_lwpolyline([(300, 250), (480, 250), (480, 370), (300, 370)], close=True)
    leaf = space.add_open_spline([(50, 250), (80, 370), (220, 370), (250, 250)], degree=3)
    leaf.dxf.layer = "0"
    space.add_line((50, 250), (250, 250))
    figure = plt.figure(figsize=(600 / 25.4, 500 / 25.4))
    axes = figure.add_axes((0, 0, 1, 1))
    paper = Configuration(background_policy=BackgroundPolicy.WHITE, color_policy=ColorPolicy.BLACK)
    backend = MatplotlibBackend(axes, adjust_figure=False)
    Frontend(RenderContext(document), backend, config=paper).draw_layout(space)
    axes.set(xlim=(0, 600), ylim=(0, 500), aspect="auto", autoscale_on=False)
    figure.savefig(file)
    plt.close(figure)


def converter(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        if os.environ.get("CI"):
            pytest.fail(f"{name} is not installed")
        pytest.skip(f"{name} is not installed")
    return found


def cairo(file: Path) -> None:
    first = file.with_name("first.pdf")
    reportlab(first)
    subprocess.run([converter("pdftocairo"), "-pdf", first, file], check=True, timeout=120)


def ghostscript(file: Path) -> None:
    first, post = file.with_name("first.pdf"), file.with_name("first.ps")
    matplotlib(first)
    subprocess.run([converter("pdftops"), first, post], check=True, timeout=120)
    order = [converter("gs"), "-q", "-sDEVICE=pdfwrite", "-o", file, post]
    subprocess.run(order, check=True, timeout=120)


@pytest.mark.parametrize("write", [reportlab, matplotlib, ezdxf_addon, cairo, ghostscript])
def test_known_areas(write, tmp_path) -> None:
    file = tmp_path / "shapes.pdf"
    write(file)
    found = sorted(area(piece.cut) for piece in read_pattern(file).pieces)
    assert found == pytest.approx(sorted((DISC, OVAL, LEAF, PLATE)), rel=2.0 * KAPPA)
    plate = min(found, key=lambda a: abs(a - PLATE))
    assert plate == pytest.approx(PLATE, rel=2e-5)
