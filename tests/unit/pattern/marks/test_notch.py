"""Notches on the cutting line."""

from __future__ import annotations

import math

import pytest
from shapely import LineString

from nesting.errors import PatternError
from nesting.pattern.marks.notch import notch_place, settled_notches
from nesting.pattern.marks.notch_shapes import default_depth, notch_paths
from nesting.pattern.measure import length
from nesting.pattern.nearest import nearest
from nesting.pattern.parallel.allowance import add_allowance
from nesting.pattern.piece import Mark, MarkKind, NotchStyle, Piece
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import circle, rectangle

SQUARE = rectangle(100, 50)
DISC = circle(100, centre=(0, 0))


def notch(at, **more):
    return Mark(kind=MarkKind.NOTCH, at=at, **more)


def test_a_notch_is_moved_onto_the_edge_and_points_into_the_piece():
    place = notch_place(notch((30, -0.4)), SQUARE)
    assert place.at == (30, 0)
    assert place.into == pytest.approx((0, 1))
    place = notch_place(notch((30.3, 40.4)), DISC)
    assert math.hypot(*place.at) == pytest.approx(50)
    assert place.into == pytest.approx((-0.6, -0.8))


def test_a_stated_direction_is_kept():
    place = notch_place(notch((30, 0), angle=60), SQUARE)
    assert place.into == pytest.approx((0.5, math.sqrt(0.75)))


def test_off_the_edge():
    with pytest.raises(PatternError, match=r"notch 'a' at \(30, 5\) is off the edge by 5 mm"):
        notch_place(notch((30, 5), name="a"), SQUARE)
    with pytest.raises(PatternError, match="has no point"):
        notch_place(notch(None), SQUARE)


@pytest.mark.parametrize("style", list(NotchStyle))
@pytest.mark.parametrize(("cut", "at"), [(SQUARE, (50, 0)), (SQUARE, (100, 25)), (DISC, (-50, 0))])
def test_every_style_reaches_its_depth_inside(style, cut, at):
    paths = notch_paths(notch(at, style=style, size=4, width=5), cut)
    inside = polygon(cut).buffer(0.002)
    depth = 0.0
    for path in paths:
        line = LineString([path.start, *path.points(1e-3)[1:], path.end])
        assert inside.covers(line)
        depth = max([depth, *(math.dist(place_foot(cut, p), p) for p in path.points(1e-3))])
    assert depth == pytest.approx(4, abs=0.15)
    if style not in (NotchStyle.SLIT, NotchStyle.T):  # open at the edge: both ends on it
        (path,) = paths
        for end in (path.start, path.end):
            assert nearest(cut, end).distance < 1e-9


def place_foot(cut, point):
    return nearest(cut, point).point


def test_shapes_on_a_straight_edge():
    def drawn(style):
        return [
            [p.start, *(s.end for s in p.segments)]
            for p in notch_paths(notch((50, 0), style=style, size=4, width=6), SQUARE)
        ]

    assert drawn(NotchStyle.SLIT) == [[(50, 0), (50, 4)]]
    assert drawn(NotchStyle.T) == [[(50, 0), (50, 4)], [(47, 4), (53, 4)]]
    v, castle = (pytest.approx(p, abs=1e-12) for p in ((50, 4), (47, 4)))
    assert drawn(NotchStyle.V)[0][1] == v
    assert drawn(NotchStyle.CASTLE)[0][1] == castle
    assert len(drawn(NotchStyle.CASTLE)[0]) == 4


def test_a_check_notch_is_one_sided_and_mirrors():
    def square_side(mirrored):
        (path,) = notch_paths(
            notch((50, 0), style=NotchStyle.CHECK, size=4, width=6, mirrored=mirrored), SQUARE
        )
        return path.segments[0].end[0]

    assert square_side(False) == pytest.approx(47)
    assert square_side(True) == pytest.approx(53)


def test_a_u_notch_has_a_round_end():
    (path,) = notch_paths(notch((50, 0), style=NotchStyle.U, size=5, width=4), SQUARE)
    assert length(path) == pytest.approx(3 + 2 * math.pi + 3)


def test_default_depths():
    assert default_depth(None) == 3.0
    assert default_depth(10.0) == 3.0
    assert default_depth(4.0) == 2.0
    (slit,) = notch_paths(notch((50, 0)), SQUARE, allowance=4.0)
    assert length(slit) == 2.0


def test_notches_on_the_sewing_line_are_carried_out():
    piece = Piece(
        name="x",
        cut=add_allowance(SQUARE, 10),
        sew=SQUARE,
        marks=(notch((30, 0.2)), notch((30, -9.8)), Mark(kind=MarkKind.DRILL, at=(20, 20))),
    )
    settled = settled_notches(piece).marks
    assert settled[0].at == pytest.approx((30, -10))
    assert settled[1].at == pytest.approx((30, -10))
    assert settled[2].at == (20, 20)


def test_carried_out_square_to_a_curve():
    piece = Piece(name="x", cut=add_allowance(DISC, 10), sew=DISC, marks=(notch((30, 40)),))
    assert settled_notches(piece).marks[0].at == pytest.approx((36, 48))


def test_on_neither_line():
    piece = Piece(name="x", cut=add_allowance(SQUARE, 10), sew=SQUARE, marks=(notch((30, -5)),))
    with pytest.raises(PatternError, match="off the edge by 5 mm"):
        settled_notches(piece)
    with pytest.raises(PatternError, match="off the edge by 20 mm"):
        settled_notches(Piece(name="x", cut=SQUARE, marks=(notch((30, 20)),)))
