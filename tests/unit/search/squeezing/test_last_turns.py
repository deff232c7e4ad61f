"""The last squeeze with small turns, where several boards are alike."""

from __future__ import annotations

from dataclasses import replace

from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.result import Limits
from nesting.search.solve import search


def _hole(x: float, y: float, size: float) -> Path:
    return Path.polyline([(x, y), (x, y + size), (x + size, y + size), (x + size, y)], closed=True)


def test_parts_that_turn_stay_off_the_flaws_of_the_last_of_several_alike_sheets() -> None:
    sheet = Sheet(
        name="board",
        outline=rectangle(220.0, 120.0),
        holes=(_hole(60.0, 40.0, 40.0), _hole(150.0, 70.0, 20.0)),
    )
    wedge = Piece(
        name="wedge", cut=Path.polyline([(0, 0), (62, 0), (50, 30), (5, 34)], closed=True)
    )
    part = Part(name="wedge", piece=wedge, turns=Turns(slack=180.0))
    parts = tuple(replace(part, name=f"wedge {n}") for n in range(12))
    lay = Lay(name="board", parts=parts, stock=Sheets(sheets=(sheet,)), spacing=1.0)
    for seed in (1, 2, 3):
        result = search(lay, limits=Limits(rounds=1), seed=seed, workers=1)
        assert not result.unplaced
        assert len(result.marker.sheets) > 1
        assert not check(result.marker)
