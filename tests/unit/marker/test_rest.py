"""What a marker takes of its last sheet."""

from __future__ import annotations

import pytest

from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip
from nesting.marker.marker import Marker, Placement
from nesting.marker.rest import taken
from nesting.pattern.path import Affine
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle

TAB = Piece(name="tab", cut=rectangle(100, 20))
SHEET = Sheet(name="board", outline=rectangle(300, 200))


def marker(*at: tuple[float, float, int], sheet: Sheet = SHEET) -> Marker:
    parts = tuple(Part(name=f"tab {i}", piece=TAB) for i in range(len(at)))
    lay = Lay(name="tabs", parts=parts, stock=Sheets(sheets=(sheet,)))
    placed = tuple(Placement(part=i, x=x, y=y, sheet=n) for i, (x, y, n) in enumerate(at))
    return Marker(lay=lay, placements=placed, sheets=(0,) * (1 + max(n for *_, n in at)))


@pytest.mark.parametrize(
    ("x", "y", "area"),
    [
        (0, 0, 300 * 20),  # kept: what is above, 300 × 180; beyond is 200 × 200 only
        (0, 100, 100 * 200),  # beyond, 200 × 200
        (200, 100, 100 * 200),  # before, 200 × 200
        (100, 180, 300 * 20),  # below, 300 × 180
    ],
)
def test_the_largest_piece_beyond_one_cut_is_kept(x: float, y: float, area: float) -> None:
    assert taken(marker((x, y, 0))) == pytest.approx(area)


def test_only_the_last_sheet_counts_and_a_flaw_is_not_kept() -> None:
    assert taken(marker((150, 90, 0), (0, 0, 1))) == pytest.approx(300 * 20)
    # Above 300 × 180 less the flaw of 150 × 150 is left, beyond 200 × 200 less a third of it.
    flaw = rectangle(150, 150).reversed().transformed(Affine.move(0, 40))
    flawed = Sheet(name="board", outline=rectangle(300, 200), holes=(flaw,))
    net, kept = 300 * 200 - 150 * 150, 200 * 200 - 50 * 150
    assert taken(marker((0, 0, 0), sheet=flawed)) == pytest.approx(net - kept)


def test_on_cloth_it_is_the_length() -> None:
    lay = Lay(name="tab", parts=(Part(name="tab", piece=TAB),), stock=Strip(width=400))
    assert taken(Marker(lay=lay, placements=(Placement(part=0, x=50, y=0),))) == 150.0
    assert taken(Marker(lay=lay, placements=())) == 0.0
