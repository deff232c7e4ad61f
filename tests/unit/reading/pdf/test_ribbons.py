"""Lines that a program has turned into filled shapes: the middle of the ring is the outline."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from reportlab.pdfgen.canvas import Canvas
from shapely import LinearRing, LineString, Polygon

from nesting.pattern.measure import area
from nesting.pattern.path import Bezier
from nesting.reading.read import Pattern, read_pattern

MM = 72.0 / 25.4
FLAP = [(30, 30), (330, 30), (300, 200), (60, 220)]


def read(file: Path, draw) -> Pattern:
    canvas = Canvas(str(file), pagesize=(600 * MM, 500 * MM))
    canvas.scale(MM, MM)
    draw(canvas)
    canvas.save()
    return read_pattern(file)


def filled(canvas: Canvas, shape: Polygon) -> None:
    """Fill a shape with its holes, without a line."""
    path = canvas.beginPath()
    for ring in (shape.exterior, *shape.interiors):
        first, *rest = list(ring.coords)[:-1]
        path.moveTo(*first)
        for point in rest:
            path.lineTo(*point)
        path.close()
    canvas.drawPath(path, stroke=0, fill=1, fillMode=0)


@pytest.mark.parametrize("width", [0.35, 1.0, 2.0])
@pytest.mark.parametrize("join", ["mitre", "round", "bevel"])
def test_a_ring_is_one_outline_and_no_seam_line(tmp_path, width, join) -> None:
    ring = LinearRing(FLAP).buffer(width / 2.0, join_style=join, mitre_limit=10.0)
    pattern = read(tmp_path / "t.pdf", lambda canvas: filled(canvas, ring))
    (piece,) = pattern.pieces
    assert area(piece.cut) == pytest.approx(Polygon(FLAP).area, rel=2e-4)
    assert piece.sew is None
    assert not piece.holes


def test_curves_of_a_ring_stay_curves(tmp_path) -> None:
    def disc(canvas) -> None:
        path = canvas.beginPath()
        path.circle(200, 200, 100.5)
        path.circle(200, 200, 99.5)
        canvas.drawPath(path, stroke=0, fill=1, fillMode=0)

    (piece,) = read(tmp_path / "t.pdf", disc).pieces
    assert area(piece.cut) == pytest.approx(math.pi * 100.0**2, rel=6e-4)  # four Béziers: 2.7e-4
    assert len(piece.cut.segments) < 40
    assert any(isinstance(segment, Bezier) for segment in piece.cut.segments)


def test_a_straight_bar_is_a_line_and_no_piece(tmp_path) -> None:
    def flap(canvas) -> None:
        filled(canvas, LinearRing(FLAP).buffer(0.25, join_style="mitre"))
        filled(canvas, LineString([(100, 60), (100, 160)]).buffer(0.25, cap_style="flat"))

    (piece,) = read(tmp_path / "t.pdf", flap).pieces
    assert area(piece.cut) == pytest.approx(Polygon(FLAP).area, rel=2e-4)
    assert len(piece.marks) == 1


def test_a_wide_ring_is_a_piece_with_a_cut_out(tmp_path) -> None:
    """A facing of 30 mm all round, filled: nobody draws with such a pen."""
    ring = Polygon(FLAP, [list(Polygon(FLAP).buffer(-45.0, join_style="mitre").exterior.coords)])
    (piece,) = read(tmp_path / "t.pdf", lambda canvas: filled(canvas, ring)).pieces
    assert len(piece.holes) == 1
