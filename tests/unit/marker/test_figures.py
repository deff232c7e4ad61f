"""Areas, lengths and the figures of a marker, against closed forms and worked numbers."""

from __future__ import annotations

import math

import pytest

from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip
from nesting.marker.marker import Marker, Placement
from nesting.marker.measure import cut_length, piece_area
from nesting.pattern.measure import length as path_length
from nesting.pattern.measure import signed_area as path_area
from nesting.pattern.path import Affine, Arc, Bezier, Line, Path
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import polygon


def rectangle(length: float, height: float) -> Path:
    return Path.polyline([(0, 0), (length, 0), (length, height), (0, height)], closed=True)


def circle(radius: float, at: tuple[float, float] = (0.0, 0.0)) -> Path:
    return Path((Arc(at, (radius, 0.0), (0.0, radius), 0.0, 2 * math.pi),))


def four_on(width: float) -> Marker:
    piece = Piece(name="panel", cut=rectangle(300, 400))
    parts = tuple(Part(name=f"panel {i}", piece=piece) for i in range(4))
    lay = Lay(name="panels", parts=parts, stock=Strip(width=width))
    return Marker(lay=lay, placements=tuple(Placement(part=i, x=300 * i, y=0) for i in range(4)))


# The trade defines marker efficiency as the area of the parts over the area of the marker
# (common practice; no trustworthy published number was found, so these are worked by hand).


def test_a_full_lay_is_one_hundred_per_cent() -> None:
    f = figures(four_on(400))
    assert (f.parts, f.length, f.area, f.cut_length) == (4, 1200, 480_000, 5600)
    assert f.efficiency == f.utilisation == 1.0


def test_the_usable_width_counts_for_efficiency() -> None:
    # Four 300 × 400 turned on 1,300 × 400: 480,000 / 520,000.
    marker = four_on(1300)
    turned = tuple(Placement(part=i, x=400, y=300 * i, angle=90) for i in range(4))
    f = figures(Marker(lay=marker.lay, placements=turned))
    assert f.length == pytest.approx(400)
    assert f.efficiency == pytest.approx(0.9231, abs=5e-5)


def test_utilisation_counts_selvedges_and_ends() -> None:
    # Cloth 1,340 wide, 20 mm at each end: 480,000 / (1,340 × 440) = 480,000 / 589,600.
    marker = four_on(1300)
    turned = tuple(Placement(part=i, x=400, y=300 * i, angle=90) for i in range(4))
    f = figures(Marker(lay=marker.lay, placements=turned), booked_width=1340, ends=20)
    assert f.utilisation == pytest.approx(480_000 / 589_600)
    assert f.utilisation == pytest.approx(0.8141, abs=5e-5)
    assert f.efficiency == pytest.approx(0.9231, abs=5e-5)


def test_length_starts_at_the_end_of_the_cloth() -> None:
    lay = Lay(
        name="one",
        parts=(Part(name="disc", piece=Piece(name="disc", cut=circle(50))),),
        stock=Strip(width=200),
    )
    f = figures(Marker(lay=lay, placements=(Placement(part=0, x=130, y=60),)))
    assert f.length == pytest.approx(180)
    assert f.area == pytest.approx(math.pi * 2500)


def test_nothing_laid() -> None:
    f = figures(Marker(lay=four_on(400).lay, placements=()), booked_width=500, ends=10)
    assert (f.parts, f.length, f.efficiency, f.utilisation) == (0, 0.0, 0.0, 0.0)


def test_sheets_count_whole_and_flaws_count_as_bought() -> None:
    hole = Path.polyline([(450, 450), (450, 500), (500, 500), (500, 450)], closed=True)
    sheet = Sheet(name="board", outline=rectangle(500, 500), holes=(hole,))
    piece = Piece(name="base", cut=rectangle(300, 400))
    lay = Lay(
        name="boards",
        parts=tuple(Part(name=f"base {i}", piece=piece) for i in range(2)),
        stock=Sheets(sheets=(sheet,)),
    )
    laid = tuple(Placement(part=i, x=10, y=0, sheet=i) for i in range(2))
    f = figures(Marker(lay=lay, placements=laid, sheets=(0, 0)))
    assert (f.sheets, f.last_length, f.length) == (2, 310, 810)
    assert f.utilisation == pytest.approx(240_000 / 500_000)
    assert f.efficiency == pytest.approx(240_000 / 495_000)


def test_of_several_sheets_all_but_the_last_count_whole() -> None:
    kinds = tuple(Sheet(name=f"{n}", outline=rectangle(n, 500)) for n in (500.0, 700.0))
    piece = Piece(name="base", cut=rectangle(300, 400))
    parts = tuple(Part(name=f"base {i}", piece=piece) for i in range(4))
    lay = Lay(name="boards", parts=parts, stock=Sheets(sheets=kinds))
    laid = tuple(Placement(part=i, x=10, y=0, sheet=i) for i in range(4))
    f = figures(Marker(lay=lay, placements=laid, sheets=(1, 0, 1, 0)))
    assert (f.sheets, f.last_length, f.length) == (4, 310, 700 + 500 + 700 + 310)
    f = figures(Marker(lay=lay, placements=()))
    assert (f.sheets, f.last_length, f.length) == (0, 0.0, 0.0)


def test_cut_outs_are_not_material_but_are_cut() -> None:
    piece = Piece(name="ring", cut=circle(50), holes=(circle(20).reversed(),))
    assert piece_area(piece) == pytest.approx(math.pi * (2500 - 400), rel=1e-14)
    assert cut_length(piece) == pytest.approx(2 * math.pi * 70, rel=1e-14)


@pytest.mark.parametrize("shift", [(0.0, 0.0), (1e6, -3e5)])
def test_area_of_curves_is_that_of_fine_chords(shift: tuple[float, float]) -> None:
    # Reference: shapely's area of the ring of chords 1e-6 mm away.
    leaf = Path(
        (
            Bezier((0, 0), (40, -30), (90, 10), (100, 0)),
            Arc((70, 0), (30, 0), (5, 40), 0.0, 2.0),
            Line(Arc((70, 0), (30, 0), (5, 40), 0.0, 2.0).end, (10, 25)),
            Bezier((10, 25), (0, 40), (-20, 20), (0, 0)),
        )
    )
    assert path_area(leaf.transformed(Affine.move(*shift))) == pytest.approx(
        polygon(leaf, chord=1e-6).area, rel=1e-7
    )
    assert path_area(leaf.reversed()) == pytest.approx(-path_area(leaf))


def test_length_of_an_ellipse() -> None:
    # Perimeter 4·a·E(e²), E by its series; a = 2, b = 1: 9.688448220547675 (complete
    # elliptic integral of the second kind at m = 3/4 = 1.2110560275684594, Abramowitz &
    # Stegun 17.3).
    ellipse = Path((Arc((0, 0), (200, 0), (0, 100), 0.0, 2 * math.pi),))
    assert path_length(ellipse) == pytest.approx(968.8448220547675, rel=1e-6)
