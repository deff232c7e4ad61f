"""Markers pushed together: shorter with neighbours as they are, what is held stays."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.holding import hold
from nesting.marker.lay import Lay, Part, Region, Sheet, Sheets, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle, rectangle
from nesting.search.squeezing.push import push_together

TAB = Piece(name="tab", cut=Path.polyline([(0, 0), (60, 0), (50, 30), (10, 30)], closed=True))
DISC = Piece(name="disc", cut=circle(40.0, centre=(20.0, 20.0)))


def loose(*, spacing: float = 2.0) -> Marker:
    """Return six tabs in two rows with wide gaps, every other one turned."""
    parts = tuple(
        Part(name=f"tab {i}", piece=TAB, turns=Turns(angles=(0.0, 180.0))) for i in range(6)
    )
    at = [(75.0 * (i % 3) + 5.0, 32.0 * (i // 3)) for i in range(6)]
    placements = tuple(
        Placement(part=i, x=x + 60.0 * (i % 2), y=y + 30.0 * (i % 2), angle=180.0 * (i % 2))
        for i, (x, y) in enumerate(at)
    )
    lay = Lay(name="tabs", parts=parts, stock=Strip(width=62.0), spacing=spacing)
    return Marker(lay=lay, placements=placements)


def test_each_row_closes_up_in_its_order() -> None:
    before = loose()
    after = push_together(before)
    assert check(before) == check(after) == ()
    # Tabs slope by 10 mm over 30: next to one turned over each takes 50 mm and the spacing
    # along the slope, 2 · √(1 + 1/9) mm.
    assert figures(after).length == pytest.approx(160.0 + 2.0 * 2.0 * (10.0 / 9.0) ** 0.5, abs=0.01)
    assert [p.angle for p in after.placements] == [p.angle for p in before.placements]
    for row in ((0, 1, 2), (3, 4, 5)):
        xs = [after.placements[i].x - 60.0 * (i % 2) for i in row]
        assert xs == sorted(xs)
    assert push_together(after) == after


def test_what_is_held_stays_and_the_others_close_up_to_it() -> None:
    kept = hold(loose(), ["tab 1"])
    after = push_together(kept)
    assert check(after) == ()
    assert after.placements[1] == kept.placements[1]
    assert figures(after).length < figures(kept).length
    assert push_together(hold(loose())) == hold(loose())


def test_a_small_overlap_is_mended_and_a_heap_is_left_as_it_is() -> None:
    close = push_together(loose())
    places = list(close.placements)
    places[2] = replace(places[2], x=places[2].x - 1.5)
    bad = replace(close, placements=tuple(places))
    assert check(bad) != ()
    mended = push_together(bad)
    assert check(mended) == ()
    heap = replace(bad, placements=tuple(replace(p, x=100.0, y=31.0) for p in places))
    assert push_together(heap) == heap


def test_on_sheets_the_last_one_gets_shorter() -> None:
    board = Sheet(
        name="board",
        outline=rectangle(400.0, 60.0),
        regions=(Region(name="good", outlines=(rectangle(380.0, 60.0),)),),
    )
    parts = tuple(
        Part(name=f"disc {i}", piece=DISC, region="good", turns=Turns(slack=180.0))
        for i in range(5)
    )
    placements = tuple(
        Placement(part=i, x=70.0 * (i % 3), y=10.0, angle=0.0, sheet=i // 3) for i in range(5)
    )
    lay = Lay(name="discs", parts=parts, stock=Sheets(sheets=(board,)), spacing=3.0)
    before = Marker(lay=lay, placements=placements, sheets=(0, 0))
    after = push_together(before)
    assert check(after) == ()
    assert figures(after).last_length < figures(before).last_length - 20.0
    assert after.sheets == before.sheets
    assert [p.sheet for p in after.placements] == [p.sheet for p in placements]
