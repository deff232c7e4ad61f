"""What is called infeasible is proved, and what is plainly impossible is said at once."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from nesting.marker.bound import lower_bound
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Binding, Lattice, Lay, Part, Region, Sheet, Sheets, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle, rectangle
from nesting.search.result import Limits, Result, Stopped
from nesting.search.solve import search

HOUR = 3600.0
"""Seconds that nobody waits for if the answer is known at once."""


def box(length: float, width: float, **rules: object) -> Part:
    piece = Piece(name="box", cut=rectangle(length, width))
    return Part(name="box", piece=piece, **rules)  # type: ignore[arg-type]


def named(*parts: Part) -> tuple[Part, ...]:
    return tuple(
        Part(
            name=f"{part.name} {n}", piece=part.piece, turns=part.turns, region=part.region,
            binding=part.binding,
        )
        for n, part in enumerate(parts)
    )  # fmt: skip


def answer(lay: Lay, *, seconds: float | None = None) -> Result:
    rounds = 0 if seconds is None else None
    return search(lay, limits=Limits(seconds=seconds, rounds=rounds), workers=1)


def one_hide(outline: Path, *regions: Region) -> Sheets:
    hide = Sheet(name="hide", outline=outline, regions=regions, count=1)
    return Sheets(sheets=(hide,))


# --- possible, if hard --------------------------------------------------------------

# A. J. W. Duijvestijn's squared square of order 21 (1978), side 112, from memory: the areas
# add up to 112², which the test checks.
SQUARES = (50, 42, 37, 35, 33, 29, 27, 25, 24, 19, 18, 17, 16, 15, 11, 9, 8, 7, 6, 4, 2)


@pytest.mark.parametrize(
    "stock", [Strip(width=112, longest=112), one_hide(rectangle(112, 112))], ids=["strip", "board"]
)
def test_squares_that_fill_their_square_are_not_called_infeasible(stock: Strip | Sheets) -> None:
    assert sum(side**2 for side in SQUARES) == 112**2
    lay = Lay(name="squares", parts=named(*(box(side, side) for side in SQUARES)), stock=stock)
    result = answer(lay)
    assert result.unplaced  # else it is too easy, and shows nothing
    assert result.stopped is Stopped.NOT_FOUND
    assert all("no room was found" in u.why for u in result.unplaced)


def test_a_disc_that_fills_a_round_hide_is_not_called_infeasible() -> None:
    """The search keeps a hair off curved edges; the judge lets the disc pass."""
    disc = Part(name="disc", piece=Piece(name="disc", cut=circle(100)))
    lay = Lay(name="disc", parts=(disc,), stock=one_hide(circle(100)))
    marker = Marker(lay=lay, placements=(Placement(part=0, x=0.0, y=0.0),), sheets=(0,))
    assert not check(marker)
    result = answer(lay)
    assert result.stopped is not Stopped.INFEASIBLE
    assert all("larger than" not in u.why for u in result.unplaced)


def test_a_motif_in_another_row_is_not_called_infeasible() -> None:
    """Of a half-drop one row has a motif in the sheet, and not the one nearest its middle."""
    lattice = Lattice(along=200.0, across=40.0, drop=0.5, origin=(50.0, 25.0))
    part = box(90.0, 40.0, binding=Binding(anchor=(45.0, 20.0), lattice=lattice))
    stock = one_hide(rectangle(100.0, 130.0), Region(name="r", outlines=(rectangle(100.0, 130.0),)))
    lay = Lay(name="motif", parts=(part,), stock=stock)
    placed = Marker(lay=lay, placements=(Placement(part=0, x=5.0, y=5.0),), sheets=(0,))
    assert not check(placed)
    assert answer(lay).stopped is not Stopped.INFEASIBLE


# --- impossible ----------------------------------------------------------------------


@pytest.mark.parametrize("turns", [Turns(), Turns(angles=(0.0, 90.0)), Turns(slack=180.0)])
def test_a_part_wider_than_the_cloth_in_every_turn(turns: Turns) -> None:
    lay = Lay(
        name="wide", parts=named(box(300, 250, turns=turns), box(100, 50)), stock=Strip(width=240)
    )
    result = answer(lay)
    assert result.stopped is Stopped.INFEASIBLE
    assert [u.part for u in result.unplaced] == [0]
    assert len(result.marker.placements) == 1


def test_more_area_than_there_are_sheets_is_said_at_once() -> None:
    parts = named(*[box(90, 60, turns=Turns(slack=180.0))] * 3)
    result = answer(
        Lay(name="area", parts=parts, stock=one_hide(rectangle(120, 120))), seconds=HOUR
    )
    assert result.stopped is Stopped.INFEASIBLE
    assert result.seconds < HOUR / 10
    assert "which is proved" in result.unplaced[0].why


@pytest.mark.parametrize(
    ("parts", "zone"),
    [
        # Discs 60 across in a square of 100: their middles would be 56.6 apart at most.
        ([Part(name="disc", piece=Piece(name="disc", cut=circle(60.0)), region="r")] * 2, 100.0),
        # Two boxes longer and wider than half of it.
        ([box(60, 55, region="r")] * 2, 100.0),
    ],
    ids=["discs", "boxes"],
)
def test_two_parts_that_cannot_share_a_zone_are_said_at_once(
    parts: list[Part], zone: float
) -> None:
    # The hide is large; it is the zone that is too small, and the area would fit it.
    assert math.pi * 60.0**2 / 2.0 < zone**2
    region = Region(name="r", outlines=(rectangle(zone, zone),))
    lay = Lay(name="zone", parts=named(*parts), stock=one_hide(rectangle(900, 700), region))
    result = answer(lay, seconds=HOUR)
    assert result.stopped is Stopped.INFEASIBLE
    assert len(result.marker.placements) == 1


def test_two_parts_that_can_share_a_zone_are_laid() -> None:
    region = Region(name="r", outlines=(rectangle(100, 103),))
    parts = named(*[box(60, 50, region="r")] * 2)
    result = answer(Lay(name="zone", parts=parts, stock=one_hide(rectangle(900, 700), region)))
    assert not result.unplaced


def test_rectangles_too_many_for_the_longest_marker_are_said_at_once() -> None:
    # Five of 40 × 40 on 100 × 100: their area is 80 %, but no three lie side by side.
    lay = Lay(name="long", parts=named(*[box(40, 40)] * 5), stock=Strip(width=100, longest=100))
    result = answer(lay, seconds=HOUR)
    assert result.stopped is Stopped.INFEASIBLE
    assert result.seconds < HOUR / 10


# --- what the judge lets pass as rounding ---------------------------------------------

# The sizes are those of single precision, to which a drawing's numbers may be rounded: off by up
# to 6e-8 of themselves. The judge lets 1e-6 pass. All that follows is laid by hand and judged.
ROUNDED = 1 + 6e-8


def corner_off(length: float, width: float) -> Part:
    """Return a part that is no rectangle, as long and as wide as one."""
    ring = [(0, 0), (length, 0), (length, width), (0.1 * length, width)]
    return Part(name="corner off", piece=Piece(name="a", cut=Path.polyline(ring, closed=True)))


@pytest.mark.parametrize("make", [box, corner_off])
@pytest.mark.parametrize("stock", [Strip(width=100), one_hide(rectangle(140, 100))])
def test_a_part_as_wide_as_the_cloth_but_for_rounding_is_laid(
    make: Callable[[float, float], Part], stock: Strip | Sheets
) -> None:
    part = make(70, 100 * ROUNDED)
    result = answer(Lay(name="a", parts=named(part), stock=stock))
    assert result.unplaced == ()
    assert not check(result.marker)


def test_a_part_as_long_as_the_sheet_but_for_rounding_is_laid() -> None:
    lay = Lay(name="a", parts=named(box(70 * ROUNDED, 40)), stock=one_hide(rectangle(70, 100)))
    result = answer(lay)
    assert result.unplaced == ()
    assert not check(result.marker)


def halves(stock: Strip | Sheets) -> Marker:
    """Return two parts that fill the width but for rounding, side by side."""
    width = 50 * ROUNDED
    lay = Lay(name="a", parts=named(*2 * [box(70, width)]), stock=stock)
    spots = (Placement(part=0, x=0, y=0), Placement(part=1, x=0, y=100 - width))
    return Marker(lay=lay, placements=spots, sheets=() if stock.open_ended else (0,))


def test_halves_of_the_width_but_for_rounding_are_laid_side_by_side() -> None:
    marker = halves(Strip(width=100))
    assert not check(marker)
    result = answer(marker.lay)
    assert result.bound.value <= 70 * (1 + 1e-6)
    assert figures(result.marker).length <= 70 * (1 + 1e-6)
    assert not check(result.marker)


def test_halves_of_a_sheet_but_for_rounding_are_not_called_infeasible() -> None:
    marker = halves(one_hide(rectangle(70, 100)))
    assert not check(marker)
    assert lower_bound(marker.lay).value == 1
    assert answer(marker.lay).stopped is not Stopped.INFEASIBLE


def test_flaws_that_lie_on_one_another_take_their_area_once() -> None:
    scars = tuple(
        rectangle(20, 20).transformed(Affine(e=75 + 0.1 * i, f=40)).reversed() for i in range(20)
    )
    hide = Sheet(name="hide", outline=rectangle(100, 100), holes=scars, count=1)
    lay = Lay(name="a", parts=named(*2 * [box(100, 30)]), stock=Sheets(sheets=(hide,)))
    spots = (Placement(part=0, x=0, y=0), Placement(part=1, x=0, y=70))
    marker = Marker(lay=lay, placements=spots, sheets=(0,))
    assert not check(marker)
    # The scars lie in 21.9 mm by 20 mm; 6,000 of the other 9,562 mm² are parts.
    assert figures(marker).efficiency == pytest.approx(6_000 / (10_000 - 21.9 * 20))
    result = answer(lay)
    assert result.bound.value == 1
    assert result.unplaced == ()


def test_sheets_of_which_there_are_none_are_no_room_for_certain() -> None:
    gone = Sheet(name="board", outline=rectangle(100, 100), count=0)
    result = answer(Lay(name="a", parts=named(box(10, 10)), stock=Sheets(sheets=(gone,))))
    assert result.stopped is Stopped.INFEASIBLE
