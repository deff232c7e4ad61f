"""A marker changed by hand: judged at each step, undone, and reckoned up anew."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.errors import JobError
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.marker import Marker
from nesting.pattern.polygon import piece_polygon
from nesting.planning.better import better_of
from nesting.planning.buying.one_step_less import one_step_less
from nesting.planning.by_hand import BY_HAND, ByHand, Change, refusal, with_marker
from nesting.planning.in_hand import fresh_sheets
from nesting.planning.plan import Plan
from nesting.planning.summary import judge_plan


def middle(marker: Marker, part: int) -> tuple[float, float]:
    placement = next(p for p in marker.placements if p.part == part)
    x0, y0, x1, y1 = piece_polygon(marker.lay.parts[part].piece, by=placement.affine).bounds
    return (x0 + x1) / 2, (y0 + y1) / 2


def test_what_is_tried_changes_nothing_and_what_is_done_is_judged(
    hand_laid_marker: Marker,
) -> None:
    hand = ByHand(hand_laid_marker)
    away = Change(along=-25.0)
    found = hand.tried(0, away)
    assert next((one.kind, one.amount) for one in found) == ("outside", pytest.approx(25.0))
    assert hand.marker == hand_laid_marker
    assert hand.change(0, away) == found
    assert check(hand.marker) == tuple(f for f in check(hand.marker) if f in found)
    assert hand.placement(0).x == hand_laid_marker.placements[0].x - 25.0


def test_steps_are_undone_to_the_first_and_done_again_to_the_last(hand_laid_marker: Marker) -> None:
    hand = ByHand(hand_laid_marker)
    made = [hand.marker]
    for change in (Change(along=3), Change(turn=180), Change(flip=True), Change(across=-2)):
        hand.change(1, change)
        made.append(hand.marker)
    hand.take(hand_laid_marker)
    made.append(hand.marker)
    assert hand.steps == (5, 0)
    for marker in reversed(made[:-1]):
        assert hand.undo()
        assert hand.marker == marker
    assert not hand.undo()
    for marker in made[1:]:
        assert hand.redo()
        assert hand.marker == marker
    assert not hand.redo()
    hand.undo()
    hand.change(2, Change(along=1))
    assert hand.steps == (5, 0), "what was undone is gone once another step is taken"
    hand.change(2, Change())
    assert hand.steps == (5, 0), "nothing is no step"


@pytest.mark.parametrize("change", [Change(turn=37.0), Change(flip=True), Change(turn=180.0)])
def test_a_part_turns_and_is_laid_on_its_face_about_its_middle(
    hand_laid_marker: Marker, change: Change
) -> None:
    hand = ByHand(hand_laid_marker)
    before = middle(hand.marker, 3)
    hand.change(3, change)
    assert middle(hand.marker, 3) == pytest.approx(before, abs=1e-6)
    hand.change(3, replace(change, turn=-change.turn))
    assert hand.marker.placements[3].x == pytest.approx(hand_laid_marker.placements[3].x)
    assert hand.marker.placements[3].flipped == hand_laid_marker.placements[3].flipped


def test_the_next_turn_is_one_that_is_allowed_or_is_said_to_be_none(hand_laid_plan: Plan) -> None:
    canvas, printed, foam, _ = (ByHand(entry.marker) for entry in hand_laid_plan.entries)
    assert canvas.next_turn(0) == 180.0
    assert not [f for f in canvas.change(0, Change(turn=180.0)) if f.kind == "turn"]
    assert foam.next_turn(0) == 90.0  # any turn will do
    assert printed.next_turn(0) == 180.0  # none is allowed, and the judge says so
    assert [f.kind for f in printed.tried(0, Change(turn=180.0))] == ["turn"]


def test_a_part_slides_until_it_touches(hand_laid_marker: Marker) -> None:
    hand = ByHand(hand_laid_marker)
    hand.change(14, Change(along=300.0))
    assert hand.slide(14, (-1.0, 0.0)) == ()
    assert hand.placement(14).x < hand_laid_marker.placements[14].x + 299.0
    assert {f.kind for f in hand.tried(14, Change(along=-1.0))} == {"gap"}
    assert hand.steps == (2, 0)
    with pytest.raises(JobError, match="does not lie"):
        hand.change(99, Change())


def test_a_marker_by_hand_is_judged_and_reckoned_up_in_its_plan(hand_laid_plan: Plan) -> None:
    plan = judge_plan(hand_laid_plan)
    hand = ByHand(plan.entries[0].marker)
    far = len(hand.marker.placements) - 1
    hand.change(far, Change(along=900.0))
    made = with_marker(plan, 0, hand.marker)
    entry, before = made.entries[0], plan.entries[0]
    length = figures(hand.marker).length
    assert entry.search.stopped == BY_HAND
    assert entry.good
    assert entry.buying.needed.value == pytest.approx(length + 2 * entry.material.ends)
    assert entry.buying.to_buy - entry.buying.gross < entry.buying.step
    assert before.buying.to_buy < entry.buying.to_buy
    assert made.entries[1:] == plan.entries[1:]
    hand.change(far, Change(across=-4000.0))
    assert not with_marker(plan, 0, hand.marker).entries[0].good
    assert with_marker(made, 0, before.marker).entries[0].buying == before.buying


def test_spreads_that_are_planned_together_are_not_changed_one_by_one(hand_laid_plan: Plan) -> None:
    entry = replace(hand_laid_plan.entries[0], spreads=(3, 2))
    plan = replace(hand_laid_plan, entries=(entry, *hand_laid_plan.entries[1:]))
    assert "spreads" in refusal(plan, 0)
    assert refusal(plan, 1) == ""
    with pytest.raises(JobError, match="spreads"):
        with_marker(plan, 0, entry.marker)


def test_of_two_plans_the_better_markers_are_taken(hand_laid_plan: Plan) -> None:
    plan = judge_plan(hand_laid_plan)
    hand = ByHand(plan.entries[0].marker)
    hand.change(len(hand.marker.placements) - 1, Change(along=900.0))
    longer = with_marker(plan, 0, hand.marker)
    assert better_of(plan, longer).entries == plan.entries
    assert better_of(longer, plan).entries == plan.entries
    only = replace(plan, entries=plan.entries[:1])
    assert better_of(longer, only).entries == plan.entries
    hand.change(0, Change(along=-50.0))  # shorter is not better with a fault
    assert better_of(with_marker(plan, 0, hand.marker), longer).entries == longer.entries


def test_one_step_less_is_what_the_shop_would_cut_of_a_marker_that_much_shorter(
    hand_laid_plan: Plan,
) -> None:
    plan = judge_plan(hand_laid_plan)
    entry = plan.entries[0]
    found = one_step_less(entry)
    assert found is not None
    buy, shorter = found
    assert buy == (entry.buying.to_buy - entry.buying.step).value
    # A marker so much shorter, with its ends, is what one step less holds.
    assert entry.figures.length - shorter + 2 * entry.material.ends == pytest.approx(buy)
    assert one_step_less(plan.entries[2]) is None  # sheets


def test_what_is_held_is_held_where_it_is_moved_to_and_all_else_is_pushed(
    hand_laid_marker: Marker,
) -> None:
    hand = ByHand(hand_laid_marker)
    hand.hold(0)
    assert [p.name for p in hand.marker.lay.parts if p.held] == [hand.marker.lay.parts[0].name]
    hand.change(0, Change(along=30.0))
    assert hand.marker.lay.parts[0].held is not None
    assert hand.marker.lay.parts[0].held.x == hand.placement(0).x
    assert not [f for f in hand.tried(0, Change()) if f.kind == "held"]
    hand.hold()
    assert all(p.held for p in hand.marker.lay.parts)
    hand.release()
    assert not any(p.held for p in hand.marker.lay.parts)
    for _ in range(4):
        assert hand.undo()
    assert hand.marker == hand_laid_marker
    hand.change(14, Change(along=900.0))
    loose = figures(hand.marker).length
    hand.push()
    assert figures(hand.marker).length < loose
    assert check(hand.marker) == ()


def test_several_parts_go_and_turn_as_one_and_in_one_step(hand_laid_marker: Marker) -> None:
    hand = ByHand(hand_laid_marker)
    first, second = hand.placement(0), hand.placement(3)
    apart = (second.x - first.x, second.y - first.y)
    found = hand.tried_together([0, 3], Change(along=-25.0))
    assert hand.marker == hand_laid_marker
    assert {"outside"} == {f.kind for f in found if f.parts == ("front 1",)} or found
    assert hand.together([0, 3], Change(along=-25.0)) == found
    assert hand.steps == (1, 0)
    one, other = hand.placement(0), hand.placement(3)
    assert (one.x, one.y) == (first.x - 25.0, first.y)
    assert (other.x - one.x, other.y - one.y) == pytest.approx(apart)
    moved = hand.marker
    hand.together([0, 3], Change(turn=180.0))
    one, other = hand.placement(0), hand.placement(3)
    assert (other.x - one.x, other.y - one.y) == pytest.approx((-apart[0], -apart[1]))
    hand.together([0, 3], Change(turn=180.0))
    for now, was in zip(hand.marker.placements, moved.placements, strict=True):
        assert (now.x, now.y, now.angle) == pytest.approx((was.x, was.y, was.angle), abs=1e-9)
    hand.together([0, 3], Change(flip=True))
    assert {p.part for p in hand.marker.placements if p.flipped} == {0, 3}
    with pytest.raises(JobError):
        hand.together([0, 99], Change(along=1.0))
    for _ in range(4):
        hand.undo()
    assert hand.marker == hand_laid_marker


def test_the_judge_says_of_several_parts_what_a_check_of_all_says(hand_laid_marker: Marker) -> None:
    """Between parts that went together nothing is new; with the others as `check` has it."""
    hand = ByHand(hand_laid_marker)
    found = hand.together([0, 1, 3], Change(along=7.0, across=4.0))
    names = {hand_laid_marker.lay.parts[part].name for part in (0, 1, 3)}
    whole = [f for f in check(hand.marker) if names & set(f.parts)]
    assert {(f.kind, f.parts) for f in found} == {(f.kind, f.parts) for f in whole}
    assert whole


def test_several_parts_are_held_and_stay_held_where_they_are_put(hand_laid_marker: Marker) -> None:
    hand = ByHand(hand_laid_marker)
    hand.hold(0, 3)
    held = [i for i, part in enumerate(hand.marker.lay.parts) if part.held is not None]
    assert held == [0, 3]
    hand.together([0, 1], Change(along=5.0))
    again = [i for i, part in enumerate(hand.marker.lay.parts) if part.held is not None]
    assert again == [0, 3]
    assert not [f for f in check(hand.marker) if f.kind == "held"]
    hand.release(3)
    assert [part.held is not None for part in hand.marker.lay.parts].count(True) == 1


def test_parts_go_to_another_sheet_and_an_empty_one_is_not_used(hand_laid_plan: Plan) -> None:
    entry = next(e for e in hand_laid_plan.entries if e.material.name == "Foam")
    hand = ByHand(entry.marker)
    on = {p.part: p.sheet for p in entry.marker.placements}
    assert entry.marker.grounds == 2
    last = [part for part, sheet in on.items() if sheet == 1]
    found = hand.to_sheet(last, sheet=0)
    assert hand.marker.grounds == 1
    assert {p.sheet for p in hand.marker.placements} == {0}
    assert {f.kind for f in found} == {f.kind for f in check(hand.marker) if f.parts}
    fresh = fresh_sheets(hand.marker)
    hand.to_sheet(last, kind=fresh[0])
    assert hand.marker.grounds == 2
    assert [f for f in check(hand.marker) if f.severity == "fault"] == []
    with pytest.raises(JobError, match="no such sheet"):
        hand.to_sheet(last, sheet=7)
    with pytest.raises(JobError, match="not on sheets"):
        ByHand(hand_laid_plan.entries[0].marker).to_sheet([0], sheet=0)


def test_no_more_sheets_are_taken_than_there_are(hand_laid_plan: Plan) -> None:
    entry = next(e for e in hand_laid_plan.entries if e.material.name == "Foam")
    stock = entry.marker.lay.stock
    (kind,) = set(entry.marker.sheets)
    few = [replace(sheet, count=2) for sheet in stock.sheets]
    lay = replace(entry.marker.lay, stock=replace(stock, sheets=tuple(few)))  # type: ignore[type-var]
    marker = replace(entry.marker, lay=lay)
    assert kind not in fresh_sheets(marker)
    with pytest.raises(JobError, match="no more"):
        ByHand(marker).to_sheet([0], kind=kind)


@pytest.mark.parametrize("material", ["Waxed canvas", "Foam"])
def test_a_part_that_is_not_laid_is_laid_by_hand(hand_laid_plan: Plan, material: str) -> None:
    number, entry = next(
        (n, e) for n, e in enumerate(hand_laid_plan.entries) if e.material.name == material
    )
    whole = entry.marker
    part = whole.placements[-1].part
    name = whole.lay.parts[part].name
    less = replace(whole, placements=whole.placements[:-1])
    plan = with_marker(hand_laid_plan, number, less)
    assert [n for n, _ in plan.entries[number].unplaced] == [name]
    hand = ByHand(less)
    hand.lay(part)
    assert {p.part for p in hand.marker.placements} == {p.part for p in whole.placements}
    if whole.lay.stock.open_ended:
        assert [f for f in check(hand.marker) if f.severity == "fault"] == []
    now = with_marker(plan, number, hand.marker)
    assert now.entries[number].unplaced == ()
    with pytest.raises(JobError, match="not waiting"):
        hand.lay(part)
    hand.undo()
    again = with_marker(now, number, hand.marker)
    assert [n for n, _ in again.entries[number].unplaced] == [name], "undone, it is said again"
