"""Lower bounds that can be worked out by hand."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from nesting.marker.bound import least_and_how, lower_bound
from nesting.marker.bounds.inner import inner_boxes
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.pattern.path import Affine, Arc, Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle
from nesting.search.result import Limits
from nesting.search.solve import search


def piece(points: list[tuple[float, float]]) -> Piece:
    return Piece(name="p", cut=Path.polyline(points, closed=True))


def rectangle(length: float, height: float) -> Piece:
    return piece([(0, 0), (length, 0), (length, height), (0, height)])


def strip_lay(
    pieces: list[Piece], width: float, *, spacing: float = 0.0, turns: Turns | None = None
) -> Lay:
    parts = tuple(Part(name=str(i), piece=p, turns=turns or Turns()) for i, p in enumerate(pieces))
    return Lay(name="lay", parts=parts, stock=Strip(width=width), spacing=spacing)


def test_no_parts_need_nothing() -> None:
    assert lower_bound(strip_lay([], 100)).value == 0.0


def test_area_over_width() -> None:
    triangles = [piece([(0, 0), (60, 0), (0, 80)])] * 10
    assert lower_bound(strip_lay(triangles, 100)).value == pytest.approx(240)


def test_the_longest_part_counts() -> None:
    assert lower_bound(strip_lay([rectangle(500, 10)], 100)).value == 500


def test_the_longest_part_in_its_shortest_turn_that_fits() -> None:
    part = [rectangle(500, 90)]
    right = Turns(angles=(0.0, 90.0))
    assert lower_bound(strip_lay(part, 600, turns=right)).value == pytest.approx(90)
    assert lower_bound(strip_lay(part, 400, turns=right)).value == pytest.approx(500)


def test_any_turn_takes_the_least_width_of_the_hull() -> None:
    # The least width of a right triangle with sides 3, 4, 5 is its height on the longest side.
    part = [piece([(0, 0), (300, 0), (0, 400)])]
    free = lower_bound(strip_lay(part, 1000, turns=Turns(slack=180))).value
    assert free == pytest.approx(240)
    # Within ±10° of lying as drawn, the extent is least at an end of the range.
    some = lower_bound(strip_lay(part, 1000, turns=Turns(slack=10))).value
    c, s = math.cos(math.radians(10)), math.sin(math.radians(10))
    assert some == pytest.approx(min(300 * c + 400 * s, max(300 * c, 400 * s), 300 * c))


def test_parts_wider_than_half_follow_one_another() -> None:
    parts = [rectangle(100, 51)] * 7
    assert lower_bound(strip_lay(parts, 100)).value == pytest.approx(700)
    assert lower_bound(strip_lay(parts, 100, spacing=5)).value == pytest.approx(730)


def test_three_across_never_become_four() -> None:
    parts = [rectangle(100, 26)] * 12
    assert lower_bound(strip_lay(parts, 100)).value == pytest.approx(400)


def test_spacing_counts_across_too() -> None:
    # Two of 48 with 5 between them do not fit 100.
    parts = [rectangle(10, 48)] * 6
    assert lower_bound(strip_lay(parts, 100, spacing=5)).value >= 60


def test_wide_boxes_inside_irregular_parts_count() -> None:
    # Every rhomboid holds a box of 60 × 80: two can't lie beside one another there.
    part = piece([(0, 0), (60, 0), (80, 40), (60, 80), (0, 80), (-20, 40)])
    assert lower_bound(strip_lay([part] * 5, 100)).value >= 300


def test_a_disc_holds_its_inner_square() -> None:
    disc = Piece(name="disc", cut=Path((Arc((0, 0), (50, 0), (0, 50), 0.0, 2 * math.pi),)))
    boxes = inner_boxes(disc, Affine())
    assert max(b.length * b.height for b in boxes) >= 0.95 * 5000
    for box in boxes:
        assert math.hypot(box.length, box.height) <= 100


def test_inner_boxes_leave_cut_outs_alone() -> None:
    ring = Piece(
        name="ring",
        cut=Path.polyline([(0, 0), (90, 0), (90, 90), (0, 90)], closed=True),
        holes=(Path.polyline([(30, 30), (30, 60), (60, 60), (60, 30)], closed=True),),
    )
    found = {(b.length, b.height) for b in inner_boxes(ring, Affine())}
    assert found == {(90, 30), (30, 90)}


def board(length: float, height: float, count: int | None = None) -> Sheet:
    outline = Path.polyline([(0, 0), (length, 0), (length, height), (0, height)], closed=True)
    return Sheet(name="board", outline=outline, count=count)


def sheet_lay(pieces: list[Piece], *sheets: Sheet, margin: float = 0.0) -> Lay:
    parts = tuple(Part(name=str(i), piece=p) for i, p in enumerate(pieces))
    return Lay(name="lay", parts=parts, stock=Sheets(sheets=sheets, margin=margin))


def test_sheets_by_area() -> None:
    assert lower_bound(sheet_lay([rectangle(50, 40)] * 11, board(100, 100))).value == 3


def test_sheets_by_large_parts() -> None:
    assert lower_bound(sheet_lay([rectangle(60, 60)] * 5, board(100, 100))).value == 5


def test_sheets_by_boxes() -> None:
    # No three of 40 lie side by side on 100, so four fill a sheet; by area six would.
    assert lower_bound(sheet_lay([rectangle(40, 40)] * 4, board(100, 100))).value == 1
    assert lower_bound(sheet_lay([rectangle(40, 40)] * 5, board(100, 100))).value == 2


def test_sheets_less_their_margin() -> None:
    assert lower_bound(sheet_lay([rectangle(50, 50)] * 4, board(100, 100))).value == 1
    assert lower_bound(sheet_lay([rectangle(50, 50)] * 4, board(100, 100), margin=1)).value == 4


def test_few_large_sheets_come_first_whatever_the_order() -> None:
    # Two of 20,000 mm² and then small ones: 45,000 mm² need three at least.
    sheets = (board(100, 100), board(200, 100, count=2))
    assert lower_bound(sheet_lay([rectangle(10, 9)] * 500, *sheets)).value == 3


def test_grown_area_stays_below_a_dense_row() -> None:
    # Forty 9 × 9 squares 1 apart in a strip of 9: exactly 40·9 + 39 long.
    lay = strip_lay([rectangle(9, 9)] * 40, 9, spacing=1)
    assert lower_bound(lay).value == pytest.approx(399)


def test_a_polygon_with_a_notch_has_boxes_beside_it() -> None:
    shape = [(0, 0), (100, 0), (100, 80), (60, 80), (60, 30), (40, 30), (40, 80), (0, 80)]
    solid = shapely.Polygon(shape)
    boxes = inner_boxes(piece([(float(x), float(y)) for x, y in shape]), Affine())
    assert {(b.length, b.height) for b in boxes} == {(100, 30), (40, 80)}
    assert solid.area > max(b.length * b.height for b in boxes)


def toothed(corners: int, height: float, *, waves: int) -> Piece:
    """Return a disc of radius 100 whose edge goes up and down."""
    turns = [2.0 * math.pi * k / corners for k in range(corners)]
    radii = [100.0 + height * math.sin(waves * turn) for turn in turns]
    return piece([(r * math.cos(t), r * math.sin(t)) for r, t in zip(radii, turns, strict=True)])


def test_a_wavy_outline_of_thousands_of_corners_has_its_share_of_the_spacing() -> None:
    wavy = toothed(3_600, 5.0, waves=12)
    area = shapely.Polygon(wavy.cut.points(1e-3))
    bound = lower_bound(strip_lay([wavy] * 60, 1_000.0, spacing=6.0)).value
    truth = (60 * area.buffer(3.0).area + (4.0 - math.pi) * 9.0) / 1_006.0 - 6.0
    without = 60 * area.area / 1_006.0 - 6.0
    assert without + 0.7 * (truth - without) < bound <= truth


def test_thousands_of_teeth_are_not_grown(monkeypatch: pytest.MonkeyPatch) -> None:
    """To grow 20,000 teeth nearer each other than the spacing took minutes."""
    grow, grown = BaseGeometry.buffer, []

    def noted(area: shapely.Polygon, *args: object, **kwargs: object) -> object:
        grown.append(shapely.get_num_coordinates(area))
        return grow(area, *args, **kwargs)

    monkeypatch.setattr(BaseGeometry, "buffer", noted)
    teeth = toothed(6_000, 5.0, waves=3_000 - 1)
    bound = lower_bound(strip_lay([teeth] * 6, 300.0, spacing=6.0)).value
    assert all(corners <= 3_000 for corners in grown)
    area = shapely.Polygon(teeth.cut.points(1e-3)).area
    assert bound >= (6 * area + (4.0 - math.pi) * 9.0) / 306.0 - 6.0 - 1e-6


@pytest.mark.parametrize(
    ("parts", "stock", "how"),
    [
        ([piece([(0, 0), (60, 0), (0, 80)])] * 10, Strip(width=100), "by area"),
        ([rectangle(500, 10)], Strip(width=100), "by the longest part"),
        ([rectangle(100, 51)] * 7, Strip(width=100), "by rectangles inside the parts"),
        (
            [Piece(name="disc", cut=circle(64))] * 5,
            Strip(width=100),
            "by what the parts keep away across and along",
        ),
        (
            [rectangle(40, 40)] * 5,
            Sheets(sheets=(board(100, 100),)),
            "by rectangles inside the parts",
        ),
    ],
)
def test_it_is_stated_with_how_it_was_found(
    parts: list[Piece], stock: Strip | Sheets, how: str
) -> None:
    named = tuple(Part(name=str(i), piece=one) for i, one in enumerate(parts))
    lay = Lay(name="lay", parts=named, stock=stock)
    least, said = least_and_how(lay)
    assert (least, said) == (lower_bound(lay), how)
    result = search(lay, limits=Limits(seconds=None, rounds=0), workers=1)
    assert (result.bound, result.bound_by) == (least, how)


@pytest.mark.parametrize("turn", [0.0, 90.0])
def test_discs_too_wide_to_lie_side_by_side_keep_that_room_from_each_other(turn: float) -> None:
    """By hand: a disc of 60 is more than 50 high over 2·√(30² − 25²) = 33.17 of its length.

    Five of them take 165.8 mm of a strip of 100, where their area is that of 141.4. Rims are made
    simpler, which costs a little.
    """
    lay = strip_lay([Piece(name="disc", cut=circle(60))] * 5, 100.0, turns=Turns(angles=(turn,)))
    assert 155.0 <= lower_bound(lay).value <= 60.0 + 4 * math.sqrt(60.0**2 - 40.0**2)


def test_parts_too_long_to_lie_behind_one_another_lie_side_by_side() -> None:
    """By hand: below 200 mm each of three boxes of 100 by 40 has the lines along it to itself.

    That takes 120 of the 100 there are. Their area is that of 120 mm, across they ask for 150.
    """
    lay = strip_lay([rectangle(100, 40)] * 3, 100.0)
    assert lower_bound(lay).value == pytest.approx(200.0, rel=0.02)
