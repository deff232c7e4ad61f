"""Orders on sheets: what is laid once is cut many times, and every part is there once."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from nesting.errors import JobError
from nesting.job.file import parse_job
from nesting.marker.check import check
from nesting.marker.lay import Lay
from nesting.planning.lay.lays import lays
from nesting.planning.orders.effort import Effort
from nesting.planning.orders.order import make_order_plan
from nesting.planning.summary import order_lines
from nesting.search.result import Limits, Result
from nesting.search.solve import search
from nesting.search.starting.patterns import SheetPatterns

from .test_order import Here

JOB = """
[job]
name = "boards"
[[sheet]]
name = "board"
size = [600, 400]
spacing = 2
{sheet}
[[piece]]
name = "base"
rectangle = [290, 190]
[[piece]]
name = "stay"
rectangle = [190, 90]
corner_radius = 10
[[bag]]
name = "tote"
count = {count}
  [[bag.cut]]
  piece = "base"
  material = "board"
  copies = 2
  [[bag.cut]]
  piece = "stay"
  material = "board"
  copies = 3
"""


def lay_of(count: int, sheet: str = "") -> Lay:
    (lay,) = lays(parse_job(JOB.format(count=count, sheet=sheet)))
    return lay


def patterns_of(lay: Lay) -> SheetPatterns:
    return SheetPatterns(lay, Effort().solver)


def found(lay: Lay) -> Result:
    return search(lay, limits=Limits(seconds=None, rounds=1), workers=1)


def test_a_large_order_is_laid_in_portions_and_every_part_is_there_once() -> None:
    lay = lay_of(200)
    order = patterns_of(lay)
    portions = 0
    while (portion := order.portion()) is not None:
        assert len(portion.parts) < len(lay.parts) / 3
        order.note(found(portion))
        portions += 1
    rest = order.rest()
    result = order.whole(None if rest is None else found(rest))
    assert portions
    assert result.marker.lay is lay
    assert not check(result.marker)
    assert Counter(p.part for p in result.marker.placements) == Counter(range(len(lay.parts)))
    assert not result.unplaced
    # Four bases fill a sheet (2 × 290 + 2 by 2 × 190 + 2); 200 bags have 400 of them.
    assert result.bound.value <= len(result.marker.sheets) <= 1.25 * result.bound.value
    assert lay.parts[0].piece.name == "base"


def test_what_fits_on_few_sheets_is_laid_whole() -> None:
    lay = lay_of(6)
    order = patterns_of(lay)
    assert order.portion() is None
    assert order.rest() == lay
    result = found(lay)
    assert order.whole(result).marker == result.marker


def test_sheets_that_are_counted_are_not_repeated() -> None:
    lay = lay_of(200)
    stock = replace(lay.stock, sheets=(replace(lay.stock.sheets[0], count=500),))  # type: ignore[union-attr,call-arg]
    assert patterns_of(replace(lay, stock=stock)).portion() is None


def test_parts_that_found_no_room_are_named() -> None:
    lay = lay_of(101)
    order = patterns_of(lay)
    portion = order.portion()
    assert portion is not None
    order.note(found(portion))
    rest = order.rest()
    assert rest is not None
    result = found(rest)
    lost = result.marker.placements[0]
    short = replace(
        result,
        marker=replace(result.marker, placements=result.marker.placements[1:]),
        unplaced=(_unplaced(lost.part),),
    )
    whole = order.whole(short)
    laid = {p.part for p in whole.marker.placements}
    named = {u.part for u in whole.unplaced}
    assert named | laid == set(range(len(lay.parts)))
    assert not named & laid
    kinds = [lay.parts[part].piece.name for part in named]
    assert kinds in ([rest.parts[lost.part].piece.name], [])


def _unplaced(part: int):  # type: ignore[no-untyped-def]
    from nesting.search.result import Unplaced

    return Unplaced(part=part, why="no room")


@pytest.mark.parametrize("count", [3, 90])
def test_an_order_on_sheets_is_planned_whole_or_in_portions(count: int) -> None:
    job = parse_job(JOB.format(count=count, sheet="price = 4"))
    plan = make_order_plan(job, seconds=None, rounds=1, executor=Here())
    (entry,) = plan.entries
    assert entry.good
    assert len(entry.marker.placements) == 5 * count
    (line,) = order_lines(plan)
    assert line.taken.value == len(entry.marker.sheets)
    assert line.taken.value >= line.least.value >= count / 2


def test_an_order_of_more_than_the_sheets_at_hand_hold_is_refused() -> None:
    # By area: 10 × 290 × 190 and 15 × 190 × 90 (less their corners) are 3.4 sheets.
    job = parse_job(JOB.format(count=5, sheet="count = 2"))
    with pytest.raises(JobError, match="needs 4 sheets or hides at least, 2 are at hand"):
        make_order_plan(job, seconds=None, rounds=1, executor=Here())
    enough = parse_job(JOB.format(count=2, sheet="count = 2"))
    assert make_order_plan(enough, seconds=None, rounds=1, executor=Here()).entries[0].good


def test_sheets_too_small_by_area_are_not_enough() -> None:
    # Ten stays of 190 × 90 each a bag cover more than the one sheet of 600 × 400.
    lay = lay_of(10, "count = 1")
    stays = replace(lay, parts=tuple(p for p in lay.parts if p.piece.name == "stay"))
    assert patterns_of(stays).short >= 1
