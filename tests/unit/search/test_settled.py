"""When a search has nothing better to find."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from nesting.marker.bound import meets
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.account import Account
from nesting.search.result import Limits, Stopped
from nesting.search.team import Team

TAB = Part(name="tab", piece=Piece(name="tab", cut=rectangle(100, 20)))
LAY = Lay(name="tab", parts=(TAB,), stock=Strip(width=20))
SHEETS = Lay(
    name="tab", parts=(TAB,), stock=Sheets(sheets=(Sheet(name="b", outline=rectangle(100, 20)),))
)


def why(lay: Lay, *, bound: float, reached: tuple[int, float]) -> Stopped | None:
    account = Account(lay, Limits(seconds=None), 1, 1, None, lambda: False)
    account.bound, account.reached = bound, reached
    own = SimpleNamespace(rounds=0, over=False)
    return Team(account)._why(own, quiet=100)  # type: ignore[arg-type]


@pytest.mark.parametrize("off", [0.0, 1.2e-7, 1e-5])
def test_a_solved_jigsaw_is_not_missed_by_rounding(off: float) -> None:
    # The judge passes overlaps of 1e-6 of a part's size: 2e-5 mm for one 20 mm wide.
    assert not meets(LAY, 100.00003, 100.0)
    assert why(LAY, bound=100.0, reached=(1, 100.0 + off)) is Stopped.OPTIMAL


def test_what_can_be_told_is_not_called_proved() -> None:
    assert why(LAY, bound=100.0, reached=(1, 100.001)) is None
    assert not meets(SHEETS, 2.0, 1.99999)
    assert why(SHEETS, bound=1.0, reached=(2, 5.0)) is None
    assert why(SHEETS, bound=2.0, reached=(2, 5.0)) is Stopped.OPTIMAL
