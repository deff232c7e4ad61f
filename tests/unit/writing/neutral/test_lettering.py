from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import event, given, settings
from hypothesis import strategies as st

from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.polygon import piece_polygon
from nesting.pattern.shapes import circle, rectangle
from nesting.writing.neutral import arrow, lettering
from nesting.writing.neutral.arrow import grain_arrow
from nesting.writing.neutral.drawn import upright
from nesting.writing.neutral.font import text_width
from nesting.writing.neutral.lettering import Lettering, fit

FULL = (("Shoulder strap", "1/2 R"), ("Shoulder strap  1/2 R",))
SHORT = (("A 1/2 R",), ("A",))
TRUE = Lettering()


def strip(length: float, width: float) -> Piece:
    return Piece(name="Strip", cut=rectangle(length, width))


@given(length=st.floats(5.0, 900.0), width=st.floats(3.0, 400.0), turn=st.floats(0.0, 180.0))
@settings(deadline=None, max_examples=30)
def test_text_lies_inside_the_piece(length: float, width: float, turn: float) -> None:
    piece = Piece(name="Strip", cut=rectangle(length, width).transformed(Affine.turn(turn)))
    block = fit(piece, FULL, short=SHORT, lettering=TRUE)
    if min(length, width) < 12.0 or max(length, width) < 40.0:
        event("small")  # nothing may fit
    else:
        assert block is not None
    if block is not None:
        assert block.height <= 10.0
        assert piece_polygon(piece).contains(block.box)
        arrow = grain_arrow(piece, both=True, avoid=[block.box], lettering=TRUE)
        lines = [shapely.LineString(path.points(0.1)) for path in arrow]
        assert all(piece_polygon(piece).contains(line) for line in lines)
        assert not any(line.intersects(block.box) for line in lines)


def test_large_pieces_have_the_full_name_as_tall_as_allowed() -> None:
    block = fit(strip(400.0, 300.0), FULL, short=SHORT, lettering=TRUE)
    assert block is not None
    assert (block.option, block.height) == (0, pytest.approx(10.0))


def test_a_narrow_strap_is_written_along() -> None:
    block = fit(strip(600.0, 9.0), FULL, short=SHORT, lettering=TRUE)
    assert block is not None
    assert block.lines == 1
    assert block.height >= 2.5
    assert block.angle == 0.0
    across = Piece(name="Strap", cut=rectangle(9.0, 600.0))
    turned = fit(across, FULL, short=SHORT, lettering=TRUE)
    assert turned is not None
    assert turned.angle == 90.0


@pytest.mark.parametrize("angle", [0.0, 90.0])
def test_names_and_arrows_keep_off_texts_to_transfer(angle: float) -> None:
    text = Mark(kind=MarkKind.TEXT, text="magnetic snap", at=(150.0, 100.0), size=8.0, angle=angle)
    piece = replace(strip(300.0, 200.0), marks=(text,))
    block = fit(piece, FULL, short=SHORT, lettering=TRUE)
    assert block is not None
    wide, high = 8.0 * text_width("magnetic snap"), 8.0
    taken = shapely.box(-wide / 2.0, -high / 2.0, wide / 2.0, high / 2.0)
    taken = shapely.affinity.translate(shapely.affinity.rotate(taken, angle), 150.0, 100.0)
    assert not block.box.intersects(taken)
    arrow = grain_arrow(piece, both=True, avoid=[block.box], lettering=TRUE)
    assert arrow
    assert not any(shapely.LineString(path.points(0.1)).intersects(taken) for path in arrow)


def test_a_small_piece_has_its_key() -> None:
    block = fit(strip(14.0, 10.0), FULL, short=SHORT, lettering=TRUE)
    assert block is not None
    assert (*FULL, *SHORT)[block.option][0].startswith("A")
    assert block.height >= 1.0


def test_a_speck_has_no_text() -> None:
    assert fit(strip(0.3, 0.3), FULL, short=SHORT, lettering=TRUE) is None


def test_text_keeps_off_marks_and_cut_outs() -> None:
    pocket = rectangle(160.0, 120.0, at=(70.0, 40.0))
    piece = Piece(
        name="Panel",
        cut=rectangle(300.0, 200.0),
        holes=(circle(40.0, centre=(150.0, 20.0)).reversed(),),
        marks=(Mark(kind=MarkKind.OUTLINE, path=pocket),),
    )
    block = fit(piece, FULL, short=SHORT, lettering=TRUE)
    assert block is not None
    assert piece_polygon(piece).contains(block.box)
    line = shapely.LineString([*pocket.points(0.1), pocket.start])
    assert not block.box.intersects(line)


def test_a_crescent_is_labelled_inside() -> None:
    outer, inner = circle(300.0).points(0.5), circle(240.0, centre=(150.0, 170.0)).points(0.5)
    shape = shapely.Polygon(outer).difference(shapely.Polygon(inner))
    piece = Piece(
        name="Crescent", cut=Path.polyline(shape.exterior.coords[:-1], closed=True).reversed()
    )
    block = fit(piece, FULL, short=SHORT, lettering=TRUE)
    assert block is not None
    assert piece_polygon(piece).contains(block.box)


def test_the_grain_arrow_runs_along_the_grain() -> None:
    arrow = grain_arrow(strip(200.0, 80.0), both=False, lettering=TRUE)
    (x0, y0), (x1, y1) = arrow[0].points(0.1)
    assert y0 == y1
    assert x1 > x0
    assert len(arrow) == 2
    assert len(grain_arrow(strip(200.0, 80.0), both=True, lettering=TRUE)) == 3


@given(st.floats(-720.0, 720.0), st.floats(-360.0, 360.0), st.booleans())
def test_text_is_never_upside_down(turn: float, angle: float, flipped: bool) -> None:
    by = Affine.turn(turn).after(Affine.mirror()) if flipped else Affine.turn(turn)
    assert -90.0 <= upright(by, angle) <= 90.0 + 1e-5


def test_wide_letters_count_wide() -> None:
    assert text_width("布地") > text_width("ab")
    assert text_width("e\u0301") == text_width("e")


@pytest.mark.parametrize("finished", [5.0, 16.0, 25.0, 40.0])
def test_names_are_written_between_the_folds_of_a_strap(finished: float) -> None:
    folds = tuple(
        Mark(
            kind=MarkKind.LINE,
            name="fold",
            path=Path.polyline([(0.0, k * finished), (1200.0, k * finished)], closed=False),
        )
        for k in (1, 2, 3)
    )
    piece = replace(strip(1200.0, 4.0 * finished), marks=folds)
    block = fit(piece, FULL, short=SHORT, lettering=TRUE)
    assert block is not None
    assert piece_polygon(piece).contains(block.box)


def test_the_chords_of_an_arrow_are_cut_all_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """One by one, they were a third of all that is drawn of 500 different pieces."""
    calls = []
    real = shapely.LineString
    monkeypatch.setattr(arrow, "LineString", lambda points: (calls.append(1), real(points))[1])
    made = grain_arrow(strip(211.0, 97.0), both=True, lettering=TRUE)
    assert len(made) == len(calls) == 3  # each line is looked at whether it lies within


def test_chords_of_all_levels_are_weighed_as_one_by_one() -> None:
    """A comb and a ring: several chords on a level, of which the best is taken."""
    comb = shapely.union_all([shapely.box(x, 0, x + 31 - x / 9, 60 + x) for x in (0, 40, 80)])
    ring = shapely.Point(0, 0).buffer(60).difference(shapely.Point(9, 4).buffer(25))
    for area in (comb, ring, shapely.box(0, 0, 2, 2)):
        assert arrow._longest_chord(area, TRUE) == one_by_one(area, TRUE.readable)


def one_by_one(area: shapely.Polygon, readable: float) -> tuple[float, ...] | None:
    x0, y0, x1, y1 = area.bounds
    best, most = None, 0.0
    for share in np.linspace(0.05, 0.95, 19):
        y = float(y0 + share * (y1 - y0))
        chord = shapely.LineString([(x0, y), (x1, y)])
        for part in shapely.get_parts(area.intersection(chord)):
            a, b = sorted(x for x, _ in part.coords)
            if b - a < 1.6 * readable:
                continue
            spots = [shapely.Point(a + f * (b - a), y) for f in (0.3, 0.5, 0.7)]
            room = min(area.boundary.distance(spot) for spot in spots)
            central = 1.0 - 0.5 * abs(y - area.centroid.y) / (y1 - y0)
            score = min(b - a, 60.0 * readable) * min(1.0, room / readable) * central
            if score > most:
                best, most = (a, b, y, room), score
    return best


def test_where_text_stays_lower_than_elsewhere_it_is_not_grown_to_the_end(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    area = shapely.Polygon([(0, 0), (200, 0), (90, 30), (20, 90)])
    trials = [((60.0, 20.0), 0.0), ((60.0, 5.0), 0.0), ((30.0, 10.0), 90.0), ((150.0, 5.0), 45.0)]
    size, cap = (8.0, 1.3), 40.0
    alone = [lettering._heights(area, [one], size, cap)[0] for one in trials]
    tried: list[int] = []
    real = shapely.polygons
    monkeypatch.setattr(
        lettering.shapely, "polygons", lambda rings: (tried.append(len(rings)), real(rings))[1]
    )
    together = lettering._heights(area, trials, size, cap)
    assert max(together) == max(alone) > 1.0
    assert together.index(max(together)) == alone.index(max(alone))
    assert sum(tried) < 8 * len(trials) - 8
    assert lettering._heights(area, trials, size, cap, floor=cap) != together
