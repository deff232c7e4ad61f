"""The last sheet is left in as large a piece as one cut gives, along or across."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Region, Sheet, Sheets, Turns
from nesting.marker.rest import taken
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle, polygon_path, rectangle
from nesting.search import solve
from nesting.search.result import Limits, Result
from nesting.search.solve import search

STRAP = Piece(name="strap", cut=rectangle(400, 30))
HOOK = Piece(name="hook", cut=polygon_path([(0, 0), (420, 0), (420, 20), (60, 25), (0, 60)]))
LIMITS = Limits(seconds=None, rounds=10)


def lay(count: int, *, piece: Piece = STRAP, sheet: Sheet | None = None, **part: object) -> Lay:
    parts = tuple(Part(name=f"p {i}", piece=piece, **part) for i in range(count))  # type: ignore[arg-type]
    board = sheet or Sheet(name="board", outline=rectangle(1000, 500))
    return Lay(name="straps", parts=parts, stock=Sheets(sheets=(board,)))


def found(lay: Lay) -> Result:
    result = search(lay, limits=LIMITS, workers=1)
    assert not result.unplaced
    assert not check(result.marker)
    return result


def test_straps_that_may_not_turn_lie_end_to_end_where_that_leaves_more() -> None:
    # Five straps of 400 × 30: one upon another 400 × 500 are taken, two in a row 1,000 × 90.
    assert taken(found(lay(5)).marker) == pytest.approx(1000 * 90, rel=1e-6)


def test_what_is_laid_across_is_turned_back_with_flips_regions_and_flaws() -> None:
    butt = Region(name="butt", outlines=(rectangle(980, 300),), turns=Turns(angles=(0.0,)))
    board = Sheet(
        name="board",
        outline=rectangle(1000, 500),
        holes=(circle(40, centre=(200, 120)).reversed(),),
        regions=(butt,),
    )
    hooks = lay(6, piece=HOOK, sheet=board, region="butt", flip=True)
    along = search(hooks, limits=replace(LIMITS, rounds=0), workers=1)
    across = found(hooks)
    assert taken(across.marker) < 0.9 * taken(along.marker)


def test_a_marker_that_is_gone_on_from_never_leaves_less() -> None:
    first = found(lay(5)).marker
    again = search(lay(5), limits=replace(LIMITS, rounds=1), workers=1, start=first)
    assert taken(again.marker) <= taken(first) * (1 + 1e-9)


def test_a_sheet_that_leaves_nothing_either_way_is_not_laid_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    runs: list[Lay] = []
    before = solve.leaving

    def counted(result: Result, run: object, limits: Limits) -> Result:
        def noted(lay: Lay, limits: Limits) -> Result:
            runs.append(lay)
            return run(lay, limits)  # type: ignore[operator,no-any-return]

        return before(result, noted, limits)

    monkeypatch.setattr(solve, "leaving", counted)
    found(lay(32))
    assert not runs
    found(lay(5))
    assert len(runs) == 1
