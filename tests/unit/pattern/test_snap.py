"""What a hand means that points: the way of the grain, a place on an edge."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.pattern.by_hand.snap import Way, grain_way, on_edge, to_edge, turned_grain
from nesting.pattern.edges import edge_path
from nesting.pattern.nearest import nearest
from nesting.pattern.path import Path
from nesting.pattern.shapes import circle, polygon_path, rectangle
from nesting.pattern.sides import centre, from_edge

FLAP = polygon_path([(0, 0), (200, 0), (180, 90), (20, 100)])
KITE = Path.polyline([(0, 0), (150, 20), (120, 130), (10, 90)], closed=True)


def towards(outline: Path, angle: float, far: float = 80.0) -> tuple[float, float]:
    x, y = centre(outline)
    return x + far * math.cos(math.radians(angle)), y + far * math.sin(math.radians(angle))


@pytest.mark.parametrize(
    ("angle", "snapped"), [(1.0, 0.0), (359.0, 0.0), (43.5, 45.0), (92.0, 90.0), (-88.0, 270.0)]
)
def test_a_grain_catches_at_the_multiples_of_45_degrees(angle: float, snapped: float) -> None:
    assert grain_way(rectangle(200, 100), towards(rectangle(200, 100), angle)) == Way(snapped)


def test_a_grain_catches_along_an_edge_both_ways_where_that_is_nearer() -> None:
    run = edge_path(FLAP, 2)
    along = math.degrees(math.atan2(run.end[1] - run.start[1], run.end[0] - run.start[0])) % 360.0
    for turn in (0.0, 180.0):
        way = grain_way(FLAP, towards(FLAP, along + turn + 2.0))
        assert way.edge == 2
        assert way.angle == pytest.approx((along + turn) % 360.0, abs=1e-3)


def test_elsewhere_and_with_nothing_to_catch_it_it_is_free() -> None:
    assert grain_way(rectangle(200, 100), towards(rectangle(200, 100), 20.2)) == Way(20.0)
    assert grain_way(rectangle(200, 100), towards(rectangle(200, 100), 1.4), free=True) == Way(1.5)
    assert grain_way(circle(100), towards(circle(100), 30.0)) == Way(30.0)


@pytest.mark.parametrize(
    ("angle", "left", "far", "then"),
    [
        (0, True, False, 1),
        (0, False, False, 359),
        (30, True, True, 45),
        (45, True, True, 90),
        (45, False, True, 0),
        (10, False, True, 0),
        (350, True, True, 0),
    ],
)
def test_keys_turn_by_a_degree_or_on_to_the_next_45(
    angle: float, left: bool, far: bool, then: float
) -> None:
    assert turned_grain(angle, left=left, far=far) == then


@given(
    st.sampled_from([FLAP, KITE, rectangle(120, 80)]),
    st.floats(0.02, 0.98),
    st.floats(0.0, 30.0),
    st.integers(1, 4),
)
def test_a_place_measured_from_an_edge_is_the_place(
    outline: Path, share: float, inwards: float, edge: int
) -> None:
    run = edge_path(outline, edge)
    along = share * math.dist(run.start, run.end)
    there = from_edge(outline, edge, along=along, inwards=inwards)
    assert to_edge(outline, edge, there.at) == pytest.approx((along, inwards), abs=1e-6)
    end = from_edge(outline, edge, along=0.0)
    beyond = (end.at[0] - 5.0 * end.along[0], end.at[1] - 5.0 * end.along[1])
    assert to_edge(outline, edge, beyond) == pytest.approx((0.0, 0.0), abs=1e-6)


def test_the_nearest_edge_is_found_and_a_place_on_it() -> None:
    edge, along = on_edge(FLAP, (199.0, 12.0))
    assert edge == 2
    spot = from_edge(FLAP, edge, along=along)
    assert nearest(FLAP, (199.0, 12.0)).point == pytest.approx(spot.at, abs=1e-6)
