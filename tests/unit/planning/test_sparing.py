"""Good leather is left for what needs it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from concurrent.futures import Future
from dataclasses import replace

import pytest

from nesting.job.file import parse_job
from nesting.marker.check import check
from nesting.planning.lay.lays import lays
from nesting.planning.lying import good_leather, lying
from nesting.planning.make import make_plan
from nesting.planning.orders.order import make_order_plan
from nesting.planning.plan import Plan
from nesting.planning.running.run import Run
from nesting.planning.running.worker import SearchTask
from nesting.planning.sparing import spared
from nesting.search.result import Limits, Progress, Result
from nesting.search.solve import search

SIDE = """
[job]
name = "Test"

[[leather]]
name = "cow"
[[leather.hide]]
name = "side"
rectangle = ["120 cm", "60 cm"]
[[leather.hide.zone]]
name = "butt"
grade = "A"
rectangle = ["60 cm", "60 cm"]
[[leather.hide.zone]]
name = "shoulder"
grade = "B"
rectangle = ["30 cm", "60 cm"]
at = ["60 cm", 0]
[[leather.hide.zone]]
name = "neck"
grade = "C"
rectangle = ["30 cm", "60 cm"]
at = ["90 cm", 0]

[[piece]]
name = "panel"
rectangle = ["25 cm", "20 cm"]
[[piece]]
name = "tab"
rectangle = ["10 cm", "6 cm"]

[[cut]]
piece = "panel"
material = "cow"
copies = 2
grade = "A"
[[cut]]
piece = "tab"
material = "cow"
copies = TABS
grade = "C"
"""


def grades(plan: Plan) -> Counter[tuple[str, str]]:
    (entry,) = plan.entries
    assert not check(entry.marker)
    assert len(entry.marker.placements) == len(entry.marker.lay.parts)
    parts = entry.marker.lay.parts
    return Counter(
        (parts[entry.marker.placements[one.placement].part].piece.name, one.grade.value)
        for one in lying(entry.marker, entry.material)
    )


@pytest.mark.parametrize("make", [make_plan, make_order_plan])
def test_what_accepts_the_neck_lies_in_the_neck(make):
    plan = make(parse_job(SIDE.replace("TABS", "12")), seconds=None, rounds=1, workers=1)
    assert grades(plan) == {("panel", "A"): 2, ("tab", "C"): 12}


def test_what_finds_no_room_in_the_neck_lies_elsewhere():
    """60 tabs take 36 dm², the neck has 18: some lie in better leather, but none are left out."""
    plan = make_plan(parse_job(SIDE.replace("TABS", "60")), seconds=None, rounds=1, workers=1)
    found = grades(plan)
    assert sum(n for (piece, _), n in found.items() if piece == "tab") == 60
    assert found["tab", "C"] >= 13  # the second try fills 0.45 of 18 dm², at 60 cm² a tab


def test_what_finds_no_room_in_the_neck_leaves_the_others_there():
    """Of panels of 20 by 16 cm three fit into a neck of 30 by 60 cm.

    Filled to 0.75 it would have to take four, filled to 0.45 it takes two.
    """
    text = SIDE.replace("TABS", "6").replace('["10 cm", "6 cm"]', '["20 cm", "16 cm"]')
    (entry,) = make_plan(parse_job(text), seconds=None, rounds=1, workers=1).entries
    assert not check(entry.marker)
    inside = [one for one in lying(entry.marker, entry.material) if len(one.zones) == 1]
    assert [one.grade for one in inside].count("C") == 3


def test_what_is_held_to_a_grade_lies_in_no_better_one():
    (free,) = lays(parse_job(SIDE.replace("TABS", "12")))
    (held,) = lays(parse_job(SIDE.replace("TABS", "12")), sparing=0.75)
    assert {part.region for part in free.parts} == {"A or better", "C or better"}
    assert {part.region for part in held.parts} == {"A or better", "C to C"}
    regions = {r.name: r for r in held.stock.sheets[0].regions}
    assert len(regions) == 3


def test_what_fits_in_no_poorer_leather_stays_free():
    """A strap of 40 cm fits in no neck of 30 by 60 cm, if it has to lie along the backbone."""
    text = SIDE.replace("TABS", "2").replace(
        'rectangle = ["10 cm", "6 cm"]', 'rectangle = ["40 cm", "6 cm"]'
    )
    text = text.replace('grade = "C"\n', 'grade = "C"\nnap = "one-way"\n')
    text = text.replace(
        'name = "neck"\ngrade = "C"\nnap = "one-way"\n', 'name = "neck"\ngrade = "C"\n'
    )
    (held,) = lays(parse_job(text), sparing=0.75)
    assert {part.region for part in held.parts if part.piece.name == "tab"} == {
        "C or better, nap one-way"
    }


def test_good_leather_is_counted_by_its_grade():
    """By hand: two panels of 5 dm² in A count three times, twelve tabs of 60 cm² in C once."""
    plan = make_plan(parse_job(SIDE.replace("TABS", "12")), seconds=None, rounds=1, workers=1)
    (entry,) = plan.entries
    assert good_leather(entry.marker, entry.material) == pytest.approx(
        2 * 50_000 * 3 + 12 * 6_000, rel=1e-6
    )


def test_what_spares_good_leather_and_has_a_fault_is_not_taken():
    job = parse_job(SIDE.replace("TABS", "12"))
    (lay,) = lays(job)
    plain = search(lay, limits=Limits(rounds=0, seconds=None), workers=1)

    class Pretended:
        """Searches; if it is to be faulty, the first part lies upon the second."""

        slots = 1

        def __init__(self, *, faulty: bool) -> None:
            self.faulty = faulty

        def submit(self, task: SearchTask) -> Future[Result]:
            result = search(task.lay, limits=task.limits, workers=1)
            if self.faulty:
                first, *others = result.marker.placements
                upon = replace(others[0], part=first.part)
                marker = replace(result.marker, placements=(upon, *others))
                result = replace(result, marker=marker)
            future: Future[Result] = Future()
            future.set_result(result)
            return future

        def progress(self) -> Iterator[tuple[str, int, Progress]]:
            return iter(())

        def stop(self) -> None:
            """Nothing goes on."""

    for faulty in (False, True):
        run = Run(executor=Pretended(faulty=faulty), rounds=0)
        (best,) = spared(job, {lay.name: plain}, run).values()
        assert not check(best.marker)
        assert (best is plain) == faulty
