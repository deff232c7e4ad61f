"""Places from the edges of pieces, against what a ruler on paper says."""

from __future__ import annotations

import math

import pytest
from shapely import LineString, Point, Polygon

from nesting.errors import PatternError
from nesting.pattern.outline import clean_outline
from nesting.pattern.path import Path
from nesting.pattern.shapes import circle, rectangle
from nesting.pattern.sides import SIDES, centre, from_edge
from nesting.pattern.svg_path import parse_path

FRONT = rectangle(240, 180)
ROUNDED = rectangle(240, 180, radius=20)
SLANTED = Path.polyline([(0, 0), (300, 0), (260, 200), (30, 190)], closed=True)


@pytest.mark.parametrize("outline", [FRONT, ROUNDED], ids=["square", "rounded"])
@pytest.mark.parametrize(
    ("edge", "along", "inwards", "at"),
    [
        ("top", None, 30.0, (120, 150)),
        ("top", 40.0, 0.0, (40, 180)),
        ("top", -40.0, 10.0, (200, 170)),
        ("bottom", 40.0, 10.0, (40, 10)),
        ("left", 50.0, 10.0, (10, 50)),
        ("right", 50.0, 10.0, (230, 50)),
        ("right", None, 0.0, (240, 90)),
    ],
)
def test_from_the_edges_of_a_rectangle(outline, edge, along, inwards, at) -> None:
    spot = from_edge(outline, edge, along=along, inwards=inwards)
    assert spot.at == pytest.approx(at)
    far = Polygon(outline.points(1e-3)).exterior.distance(Point(spot.at))
    assert far == pytest.approx(inwards, abs=2e-3)


def test_numbers_mean_the_edges_that_allowances_have() -> None:
    for number, name in enumerate(("bottom", "right", "top", "left"), start=1):
        assert from_edge(FRONT, number, along=40.0) == from_edge(FRONT, name, along=40.0)


@pytest.mark.parametrize("edge", sorted(SIDES))
def test_along_and_square_to_a_slanting_edge(edge: str) -> None:
    corners = {"bottom": (0, 1), "right": (1, 2), "top": (3, 2), "left": (0, 3)}
    points = SLANTED.points(1.0)
    begin, end = (points[i] for i in corners[edge])
    line = LineString([begin, end])
    on_edge, spot = (
        from_edge(SLANTED, edge, along=45.0),
        from_edge(SLANTED, edge, along=45.0, inwards=12.0),
    )
    assert on_edge.at == pytest.approx(line.interpolate(45.0).coords[0])
    assert math.dist(on_edge.at, spot.at) == pytest.approx(12.0)
    assert line.distance(Point(spot.at)) == pytest.approx(12.0)
    assert Polygon(points).contains(Point(spot.at))


def test_from_where_a_curved_edge_is() -> None:
    """A flap whose lower edge is an arc of a circle: square to the line between its ends."""
    flap = clean_outline(parse_path("M 0,200 L 0,100 A 130,130 0 0 1 240,100 L 240,200 Z")[0])
    assert from_edge(flap, "bottom", inwards=25.0).at == pytest.approx(
        (120, 100 - (130 - math.sqrt(130**2 - 120**2)) + 25.0), abs=2e-3
    )
    x = 30.0
    drop = math.sqrt(130**2 - (120 - x) ** 2) - math.sqrt(130**2 - 120**2)
    assert from_edge(flap, "bottom", along=x).at == pytest.approx((x, 100 - drop), abs=5e-3)


def test_round_pieces_have_sides_too() -> None:
    disc = circle(100.0, centre=(50.0, 50.0))
    for edge, at in {"top": (50, 90), "left": (10, 50), "bottom": (50, 10)}.items():
        assert from_edge(disc, edge, inwards=10.0).at == pytest.approx(at, abs=0.1)
    assert from_edge(disc, "top", along=20.0).at == pytest.approx((20, 90), abs=0.1)  # 30-40-50


def test_the_centre_is_the_middle_of_the_box() -> None:
    assert centre(SLANTED) == (150.0, 100.0)


@pytest.mark.parametrize(
    ("outline", "edge", "along", "said"),
    [
        (FRONT, "top", 250.0, "the edge is 240 mm long"),
        (FRONT, "top", -250.0, "the edge is 240 mm long"),
        (FRONT, 5, None, "there is no edge 5: the outline has 4"),
        (circle(100.0), 1, None, "no two ends"),
        # A house: its top is a corner. A castle: two edges are its top.
        (
            Path.polyline([(0, 0), (200, 0), (200, 90), (100, 150), (0, 90)], closed=True),
            "top",
            None,
            "2 edges are at its top .*number, from 1 to 5",
        ),
        (
            Path.polyline([(0, 0), (100, -200), (200, 0), (100, 200)], closed=True),
            "top",
            None,
            "no edge that is clearly its top",
        ),
    ],
)
def test_what_is_no_edge_is_said(outline, edge, along, said) -> None:
    with pytest.raises(PatternError, match=said):
        from_edge(outline, edge, along=along)
