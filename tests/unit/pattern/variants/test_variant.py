"""Variants of a piece, and everything on it mapped."""

from __future__ import annotations

import math
from dataclasses import fields

import pytest
import shapely

from nesting.errors import PatternError, Severity
from nesting.pattern.measure import area, bounds, clockwise, signed_area
from nesting.pattern.parallel.allowance import add_allowance
from nesting.pattern.path import Affine
from nesting.pattern.piece import Hand, Mark, MarkKind, Piece
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import circle, polygon_path, rectangle
from nesting.pattern.svg_path import parse_path
from nesting.pattern.variants.transform import transformed
from nesting.pattern.variants.variant import (
    marks_for,
    mirrored,
    rough_cut,
    stretched,
    trimmed,
    upright,
)

SEW = polygon_path([(0, 0), (100, 0), (100, 30), (30, 60), (0, 60)])


def side(**more):
    marks = (
        Mark(kind=MarkKind.NOTCH, at=(50, -10), angle=90.0, name="middle"),
        Mark(kind=MarkKind.DRILL, at=(20, 20), size=4, copies=frozenset({1})),
        Mark(kind=MarkKind.LINE, path=parse_path("M10 10H60")[0], materials=frozenset({"outer"})),
        Mark(kind=MarkKind.TEXT, at=(30, 30), text="side", hands=frozenset({Hand.LEFT})),
    )
    given = {
        "cut": add_allowance(SEW, 10),
        "sew": SEW,
        "holes": (clockwise(circle(6, centre=(15, 40))),),
        "grain": 30.0,
        "marks": marks,
        "fold": ((0, 0), (10, 0)),
        "fold_back": ((0, 50), (1, 50)),
        "motif": (40, 25),
        "points": (("corner", (100, 30)),),
    }
    return Piece(name="side", **(given | more))


def test_everything_on_a_piece_is_mapped():
    piece = side()
    by = Affine.move(7, -3).after(Affine.turn(90))
    moved = transformed(piece, by)
    assert area(moved.cut) == pytest.approx(area(piece.cut))
    assert moved.grain == pytest.approx(120)
    assert moved.marks[0].at == by((50, -10))
    assert moved.marks[0].angle == pytest.approx(180)
    assert moved.marks[2].path.start == by((10, 10))
    assert moved.marks[3].angle == pytest.approx(90)
    assert moved.fold == (by((0, 0)), by((10, 0)))
    assert moved.motif == by((40, 25))
    assert moved.points == (("corner", by((100, 30))),)
    # nothing forgotten: every field that holds a place differs
    same = {f.name for f in fields(Piece) if getattr(moved, f.name) == getattr(piece, f.name)}
    assert same == {"name", "up_known"}


def test_mirrored_keeps_senses_and_sides():
    piece = side(grain=0.0)
    left = mirrored(piece)
    assert signed_area(left.cut) == pytest.approx(signed_area(piece.cut))
    assert signed_area(left.holes[0]) == pytest.approx(signed_area(piece.holes[0]))
    assert bounds(left.cut)[3] == pytest.approx(-bounds(piece.cut)[1])
    assert left.grain == 0.0
    assert left.marks[0].angle == pytest.approx(-90)
    assert left.marks[0].mirrored
    # what was folded away still is: the line's left holds the image of the top
    (x0, y0), (x1, y1) = left.fold_back
    assert (x1 - x0) * (-60 - y0) - (y1 - y0) * (0 - x0) > 0


@pytest.mark.parametrize("grain", [0.0, 30.0, 90.0, -125.0])
def test_mirrored_twice_is_the_piece(grain):
    piece = side(grain=grain)
    again = mirrored(mirrored(piece))
    assert polygon(again.cut).symmetric_difference(polygon(piece.cut)).area < 1e-6
    assert again.grain == piece.grain
    assert again.marks[0].at == pytest.approx(piece.marks[0].at)
    assert not again.marks[0].mirrored


@pytest.mark.parametrize("grain", [0.0, 30.0, -125.0])
def test_mirroring_commutes_with_standing_upright(grain):
    piece = side(grain=grain)
    a, b = upright(mirrored(piece)), mirrored(upright(piece))
    assert polygon(a.cut).symmetric_difference(polygon(b.cut)).area < 1e-6


def test_upright_turns_the_grain_along_x():
    piece = side(grain=90.0, cut=rectangle(20, 70))
    assert bounds(upright(piece).cut) == pytest.approx((0, -20, 70, 0))
    assert upright(piece).grain == 0.0


def test_trimmed_is_cut_on_the_sewing_line():
    bare, told = trimmed(side())
    assert bare.cut == SEW
    assert bare.sew is None
    assert [m.kind for m in bare.marks] == [MarkKind.DRILL, MarkKind.LINE, MarkKind.TEXT]
    assert [finding.severity for finding in told] == [Severity.NOTE]
    assert "notch 'middle' lies in the seam allowance" in told[0].text


def test_trimmed_with_a_gap():
    bare, _ = trimmed(side(), 2)
    reference = polygon(SEW).buffer(-2, join_style="mitre")
    assert polygon(bare.cut).symmetric_difference(reference).area < 1e-9


def test_trimmed_tells_of_narrow_bits():
    tail = polygon_path(
        [(0, 0), (60, 0), (60, 28), (99, 28), (99, 32), (60, 32), (60, 60), (0, 60)]
    )
    bare, told = trimmed(Piece(name="tab", cut=add_allowance(tail, 5), sew=tail), 3)
    assert area(bare.cut) == pytest.approx(54 * 54)
    assert told[0].text.startswith("tab: a narrow bit")
    assert told[0].parts == ("tab",)


def test_what_cannot_be_trimmed():
    with pytest.raises(PatternError, match="'side' can't be trimmed: it has no sewing line"):
        trimmed(side(sew=None))
    with pytest.raises(PatternError, match="piece 'side': nothing is left"):
        trimmed(side(), 40)
    with pytest.raises(PatternError, match="cut-out runs into the edge"):
        trimmed(side(holes=(clockwise(circle(6, centre=(-2, 30))),)))


def test_buffered_for_block_fusing():
    rough = rough_cut(side(), 15)
    assert rough.holes == ()
    assert rough.sew is None
    assert [m.kind for m in rough.marks] == [MarkKind.TEXT]
    true = polygon(side().cut)
    assert shapely.distance(polygon(rough.cut).exterior, true) == pytest.approx(15, abs=0.01)


def test_stretched_shrinks_back_to_size():
    piece = side(grain=30.0)
    large = stretched(piece, along=0.05, across=0.03)
    assert area(large.cut) * 0.95 * 0.97 == pytest.approx(area(piece.cut))
    back, there = upright(large), upright(piece)
    x0, y0, x1, y1 = bounds(there.cut)
    shrunk = [0.95, 0.97, 0.95, 0.97]
    assert [a * b for a, b in zip(bounds(back.cut), shrunk, strict=True)] == pytest.approx(
        [x0, y0, x1, y1]
    )
    assert large.grain == 30.0


def test_stretched_matches_the_shop_figure():
    # 3 yd at 5 % → 3.158 yd (division, not multiplication: a published shrinkage calculator)
    strip = Piece(name="strip", cut=rectangle(3 * 914.4, 100))
    assert bounds(stretched(strip, along=0.05).cut)[2] / 914.4 == pytest.approx(3.158, abs=5e-4)


@pytest.mark.parametrize("share", [-0.1, 1.0, math.nan])
def test_shrinkage_has_to_be_a_share(share):
    with pytest.raises(PatternError, match="less than 1"):
        stretched(side(), along=share)


def test_marks_for_one_cut():
    def kinds(**cut):
        return [m.kind.value for m in marks_for(side(), **cut)]

    assert kinds(material="outer") == ["notch", "drill", "line"]
    assert kinds(material="lining", copy=2) == ["notch"]
    assert kinds(material="lining", copy=1, hand=Hand.LEFT) == ["notch", "drill", "text"]
