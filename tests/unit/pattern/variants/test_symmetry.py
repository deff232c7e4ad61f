"""Symmetries of pieces."""

from __future__ import annotations

import math

import pytest

from nesting.pattern.measure import clockwise
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.shapes import circle, ellipse, polygon_path, rectangle
from nesting.pattern.svg_path import parse_path
from nesting.pattern.variants.symmetry import distinct_turns, is_mirror_symmetric, maps_on_itself

QUARTERS = (0.0, 90.0, 180.0, 270.0)
ESS = polygon_path([(0, 0), (60, 0), (60, 40), (90, 40), (90, 60), (30, 60), (30, 20), (0, 20)])
HEXAGON = polygon_path(
    [(math.cos(math.radians(60 * k)) * 50, math.sin(math.radians(60 * k)) * 50) for k in range(6)]
)


def piece(cut, **more):
    return Piece(name="x", cut=cut, **more)


@pytest.mark.parametrize(
    ("cut", "kept"),
    [
        (rectangle(100, 50), (0, 90)),
        (rectangle(50, 50, radius=10), (0,)),
        (circle(50, centre=(99, 3)), (0,)),
        (ellipse(50, 20), (0, 90)),
        (ESS, (0, 90)),
        (HEXAGON, (0, 90)),
        (polygon_path([(0, 0), (90, 0), (20, 40)]), (0, 90, 180, 270)),
    ],
)
def test_turns_that_differ(cut, kept):
    assert distinct_turns(piece(cut), QUARTERS) == kept


def test_turns_that_repeat_themselves():
    assert distinct_turns(piece(ESS), (0, 360, 180, 540)) == (0,)


@pytest.mark.parametrize(
    ("cut", "yes"),
    [
        (rectangle(100, 50), True),
        (ESS, False),
        (HEXAGON, True),
        (parse_path("M0 0C40 -30 60 -30 100 0C60 30 40 30 0 0Z")[0], True),
        (polygon_path([(0, 0), (90, 0), (20, 40)]), False),
    ],
)
def test_mirror_symmetry(cut, yes):
    assert is_mirror_symmetric(piece(cut)) is yes


def test_mirror_symmetry_across_the_grain_needs_a_turn():
    arrow = polygon_path([(0, 0), (40, 0), (40, 60), (20, 90), (0, 60)])  # symmetric about x = 20
    assert not is_mirror_symmetric(piece(arrow))
    assert is_mirror_symmetric(piece(arrow), turns=(0, 180))


def test_holes_count():
    hole = clockwise(circle(10, centre=(20, 25)))
    assert not maps_on_itself(piece(rectangle(100, 50), holes=(hole,)), 180)
    assert is_mirror_symmetric(piece(rectangle(100, 50), holes=(hole,)))


def test_marks_count_when_asked():
    one = Mark(kind=MarkKind.DRILL, at=(20, 25), size=4)
    other = Mark(kind=MarkKind.DRILL, at=(80, 25), size=4)
    label = Mark(kind=MarkKind.TEXT, at=(10, 10), text="x")
    single = piece(rectangle(100, 50), marks=(one, label))
    both = piece(rectangle(100, 50), marks=(one, other, label))
    assert maps_on_itself(single, 180)
    assert not maps_on_itself(single, 180, marks=True)
    assert maps_on_itself(both, 180, marks=True)
    line = Mark(kind=MarkKind.LINE, path=parse_path("M10 25H90")[0])
    slant = Mark(kind=MarkKind.LINE, path=parse_path("M10 20L80 30")[0])
    assert maps_on_itself(piece(rectangle(100, 50), marks=(line,)), 180, marks=True)
    assert not maps_on_itself(piece(rectangle(100, 50), marks=(slant,)), 180, marks=True)


def test_a_hundredth_of_a_millimetre_is_a_difference():
    nearly = polygon_path([(0, 0), (100, 0), (100, 50), (0, 50.02)])
    assert not maps_on_itself(piece(nearly), 180)
    same = polygon_path([(0, 0), (100, 0), (100, 50), (0, 50.001)])
    assert maps_on_itself(piece(same), 180)
