"""A part slid in a direction ends where it touches: the judge lets it lie there, and no further."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from nesting.marker.check import check
from nesting.marker.judge import Judge
from nesting.marker.lay import Lay, Part, Region, Sheet, Sheets, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.marker.slide import slide, slide_together
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle, rectangle

TAB = Piece(name="tab", cut=rectangle(40.0, 20.0))
COIN = Piece(name="coin", cut=circle(30.0))
ELL = Piece(
    name="ell",
    cut=Path.polyline([(0, 0), (60, 0), (60, 15), (15, 15), (15, 50), (0, 50)], closed=True),
)
BACK = Region(name="back", outlines=(rectangle(120.0, 90.0, at=(20.0, 5.0)),))
HIDE = Sheet(
    name="hide",
    outline=Path.polyline([(0, 0), (240, -10), (260, 90), (120, 130), (0, 100)], closed=True),
    holes=(rectangle(20.0, 14.0, at=(150.0, 40.0)).reversed(),),
    regions=(BACK,),
)
CLOTH, SKIN = Strip(width=150.0), Sheets(sheets=(HIDE,), margin=3.0)


def marker_of(*pieces: Piece, stock: Strip | Sheets = CLOTH, spacing: float = 0.0) -> Marker:
    parts = tuple(
        Part(name=f"{i}", piece=piece, turns=Turns(slack=180.0), flip=True)
        for i, piece in enumerate(pieces)
    )
    lay = Lay(name="lay", parts=parts, stock=stock, spacing=spacing)
    return Marker(lay=lay, placements=(), sheets=() if stock is CLOTH else (0,))


@pytest.mark.parametrize("spacing", [0.0, 3.0])
def test_a_rectangle_stops_at_the_edges_and_at_its_neighbour(spacing: float) -> None:
    marker = marker_of(TAB, TAB, spacing=spacing)
    first, second = Placement(part=0, x=0.0, y=10.0), Placement(part=1, x=300.0, y=15.0)
    marker = replace(marker, placements=(first, second))
    assert slide(marker, second, (-1, 0)).x == pytest.approx(40.0 + spacing, abs=2e-3)
    assert slide(marker, second, (0, 5)).y == pytest.approx(130.0, abs=1e-4)
    assert slide(marker, second, (0, -1)).y == pytest.approx(0.0, abs=1e-4)
    assert slide(marker, second, (1, 0)) == second  # cloth has no other end
    corner = slide(marker, replace(second, y=40.0), (-3, -4))
    assert type(corner.x) is type(corner.y) is float
    assert corner.x - 300.0 == pytest.approx(0.75 * (corner.y - 40.0))


def test_several_slide_as_one_until_the_first_of_them_touches() -> None:
    """Towards a third that only the rear one meets; they are not in each other's way."""
    marker = marker_of(TAB, TAB, TAB)
    still = Placement(part=0, x=0.0, y=40.0)
    front, rear = Placement(part=1, x=200.0, y=0.0), Placement(part=2, x=250.0, y=45.0)
    marker = replace(marker, placements=(still, front, rear))
    there = slide_together(marker, [1, 2], (-1, 0))
    assert [p.part for p in there] == [1, 2]
    assert [p.x for p in there] == pytest.approx([0.0, 50.0], abs=2e-3)
    assert [p.y for p in there] == [0.0, 45.0]
    (closer,) = slide_together(replace(marker, placements=(still, rear)), [2], (-1, 0))
    assert closer == slide(replace(marker, placements=(still, rear)), rear, (-1, 0))
    there = slide_together(
        replace(marker, placements=(still, front, replace(rear, x=205.0))), [1, 2], (-1, 0)
    )
    assert [p.x for p in there] == pytest.approx([35.0, 40.0], abs=2e-3)
    assert slide_together(marker, [1, 2], (1, 0)) == [front, rear]  # cloth has no other end


def test_what_touches_already_stays_and_slides_along() -> None:
    marker = marker_of(TAB, TAB)
    low, high = Placement(part=0, x=0.0, y=0.0), Placement(part=1, x=100.0, y=20.0)
    marker = replace(marker, placements=(low, high))
    assert slide(marker, replace(high, x=0.0), (0, -1)).y == pytest.approx(20.0, abs=1e-4)
    assert slide(marker, high, (-1, 0)).x == pytest.approx(0.0, abs=1e-4)


def test_it_stays_in_its_region_and_off_flaws() -> None:
    marker = marker_of(TAB, stock=SKIN)
    here = Placement(part=0, x=60.0, y=40.0)
    assert slide(marker, here, (1, 0)).x == pytest.approx(150.0 - 3.0 - 40.0, abs=2e-3)
    bound = replace(marker.lay.parts[0], region="back")
    marker = replace(marker, lay=replace(marker.lay, parts=(bound,)))
    assert slide(marker, here, (1, 0)).x == pytest.approx(100.0, abs=1e-4)
    assert slide(marker, here, (0, 1)).y == pytest.approx(75.0, abs=1e-4)


def test_no_direction_is_refused() -> None:
    with pytest.raises(ValueError, match="a part slides in a direction"):
        slide(marker_of(TAB), Placement(part=0, x=0.0, y=0.0), (0, 0))


@pytest.mark.parametrize("seed", range(8))
def test_the_judge_finds_nothing_where_it_stops_and_something_beyond(seed: int) -> None:
    dice = random.Random(seed)
    pieces = [dice.choice((TAB, COIN, ELL)) for _ in range(6)]
    stock = dice.choice((CLOTH, SKIN))
    marker = marker_of(*pieces, stock=stock, spacing=dice.choice((0.0, 2.5)))
    judge = Judge(marker)
    for part in range(6):
        for _ in range(30):
            turn, x, y = dice.uniform(0, 360), dice.uniform(0, 250), dice.uniform(0, 120)
            there = Placement(part=part, x=x, y=y, angle=turn, flipped=dice.random() < 0.5)
            if not judge.faults(there):
                judge.move(there)
                break
    tried = 0
    for placement in judge.marker.placements:
        angle = dice.uniform(0, 2 * math.pi)
        way = (math.cos(angle), math.sin(angle))
        there = slide(judge.marker, placement, way)
        if there == placement:
            continue
        assert judge.faults(there) == ()
        beyond = replace(there, x=there.x + 0.05 * way[0], y=there.y + 0.05 * way[1])
        close = replace(there, x=there.x + 2.0 * way[0], y=there.y + 2.0 * way[1])
        assert judge.faults(beyond) or judge.faults(close)
        tried += 1
        judge.move(there)
    assert tried > 1


def test_a_part_slides_by_others_that_lie_in_a_row_just_the_spacing_away() -> None:
    tab = Piece(name="tab", cut=rectangle(50, 26))
    parts = tuple(Part(name=f"tab {i}", piece=tab) for i in range(3))
    lay = Lay(name="tabs", parts=parts, stock=Strip(width=100), spacing=6)
    row = (Placement(part=0, x=0, y=0), Placement(part=1, x=60, y=0))
    above = Placement(part=2, x=300, y=32)
    marker = Marker(lay=lay, placements=(*row, above))
    there = slide(marker, above, (-1, 0))
    assert there.x == pytest.approx(0.0, abs=1e-3)
    assert check(replace(marker, placements=(*row, there))) == ()
