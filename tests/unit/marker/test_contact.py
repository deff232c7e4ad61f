"""Depths, distances and barred areas, against closed forms."""

import math
import random

import numpy as np
import pytest
import shapely
from shapely import Polygon, box
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from nesting.marker import contact
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


def rugged(seed, corners, *, size=100.0, teeth=4.0):
    """Return a star of so many random teeth."""
    dice = random.Random(seed)
    turns = 2.0 * math.pi * np.arange(corners) / corners
    radii = size + teeth * np.array([dice.random() for _ in range(corners)])
    return Polygon(np.stack([radii * np.cos(turns), 0.7 * radii * np.sin(turns)], axis=1))


PAIRS = {
    "rugged, side by side": (rugged(1, 60), translate(rugged(2, 60), 196.0, 9.0)),
    "rugged, far in": (rugged(3, 60), translate(rugged(4, 60), 90.0, -20.0)),
    "rugged over straight": (rugged(5, 60), box(80.0, -90.0, 120.0, 90.0)),
    "one edge along another": (box(0.0, 0.0, 300.0, 50.0), box(10.0, 49.9, 400.0, 90.0)),
    "turned": (box(0.0, 0.0, 300.0, 50.0), rotate(box(10.0, 40.0, 400.0, 90.0), 7.0)),
    "a corner": (SQUARE, Polygon([(95.0, 50.0), (200.0, 40.0), (200.0, 60.0)])),
    "the same": (rugged(6, 60), rugged(6, 60)),
}


@pytest.mark.parametrize("pair", PAIRS)
@pytest.mark.parametrize("sides", [1, 2])
def test_a_depth_by_squares_is_that_by_shrunk_areas(pair, sides, monkeypatch):
    first, second = PAIRS[pair]
    found = []
    for many in (0, 10**9):
        monkeypatch.setattr(contact, "_MANY", many)
        found.append(overlap_depth(first, second, sides=sides))
    assert found[0][0] == pytest.approx(found[1][0], rel=2e-3)
    assert found[0][1] == found[1][1]
    inside = [g for g in (second, first)[:sides] if g.contains(shapely.Point(found[0][2]))]
    depths = [g.exterior.distance(shapely.Point(found[0][2])) for g in inside]
    assert max(depths) == pytest.approx(found[0][0], rel=2e-3)


def test_of_thousands_of_corners_none_is_moved_to_measure_a_depth(monkeypatch):
    """Shrinking areas that are as rugged took 15 s where this takes 0.3 s."""
    monkeypatch.setattr(BaseGeometry, "buffer", lambda *_, **__: pytest.fail("shrunk"))
    a, b = rugged(7, 4_000), translate(rugged(8, 4_000), 150.0, 30.0)
    depth, _, at = overlap_depth(a, b)
    corners = shapely.points(shapely.get_coordinates(shapely.intersection(a, b)))
    least = max(shapely.distance(corners, g.exterior).max() for g in (a, b))
    assert depth >= least
    assert depth == pytest.approx(
        max(g.exterior.distance(shapely.Point(at)) for g in (a, b)), rel=1e-9
    )


def test_an_outline_that_crosses_itself_encloses_what_lies_within_it():
    bow = Path.polyline([(0, 0), (100, 100), (100, 0), (0, 100)], closed=True)
    area = outline_solid(bow).area
    assert area.is_valid
    assert area.area == pytest.approx(2 * 50 * 100 / 2)


@pytest.mark.parametrize("bounds", [(0, 0, 3, 7), (-5, 2, 90, 4), (1, 1, 2, 2)])
def test_squares_in_which_the_deepest_place_is_looked_for_cover_the_box(bounds):
    half, middles = contact._covering(bounds)
    squares = shapely.union_all(shapely.box(*(middles - half).T, *(middles + half).T))
    assert squares.buffer(1e-9).contains(box(*bounds))
