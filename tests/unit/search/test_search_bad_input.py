"""Lays that can't be met are answered, not refused."""

import time

import pytest

from nesting.marker.lay import Binding, Lattice, Lay, Part, Sheet, Sheets, Strip
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.search.result import Limits, Stopped
from nesting.search.solve import search
from nesting.search.warm import warm

WEDGE = Path.polyline([(0, 0), (50, 0), (0, 30)], closed=True)


@pytest.fixture(scope="module", autouse=True)
def _compiled():
    warm()


def wedges(n, **rules):
    piece = Piece(name="wedge", cut=WEDGE)
    return tuple(Part(name=f"w{i}", piece=piece, **rules) for i in range(n))


def box_path(w, h):
    return Path.polyline([(0, 0), (w, 0), (w, h), (0, h)], closed=True)


def answered(parts, stock, *, seconds=1.0, **rules):
    lay = Lay(name="odd", parts=parts, stock=stock)
    return search(lay, limits=Limits(seconds=seconds, **rules), workers=1)


def test_no_parts():
    result = answered((), Strip(width=100.0))
    assert result.stopped is Stopped.OPTIMAL
    assert result.marker.placements == ()


def test_too_wide_for_the_strip():
    wide = Piece(name="wide", cut=Path.polyline([(0, 0), (10, 0), (5, 200)], closed=True))
    parts = (*wedges(2), Part(name="wide", piece=wide))
    result = answered(parts, Strip(width=100.0))
    assert [(u.part, "strip" in u.why) for u in result.unplaced] == [(2, True)]
    assert result.stopped is Stopped.INFEASIBLE
    assert len(result.marker.placements) == 2


def test_nothing_fits():
    result = answered(wedges(3), Strip(width=5.0))
    assert len(result.unplaced) == 3
    assert result.marker.placements == ()


def test_zero_time_still_gives_a_marker():
    result = answered(wedges(5), Strip(width=100.0), seconds=0.0)
    assert len(result.marker.placements) + len(result.unplaced) == 5
    assert len(result.marker.placements) == 5
    assert result.stopped is Stopped.TIME


def test_no_rounds():
    result = answered(wedges(5), Strip(width=100.0), seconds=None, rounds=0)
    assert len(result.marker.placements) == 5
    assert result.stopped is Stopped.ROUNDS


def test_too_few_sheets():
    sheet = Sheet(name="board", outline=box_path(60.0, 40.0), count=1)
    result = answered(wedges(6), Sheets(sheets=(sheet,)), seconds=3.0)
    assert 1 <= len(result.marker.placements) <= 3
    assert len(result.unplaced) == 6 - len(result.marker.placements)
    assert all("room" in u.why for u in result.unplaced)


def test_limited_strip():
    result = answered(wedges(8), Strip(width=40.0, longest=120.0), seconds=3.0)
    assert result.unplaced
    assert len(result.marker.placements) >= 2


def test_unknown_region():
    sheet = Sheet(name="board", outline=box_path(100.0, 100.0))
    result = answered(wedges(1, region="best"), Sheets(sheets=(sheet,)))
    assert "best" in result.unplaced[0].why


def test_margin_that_leaves_nothing():
    sheet = Sheet(name="board", outline=box_path(100.0, 100.0), count=1)
    result = answered(wedges(1), Sheets(sheets=(sheet,), margin=60.0))
    assert len(result.unplaced) == 1


def test_lattice_out_of_reach():
    grid = Lattice(across=1000.0, origin=(0.0, 500.0))
    parts = wedges(1, binding=Binding(anchor=(0.0, 0.0), lattice=grid))
    result = answered(parts, Strip(width=100.0))
    assert len(result.unplaced) == 1


def test_degenerate_piece_is_no_exception():
    flat = Piece(name="flat", cut=Path.polyline([(0, 0), (50, 0), (25, 0)], closed=True))
    result = answered((Part(name="flat", piece=flat), *wedges(2)), Strip(width=100.0))
    assert len(result.marker.placements) + len(result.unplaced) == 3


def test_stop_ends_at_once():
    lay = Lay(name="odd", parts=wedges(10), stock=Strip(width=100.0))
    begin = time.monotonic()
    result = search(
        lay, limits=Limits(seconds=None), workers=1, stop=lambda: time.monotonic() > begin + 0.3
    )
    assert result.stopped is Stopped.INTERRUPTED
    assert len(result.marker.placements) == 10


def test_target_and_patience():
    result = answered(wedges(4), Strip(width=100.0), seconds=None, length=1e6)
    assert result.stopped is Stopped.TARGET
    # a number of sheets is no length, and ends no search on cloth
    result = answered(wedges(4), Strip(width=100.0), seconds=None, rounds=1, sheets=10**6)
    assert result.stopped is not Stopped.TARGET
    result = answered(wedges(4), Strip(width=100.0), seconds=None, patience=2)
    assert result.stopped in (Stopped.STALLED, Stopped.OPTIMAL)


def test_observer_and_history():
    seen = []
    lay = Lay(name="seen", parts=wedges(9), stock=Strip(width=80.0))
    result = search(lay, limits=Limits(seconds=None, rounds=2), workers=1, observer=seen.append)
    assert {p.lay for p in seen} == {"seen"}
    assert [p.length for p in seen] == sorted((p.length for p in seen), reverse=True)
    assert seen[-1].length == result.history[-1][1]
    assert 0.0 < seen[-1].density <= 1.0
