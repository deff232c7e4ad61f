"""Folds: half pieces opened, whole ones halved, shorter variants."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.errors import PatternError
from nesting.pattern.measure import area, bounds, clockwise, length, signed_area
from nesting.pattern.parallel.allowance import add_allowance
from nesting.pattern.path import Arc, Bezier
from nesting.pattern.piece import Mark, MarkKind, NotchStyle, Piece
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.pattern.shapes import circle, polygon_path, rectangle
from nesting.pattern.svg_path import parse_path
from nesting.pattern.variants.fold import fold_axis, folded_back, halved, opened
from nesting.pattern.variants.symmetry import is_mirror_symmetric
from nesting.pattern.variants.variant import upright

HALF, *_ = parse_path("M0 0H100C120 20 110 60 100 80H0Z")
CUT = add_allowance(HALF, {1: 10, 2: 10, 3: 10, 4: 0})
AXIS = fold_axis(CUT, 4)


def front(**more):
    return Piece(name="front", cut=CUT, sew=HALF, grain=90.0, **more)


def test_the_axis_is_the_edge_on_the_fold():
    assert AXIS == ((0.0, 90.0), (0.0, -10.0))
    with pytest.raises(PatternError, match="edge 2 can't lie on the fold: it is not straight"):
        fold_axis(HALF, 2)
    with pytest.raises(PatternError, match="no edge 9"):
        fold_axis(HALF, 9)


def test_opened_is_twice_the_half():
    whole = opened(front(), axis=AXIS)
    assert area(whole.cut) == pytest.approx(2 * area(CUT))
    assert area(whole.sew) == pytest.approx(2 * area(HALF))
    assert length(whole.cut) == pytest.approx(2 * (length(CUT) - 100))
    assert signed_area(whole.cut) > 0
    assert whole.fold == AXIS
    assert is_mirror_symmetric(upright(whole))


def test_the_mirror_image_joins_exactly():
    whole = opened(front(), axis=AXIS)
    for a, b in zip(whole.cut.segments, whole.cut.segments[1:], strict=False):
        assert a.end == pytest.approx(b.start, abs=1e-12)
    # lines across the fold run on as one; curves are kept as such
    assert sum(isinstance(s, Bezier) for s in whole.sew.segments) == 2
    assert len(whole.sew.segments) == 4


def test_allowance_then_opened_is_opened_then_allowance():
    whole = opened(front(), axis=AXIS)
    other = add_allowance(whole.sew, 10)
    assert area(other) == pytest.approx(area(whole.cut), rel=1e-9)


def test_a_half_disc_becomes_a_disc():
    half, *_ = parse_path("M0 0A50 50 0 0 1 0 100Z")
    whole = opened(Piece(name="disc", cut=half), axis=fold_axis(half, 2))
    assert [type(s) for s in whole.cut.segments] == [Arc, Arc]
    assert area(whole.cut) == pytest.approx(area(circle(100)))


def test_a_half_ring_opens_to_a_ring_with_a_hole():
    half, *_ = parse_path("M0 0A50 50 0 0 1 0 100V80A30 30 0 0 0 0 20Z")
    whole = opened(Piece(name="ring", cut=half), axis=((0, 0), (0, 100)))
    assert area(whole.cut) == pytest.approx(area(circle(100)))
    assert [signed_area(hole) for hole in whole.holes] == [pytest.approx(-area(circle(60)))]


def test_holes_are_doubled_or_opened():
    slot = clockwise(rectangle(10, 20, at=(0, 30)))
    eye = clockwise(circle(8, centre=(60, 40)))
    whole = opened(front(holes=(slot, eye)), axis=AXIS)
    assert sorted(round(signed_area(hole), 6) for hole in whole.holes) == pytest.approx(
        sorted([-400.0, signed_area(eye), signed_area(eye)]), abs=1e-5
    )
    assert piece_polygon(whole).is_valid


def test_marks_are_doubled_but_for_text_and_what_lies_on_the_fold():
    line, *_ = parse_path("M0 20H50")
    box, *_ = parse_path("M0 30H20V50H0Z")
    pocket, *_ = parse_path("M30 30H60V50H30Z")
    marks = (
        Mark(kind=MarkKind.NOTCH, at=(50, 90), style=NotchStyle.CHECK),
        Mark(kind=MarkKind.DRILL, at=(0.0, 40)),
        Mark(kind=MarkKind.LINE, path=line),
        Mark(kind=MarkKind.OUTLINE, path=box),
        Mark(kind=MarkKind.OUTLINE, path=pocket),
        Mark(kind=MarkKind.TEXT, at=(40, 40), text="front"),
    )
    found = opened(front(marks=marks), axis=AXIS).marks
    assert [m.at for m in found if m.kind is MarkKind.NOTCH] == [(50, 90), (-50, 90)]
    assert [m.mirrored for m in found if m.kind is MarkKind.NOTCH] == [False, True]
    assert len([m for m in found if m.kind is MarkKind.DRILL]) == 1
    (across,) = [m.path for m in found if m.kind is MarkKind.LINE]
    assert bounds(across) == (-50, 20, 50, 20)
    assert len(across.segments) == 1
    boxes = [m.path for m in found if m.kind is MarkKind.OUTLINE]
    assert sorted(map(area, boxes)) == [600, 600, 800]
    assert len([m for m in found if m.kind is MarkKind.TEXT]) == 1


def test_no_edge_on_the_fold():
    with pytest.raises(PatternError, match="no edge of the outline lies on the fold"):
        opened(front(), axis=((50, 0), (50, 10)))


def test_a_half_that_crosses_its_fold_is_refused():
    across = polygon_path([(0, 0), (50, 0), (50, 90), (-20, 90), (-20, 60), (0, 60)])
    with pytest.raises(PatternError, match="crosses or touches itself"):
        opened(Piece(name="x", cut=across), axis=((0, 0), (0, 60)))


def test_halved_undoes_opened():
    whole = upright(opened(front(), axis=AXIS))
    half = halved(whole)
    assert area(half.cut) == pytest.approx(area(CUT))
    low = bounds(half.cut)[1]
    assert low == pytest.approx(0.0, abs=1e-9)
    assert half.fold is not None
    again = opened(half, axis=half.fold)
    apart = polygon(again.cut).symmetric_difference(polygon(whole.cut)).area
    assert apart < 1e-6 * area(whole.cut)


@pytest.mark.parametrize("grain", [0.0, 90.0, 180.0, 270.0])
def test_the_half_lies_above_its_fold_whichever_way_it_was_drawn(grain):
    whole = opened(replace(front(), grain=grain, fold=None), axis=((0, -10), (0, 90)))
    turned = upright(replace(whole, grain=grain))
    half = halved(turned)
    ys = [p[1] for p in half.cut.points(0.1)]
    xs = [p[0] for p in half.cut.points(0.1)]
    if grain % 180 == 90:  # the fold lies along the grain
        assert min(ys) == pytest.approx(0.0, abs=1e-9)
    else:
        assert min(xs) == pytest.approx(0.0, abs=1e-9) or max(xs) == pytest.approx(0.0, abs=1e-9)


def test_folded_back_cuts_at_the_line():
    flap = Piece(
        name="flap",
        cut=rectangle(100, 60, radius=10),
        sew=rectangle(80, 40, at=(10, 10)),
        fold_back=((0, 40), (1, 40)),
        motif=(50, 50),
        points=(("low", (50, 10)), ("high", (50, 55))),
        marks=(
            Mark(kind=MarkKind.NOTCH, at=(50, 60), name="top"),
            Mark(kind=MarkKind.NOTCH, at=(50, 0), name="bottom"),
            Mark(kind=MarkKind.LINE, path=parse_path("M20 20V50")[0]),
            Mark(kind=MarkKind.LINE, path=parse_path("M20 50H30")[0], name="strap"),
        ),
    )
    short, told = folded_back(flap)
    assert area(short.cut) == pytest.approx(4000 - (4 - 3.141592653589793) * 50)
    assert area(short.sew) == pytest.approx(80 * 30)
    assert short.fold_back is None
    assert short.motif is None
    assert short.points == (("low", (50, 10)),)
    assert [m.name for m in short.marks if m.kind is MarkKind.NOTCH] == ["bottom"]
    assert [bounds(m.path) for m in short.marks if m.path] == [(20, 20, 20, 40)]
    assert [finding.kind for finding in told] == ["mark-dropped"] * 3
    assert "'top' lies beyond" in told[0].text


def test_folded_back_square_to_the_fold_stays_symmetric():
    whole = replace(opened(front(), axis=AXIS), fold_back=((0, 60), (1, 60)))
    short, _ = folded_back(whole)
    assert short.fold == AXIS
    assert is_mirror_symmetric(upright(short))
    slanted, _ = folded_back(replace(whole, fold_back=((0, 60), (1, 60.5))))
    assert slanted.fold is None


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (None, "has no fold-back line"),
        (((0, 500), (1, 500)), "doesn't cross"),
        (((0, -500), (1, -500)), "nothing is left"),
    ],
)
def test_fold_back_lines_that_do_not_work(line, told):
    with pytest.raises(PatternError, match=told):
        folded_back(Piece(name="flap", cut=rectangle(100, 60), fold_back=line))


def test_a_piece_that_falls_apart():
    comb = polygon_path(
        [(0, 0), (90, 0), (90, 60), (60, 60), (60, 10), (30, 10), (30, 60), (0, 60)]
    )
    with pytest.raises(PatternError, match="falls into 2 parts"):
        folded_back(Piece(name="comb", cut=comb, fold_back=((1, 30), (0, 30))))
    with pytest.raises(PatternError, match="no fold edge"):
        halved(Piece(name="comb", cut=comb))
