"""The rest laid round what is held: cloth, sheets, hides with zones and costs, boxes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.errors import JobError
from nesting.marker.bound import lower_bound
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.holding import hold
from nesting.marker.lay import Held, Lay, Part, Region, Sheet, Sheets, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle, rectangle
from nesting.search.result import Limits, Result, Stopped
from nesting.search.solve import search

PANEL = Piece(name="panel", cut=rectangle(60.0, 40.0))
TAB = Piece(name="tab", cut=Path.polyline([(0, 0), (30, 0), (15, 26)], closed=True))
FEW = Limits(seconds=None, rounds=2)


def laid(lay: Lay, **more: object) -> Result:
    result = search(lay, limits=FEW, workers=1, **more)  # type: ignore[arg-type]
    assert result.unplaced == ()
    assert check(result.marker) == ()
    return result


def sheet_of(result: Result, part: int) -> int:
    (at,) = (p for p in result.marker.placements if p.part == part)
    return result.marker.sheets[at.sheet]


def test_a_part_held_far_out_keeps_the_marker_as_long_and_no_longer() -> None:
    far = Part(name="far", piece=TAB, held=Held(x=500.0, y=20.0))
    tabs = tuple(Part(name=f"tab {i}", piece=TAB) for i in range(6))
    lay = Lay(name="tabs", parts=(far, *tabs), stock=Strip(width=80.0))
    result = laid(lay)
    assert figures(result.marker).length == pytest.approx(530.0)
    assert result.stopped is Stopped.OPTIMAL
    assert lower_bound(lay).value == pytest.approx(530.0)


def test_parts_that_find_no_room_before_what_is_held_lie_behind_it() -> None:
    """What is held leaves 50 mm before it, then 10 mm: each panel needs 60."""
    wall = Piece(name="wall", cut=rectangle(5.0, 40.0))
    at = (50.0, 65.0, 80.0, 95.0)
    walls = tuple(Part(name=f"wall {x:g}", piece=wall, held=Held(x=x, y=0.0)) for x in at)
    panels = tuple(Part(name=f"panel {i}", piece=PANEL) for i in range(3))
    result = laid(Lay(name="walls", parts=(*walls, *panels), stock=Strip(width=45.0)))
    assert figures(result.marker).length == pytest.approx(280.0)


def test_all_held_is_the_answer_at_once() -> None:
    parts = (
        Part(name="one", piece=TAB, held=Held(x=3.0, y=4.0)),
        Part(name="two", piece=TAB, held=Held(x=60.0, y=4.0, angle=90.0), turns=Turns(slack=180.0)),
    )
    result = laid(Lay(name="both", parts=parts, stock=Strip(width=80.0)))
    assert result.stopped is Stopped.OPTIMAL
    assert figures(result.marker).length == pytest.approx(60.0)
    board = Sheet(name="board", outline=rectangle(100.0, 80.0))
    laid(Lay(name="sheet", parts=parts, stock=Sheets(sheets=(board,))))


def test_a_hide_that_something_is_held_on_is_opened_and_costs_nothing_more() -> None:
    """The dear hide is taken as something is held on it: all else goes there, too."""
    hides = tuple(
        Sheet(name=name, outline=rectangle(300.0, 200.0), count=1, cost=cost, origin=n)
        for n, (name, cost) in enumerate((("cheap", 1.0), ("dear", 9.0)))
    )
    panels = [Part(name=f"panel {i}", piece=PANEL) for i in range(4)]
    free = laid(Lay(name="hides", parts=tuple(panels), stock=Sheets(sheets=hides)))
    assert set(free.marker.sheets) == {0}
    panels[2] = replace(panels[2], held=Held(x=10.0, y=10.0, sheet=1))
    result = laid(Lay(name="hides", parts=tuple(panels), stock=Sheets(sheets=hides)))
    assert set(result.marker.sheets) == {1}


def test_mates_of_what_is_held_in_one_of_two_zones_of_a_name_find_room_there() -> None:
    """Two zones of one name, the smaller one is where a mate is held."""
    zones = tuple(
        Region(name="firm", outlines=(rectangle(wide, 100.0, at=(at, 0.0)),))
        for at, wide in ((0.0, 250.0), (260.0, 140.0))
    )
    hide = Sheet(name="hide", outline=rectangle(400.0, 100.0), count=1, regions=zones)
    one = Part(name="one", piece=PANEL, region="firm", mates="pair")
    held = replace(one, held=Held(x=330.0, y=50.0))
    two = replace(one, name="two")
    parts = (held, two, *(replace(one, name=f"other {i}", mates=None) for i in range(5)))
    laid(Lay(name="zones", parts=parts, stock=Sheets(sheets=(hide,))))


def test_the_second_of_two_like_sheets_is_held_on_and_the_first_is_filled() -> None:
    board = Sheet(name="board", outline=rectangle(130.0, 90.0), count=2)
    parts = tuple(
        Part(name=f"panel {i}", piece=PANEL, held=Held(x=0.0, y=0.0, number=i) if i < 2 else None)
        for i in range(8)
    )
    result = laid(Lay(name="boards", parts=parts, stock=Sheets(sheets=(board,))))
    first, second = (p.sheet for p in result.marker.placements if p.part < 2)
    assert first != second
    assert result.bound.value == 2.0


def test_boxes_go_on_from_a_marker_that_is_shorter_than_what_is_found_at_once() -> None:
    sizes = ((50, 60), (50, 40), (30, 50), (30, 50), (20, 100))
    at = ((0, 0), (0, 60), (50, 0), (50, 50), (80, 0))
    parts = tuple(
        Part(name=f"{w}x{h} {i}", piece=Piece(name=f"{i}", cut=rectangle(float(w), float(h))))
        for i, (w, h) in enumerate(sizes)
    )
    lay = Lay(name="boxes", parts=parts, stock=Strip(width=100.0))
    whole = tuple(Placement(part=i, x=float(x), y=float(y)) for i, (x, y) in enumerate(at))
    start = Marker(lay=lay, placements=whole)
    assert check(start) == ()
    result = search(lay, limits=Limits(seconds=None, rounds=0), workers=1, start=start)
    assert figures(result.marker).length == pytest.approx(100.0)
    assert result.history[-1][1] == pytest.approx(100.0)
    held = hold(start, [parts[4].name])
    assert figures(laid(held.lay, start=held).marker).length == pytest.approx(100.0)


def test_a_start_with_overlaps_is_parted_and_one_of_some_parts_is_filled_up() -> None:
    piece = Piece(name="disc", cut=circle(40.0))
    parts = tuple(Part(name=f"disc {i}", piece=piece) for i in range(6))
    lay = Lay(name="discs", parts=parts, stock=Strip(width=90.0), spacing=2.0)
    heap = tuple(Placement(part=i, x=30.0 + 3.0 * i, y=40.0) for i in range(4))
    laid(lay, start=Marker(lay=lay, placements=heap))


def test_what_is_held_against_a_rule_is_refused_before_the_search() -> None:
    part = Part(name="panel", piece=PANEL, held=Held(x=0.0, y=50.0))
    with pytest.raises(JobError, match=r"panel reaches 10\.000 mm beyond the high edge"):
        search(Lay(name="cloth", parts=(part,), stock=Strip(width=80.0)), limits=FEW)
