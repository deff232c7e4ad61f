"""Parts that are held: what the judge says of them, and which holds are refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.errors import JobError
from nesting.marker.check import check
from nesting.marker.holding import hold, refuse_holds, release
from nesting.marker.lay import Held, Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.planning.plan import Plan

TAB = Piece(name="tab", cut=rectangle(40.0, 20.0))


def lay_of(*held: Held | None, sheets: bool = False) -> Lay:
    parts = tuple(
        Part(name=f"tab {i}", piece=TAB, turns=Turns(angles=(0.0, 90.0)), flip=True, held=h)
        for i, h in enumerate(held)
    )
    board = Sheet(name="board", outline=rectangle(200.0, 100.0), count=2)
    stock = Sheets(sheets=(board,)) if sheets else Strip(width=100.0)
    return Lay(name="tabs", parts=parts, stock=stock)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"x": 50.0 + 2e-6}, "tab 0 lies 2.0e-06 mm from where it is held"),
        ({"x": 53.0, "y": 34.0}, "tab 0 lies 5.000 mm from where it is held"),
        ({"angle": 90.0}, "tab 0 is turned by 90° from how it is held"),
        ({"flipped": True}, "tab 0 lies the other side up than it is held"),
    ],
)
def test_a_part_that_lies_elsewhere_than_it_is_held_is_a_fault(
    change: dict[str, float], said: str
) -> None:
    lay = lay_of(Held(x=50.0, y=30.0))
    here = Placement(part=0, x=50.0, y=30.0)
    assert check(Marker(lay=lay, placements=(here,))) == ()
    (finding,) = check(Marker(lay=lay, placements=(replace(here, **change),)))  # type: ignore[arg-type]
    assert (finding.kind, finding.text) == ("held", said)


def test_parts_held_on_different_sheets_of_a_kind_lie_on_different_sheets() -> None:
    lay = lay_of(Held(x=0.0, y=0.0), Held(x=50.0, y=0.0, number=1), sheets=True)
    first, second = Placement(part=0, x=0.0, y=0.0), Placement(part=1, x=50.0, y=0.0)
    apart = Marker(lay=lay, placements=(first, replace(second, sheet=1)), sheets=(0, 0))
    assert check(apart) == ()
    (finding,) = check(replace(apart, placements=(first, second), sheets=(0,)))
    assert finding.text == "tab 1 lies on another sheet than the one it is held on"
    together = lay_of(Held(x=0.0, y=0.0), Held(x=50.0, y=0.0), sheets=True)
    (finding,) = check(replace(apart, lay=together))
    assert finding.parts == ("tab 1",)


def test_what_lies_is_held_and_let_go(hand_laid_plan: Plan) -> None:
    marker = hand_laid_plan.entries[2].marker
    cloth = hand_laid_plan.entries[0].marker
    kept = hold(marker)
    assert all(part.held is not None for part in kept.lay.parts)
    assert {part.held.number for part in kept.lay.parts if part.held} == {0, 1}
    assert check(kept) == ()
    refuse_holds(kept.lay)
    assert release(kept) == marker
    some = hold(cloth, ["Flap 1", "Base 1"])
    assert [p.name for p in some.lay.parts if p.held] == ["Flap 1", "Base 1"]
    assert [p.name for p in release(some, ["Base 1"]).lay.parts if p.held] == ["Flap 1"]
    with pytest.raises(JobError, match=r'no part "Flop" lies on it \(there are: Base 1, '):
        hold(cloth, ["Flop"])


@pytest.mark.parametrize(
    ("lay", "said"),
    [
        (
            lay_of(Held(x=0.0, y=0.0), Held(x=30.0, y=10.0)),
            r"of what is held, tab 0 and tab 1 overlap by 10.\d+ mm",
        ),
        (lay_of(Held(x=0.0, y=90.0)), "tab 0 reaches 10.000 mm beyond the high edge of the cloth"),
        (lay_of(Held(x=20.0, y=0.0, angle=45.0)), "tab 0 is turned by 45°; allowed is 0°, 90°"),
        (lay_of(Held(x=float("nan"), y=0.0)), "tab 0 lies nowhere"),
        (lay_of(Held(x=0.0, y=0.0, sheet=1)), "held on a sheet, and the lay is on cloth"),
        (
            lay_of(Held(x=0.0, y=0.0, sheet=1), sheets=True),
            "held on sheet 1, which the stock doesn't have",
        ),
        (
            lay_of(Held(x=0.0, y=0.0, number=2), sheets=True),
            "tab 0 is held on board number 3, there are 2",
        ),
        (lay_of(Held(x=0.0, y=0.0), None), None),
    ],
)
def test_holds_that_break_a_rule_are_refused_in_one_line(lay: Lay, said: str | None) -> None:
    if said is None:
        refuse_holds(lay)
        return
    with pytest.raises(JobError, match=said) as refused:
        refuse_holds(lay)
    assert "\n" not in str(refused.value)
