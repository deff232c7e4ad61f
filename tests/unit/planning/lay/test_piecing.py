"""Pieces put together from several; straps and bindings as lines of a job."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import pytest
from shapely import union_all

from nesting import JobError, check, make_plan, parse_job
from nesting.job.job import Job
from nesting.marker.lay import Lay, Part
from nesting.pattern.path import Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.polygon import piece_polygon
from nesting.pattern.shapes import ellipse, rectangle
from nesting.pattern.strips import continuous_binding, joined_strip
from nesting.planning.joins import joined, put_together, unjoined
from nesting.planning.lay.lays import lays
from nesting.planning.lay.piecing import pieced

IN = 25.4

JOB = """
[job]
name = "Bag"
[[piece]]
name = "body"
SHAPE
[[cloth]]
name = "interfacing"
width = WIDTH
selvedge = 0
spacing = 2
ends = 0
MORE
[[cut]]
piece = "body"
material = "interfacing"
CUT
"""


def job(shape: str, *, width: str = "900", cut: str = "", more: str = "") -> Job:
    text = JOB.replace("SHAPE", shape).replace("WIDTH", width).replace("CUT", cut)
    return parse_job(text.replace("MORE", more))


def lay(shape: str, *, width: str = "900", cut: str = "", more: str = "") -> Lay:
    (found,) = lays(job(shape, width=width, cut=cut, more=more))
    return found


def test_interfacing_narrower_than_the_piece_is_named_unless_it_may_be_pieced() -> None:
    with pytest.raises(JobError, match=r"it needs a width of 120 cm") as caught:
        lay("rectangle = [1000, 1200]")
    assert "pieced" in str(caught.value)
    found = lay("rectangle = [1000, 1200]", cut='pieced = "10 mm"')
    assert [part.name for part in found.parts] == ["body piece 1 of 2", "body piece 2 of 2"]
    assert {part.variant for part in found.parts} == {"piece 1 of 2", "piece 2 of 2"}


def test_what_fits_stays_whole() -> None:
    (part,) = lay("rectangle = [600, 900]", cut='pieced = "10 mm"').parts
    assert part.variant == ""


def test_bits_make_the_piece_and_overlap_by_what_was_asked() -> None:
    piece = Piece(name="oval", cut=ellipse(500.0, 1000.0))
    bits = pieced(piece, width=400.0, length=None, beyond=8.0)
    assert len(bits) == 3
    areas = [piece_polygon(bit) for bit in bits]
    whole = piece_polygon(piece)
    assert union_all(areas).symmetric_difference(whole).area == pytest.approx(0.0, abs=1e-3)
    for low, high in pairwise(areas):
        shared = low.intersection(high)
        assert shared.bounds[3] - shared.bounds[1] == pytest.approx(16.0)
    assert max(a.bounds[3] - a.bounds[1] for a in areas) <= 400.0 + 1e-9


def test_joins_are_marked_and_other_marks_go_to_the_bit_that_has_them() -> None:
    snap = Mark(kind=MarkKind.DRILL, at=(50.0, 30.0), name="snap")
    piece = Piece(name="back", cut=rectangle(100.0, 300.0), marks=(snap,))
    first, second = pieced(piece, width=200.0, length=None, beyond=10.0)
    assert [mark.name for mark in first.marks] == ["snap", "join"]
    assert [mark.name for mark in second.marks] == ["join"]
    seams = {mark.path.start[1] for bit in (first, second) for mark in bit.marks if mark.path}
    assert seams == {150.0}


def test_a_line_that_a_user_calls_join_is_no_join() -> None:
    line = Mark(
        kind=MarkKind.LINE,
        name="join",
        path=Path.polyline([(20.0, 30.0), (80.0, 30.0)], closed=False),
    )
    piece = Piece(name="back", cut=rectangle(100.0, 300.0), marks=(line, line))
    bits = pieced(piece, width=200.0, length=None, beyond=10.0)
    parts = [Part(name=f"back {n}", piece=bit, pieced=2) for n, bit in enumerate(bits)]
    (one,) = put_together(parts, width=200.0)
    assert one.joins == 1


def test_a_strap_across_the_cloth_is_joined_as_the_arithmetic_says() -> None:
    # A shoulder strap 1 in wide and 60 in long, cut across cloth of 44 in with ½ in seams.
    found = lay(
        'strap = ["60 in", "1 in"]\ngrain = "across"', width='"44 in"', cut='pieced = "1/2 in"'
    )
    sums = joined_strip(60 * IN, longest=44 * IN, per_join=2 * 0.5 * IN)
    lengths = [piece_polygon(part.piece).bounds for part in found.parts]
    assert [b[3] - b[1] for b in lengths] == pytest.approx(list(sums.pieces))
    # 4 × the finished width (getasquiltingstudio 2023/04)
    assert [b[2] - b[0] for b in lengths] == pytest.approx([4 * IN] * len(sums.pieces))
    assert len(found.parts) - 1 == sums.joins


STRAP = """
[[piece]]
name = "strap"
strap = ["60 in", "1 1/2 in"]
[[cut]]
piece = "strap"
material = "interfacing"
MORE
"""


def sling(*, cut: str = "", cloth: str = 'nap = "any"', width: int = 54) -> Job:
    """Two panels of 12 × 9 in and a strap of 60 × 6 in, cloth sold by the half yard."""
    text = JOB.replace("SHAPE", 'rectangle = ["12 in", "9 in"]').replace("WIDTH", f'"{width} in"')
    text = text.replace("MORE", f'step = "1/2 yd"\n{cloth}').replace("CUT", "copies = 2")
    return parse_job(text + STRAP.replace("MORE", cut))


def test_a_strap_that_fits_only_askew_is_joined_once_where_that_saves_a_step() -> None:
    # Derived: in one it lies from corner to corner; in halves of 30½ in it lies across.
    (found,) = lays(sling(cut='pieced = "1/2 in"'))
    strap = [part for part in found.parts if part.piece.name == "strap"]
    sizes = [piece_polygon(part.piece).bounds for part in strap]
    assert [(b[2] - b[0], b[3] - b[1]) for b in sizes] == [pytest.approx((30.5 * IN, 6 * IN))] * 2
    whole, once = (
        make_plan(sling(cut=cut), seconds=None, rounds=3, workers=1).entries[0]
        for cut in ("", 'pieced = "1/2 in"')
    )
    assert (whole.buying.to_buy.value, once.buying.to_buy.value) == pytest.approx((1371.6, 457.2))
    (one,) = joined(once)
    assert one.whole <= whole.buying.needed.value + 1.0
    (alone,) = unjoined(whole)
    assert alone.piece == "strap"
    assert alone.length == pytest.approx(one.whole)


def test_a_strap_is_left_whole_where_no_join_is_wanted_or_none_saves() -> None:
    (found,) = lays(sling(cut='pieced = "1/2 in"\njoins = 0'))
    assert len(found.parts) == 3
    # 64 in wide it lies across in one
    (found,) = lays(sling(cut='pieced = "1/2 in"', width=64))
    assert len(found.parts) == 3


def test_more_joins_are_made_only_as_far_as_each_saves_a_step() -> None:
    """With the grain a strap of 60 in holds the length; the rest needs 9 in: ⅓, ¼, … of it."""
    counts = {}
    for joins in (1, 2, 3, 9):
        (found,) = lays(sling(cut=f'pieced = "1/2 in"\njoins = {joins}', cloth='nap = "none"'))
        counts[joins] = len(found.parts) - 2
    # Derived: 60 in → 1 → 30½ in → 20⅔ in → 15¾ in, bought as 2, 1, 1 and ½ yards.
    assert counts == {1: 2, 2: 2, 3: 4, 9: 4}


def test_the_folds_of_a_strap_are_on_all_its_pieces() -> None:
    (found,) = lays(sling(cut='pieced = "1/2 in"'))
    straps = [part.piece for part in found.parts if part.piece.name == "strap"]
    assert len(straps) == 2
    for piece in straps:
        folds = [mark.path for mark in piece.marks if mark.name == "fold" and mark.path]
        assert len(folds) == 3
        for path in folds:  # up to the join, ½ in before the end
            assert abs(path.end[0] - path.start[0]) == pytest.approx(30 * IN)


def test_a_bias_strip_is_joined_along_the_grain() -> None:
    found = lay("rectangle = [2000, 40]", cut='grain = "bias"\npieced = "6 mm"')
    assert len(found.parts) >= 2
    for part in found.parts:
        _, y0, _, y1 = piece_polygon(part.piece).bounds
        assert y1 - y0 <= 900.0 + 1e-6
        joins = [mark.path for mark in part.piece.marks if mark.name == "join" and mark.path]
        assert joins
        for path in joins:  # slanting across the strip: √2 times its width, along the cloth
            (ax, ay), (bx, by) = path.start, path.end
            assert ay == pytest.approx(by)
            assert abs(bx - ax) == pytest.approx(40.0 * math.sqrt(2.0), rel=1e-6)
    (entry,) = make_plan(
        job("rectangle = [2000, 40]", cut='grain = "bias"\npieced = "6 mm"'),
        seconds=None,
        rounds=1,
        workers=1,
    ).entries
    assert not check(entry.marker)


def test_a_long_strap_is_joined_where_the_table_ends() -> None:
    found = lay("rectangle = [2500, 80]", cut='pieced = "10 mm"', more="longest = 1200")
    sums = joined_strip(2500.0, longest=1200.0, per_join=20.0)
    long = [
        piece_polygon(part.piece).bounds[2] - piece_polygon(part.piece).bounds[0]
        for part in found.parts
    ]
    assert long == pytest.approx(list(sums.pieces))


@pytest.mark.parametrize(
    ("length", "width", "side"),
    [  # inches; mydecozo (250 × 2 → 23), quiltersquestiontime (100 × 3½ → 19),
        # mixedupcreativeacademy (55 × 2½ → 12): sides rounded up to whole inches there
        (250, 2, 23),
        (100, 3.5, 19),
        (55, 2.5, 12),
    ],
)
def test_the_square_of_a_binding(length: float, width: float, side: int) -> None:
    found = job(f'binding = ["{length} in", "{width} in"]')
    ((_, low, _, high),) = [piece_polygon(piece).bounds for piece in found.bags[0].pieces]
    assert side - 1 < (high - low) / IN <= side
    assert any(re.search(r"gives [0-9.]+ c?m of binding", text) for text in found.assumptions)


def test_the_seams_of_a_binding_square_are_added() -> None:
    # 22 in square, 3 in strip, ¼ in seam: 157.7 in (victoryautony)
    found = job('binding = ["157.6 in", "3 in"]\nseam_allowance = "0.25 in"')
    ((_, low, _, high),) = [piece_polygon(piece).bounds for piece in found.bags[0].pieces]
    side = high - low
    assert side == pytest.approx(22 * IN, abs=1.0)
    assert continuous_binding(side, width=side, strip=3 * IN, seam=0.25 * IN) >= 157.6 * IN


def test_a_strap_has_no_other_shape() -> None:
    with pytest.raises(JobError, match="a strap has no rectangle"):
        job("strap = [600, 25]\nrectangle = [1, 2]")


def test_leather_and_matched_prints_are_not_pieced() -> None:
    printed = "print = { along = 100, across = 100 }"
    with pytest.raises(JobError, match="centred or matched is not pieced"):
        job("rectangle = [600, 1200]", cut="centred = true\npieced = 5", more=printed)
