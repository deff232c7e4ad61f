"""Depths, distances and barred areas, against closed forms."""

import math

import pytest
from shapely import Polygon, box

from nesting.marker.contact import Solid, clashes, outline_solid, outside_of, overlap_depth
from nesting.pattern.path import Affine, Arc, Path

SQUARE = box(0, 0, 100, 100)


@pytest.mark.parametrize(
    ("other", "depth", "area"),
    [
        (box(90, 0, 190, 100), 10.0, 1000.0),
        (box(90, 97, 190, 197), 3.0, 30.0),
        (box(40, 40, 60, 60), 50.0, 400.0),
        (box(-50, 45, 150, 55), 50.0, 1000.0),
        (box(100, 0, 200, 100), 0.0, 0.0),
        (Polygon([(95, 50), (200, 40), (200, 60)]), 5.0, None),
    ],
)
def test_depth_and_area(other, depth, area):
    found, shared, _ = overlap_depth(SQUARE, other)
    assert found == pytest.approx(depth, rel=2e-3, abs=1e-9)
    assert overlap_depth(other, SQUARE)[0] == pytest.approx(depth, rel=2e-3, abs=1e-9)
    if area is not None:
        assert shared == pytest.approx(area)


def test_one_side_is_how_far_the_first_reaches_into_the_second():
    crack = box(-10, 49.9, 110, 50.1)
    assert overlap_depth(SQUARE, crack, sides=1)[0] == pytest.approx(0.1, rel=2e-3)
    assert overlap_depth(SQUARE, crack, sides=2)[0] == pytest.approx(50.0, rel=3e-3)


def test_depth_of_two_discs():
    # Centres 2r - d apart: the lens is d wide, and the tip of each disc lies d deep.
    r, d = 100.0, 4.0
    disc = Path((Arc((0.0, 0.0), (r, 0.0), (0.0, r), 0.0, 2.0 * math.pi),))
    a, b = outline_solid(disc), outline_solid(disc).placed(Affine.move(2.0 * r - d, 0.0))
    depth, area, _ = overlap_depth(a.area, b.area)
    assert depth == pytest.approx(d, rel=2e-3)
    lens = 2 * r * r * math.acos((2 * r - d) / (2 * r)) - (r - d / 2) * math.sqrt(4 * r * d - d * d)
    assert area == pytest.approx(lens, rel=2e-3)


def test_clashes_come_once_each_and_in_order():
    solids = [Solid(area=box(x, 0, x + 10, 10), core=box(x, 0, x + 10, 10)) for x in (0, 5, 9, 40)]
    found = [(clash.first, clash.second) for clash in clashes(solids, spacing=0.0)]
    assert found == [(0, 1), (0, 2), (1, 2)]
    near = [(clash.first, clash.second) for clash in clashes(solids, spacing=22.0)]
    assert near == [(0, 1), (0, 2), (1, 2), (2, 3)]


def test_outside_of_reaches_farther_than_what_lies_there():
    barred = outside_of(SQUARE, reach=(500.0, 0.0, 600.0, 100.0))
    assert barred.area > 0
    assert barred.intersection(SQUARE).area == 0.0
    assert barred.contains(box(500, 0, 600, 100))


def test_placing_keeps_size_and_area():
    solid = outline_solid(Path.polyline([(0, 0), (30, 0), (0, 40)], closed=True))
    moved = solid.placed(Affine.move(1e3, 5e2).after(Affine.turn(33.0).after(Affine.mirror())))
    assert moved.area.area == pytest.approx(600.0)
    assert moved.size == solid.size == 40.0
    assert moved.core.within(moved.area)
