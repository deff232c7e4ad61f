"""Where in the repeat of a print a lay begins."""

from __future__ import annotations

from nesting.job.file import parse_job
from nesting.job.job import Job
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.planning.compare import compare_widths
from nesting.planning.make import make_plan
from nesting.planning.orders.order import make_order_plan
from nesting.planning.plan import Plan

JOB = """
[job]
name = "Bag"
[[cloth]]
name = "canvas"
width = 900
price = 10
nap = "one-way"
print = { along = 300, across = 300PLACE }
[[piece]]
name = "front"
rectangle = [400, 260]
[[cut]]
piece = "front"
material = "canvas"
copies = COPIES
centred = true
"""


def bag(place: str = "", copies: int = 2) -> Job:
    return parse_job(JOB.replace("PLACE", place).replace("COPIES", str(copies)))


def planned(job: Job, start: Plan | None = None) -> Plan:
    return make_plan(job, seconds=None, rounds=2, workers=1, start=start)


def length(plan: Plan) -> float:
    (entry,) = plan.entries
    assert not check(entry.marker)
    assert not entry.unplaced
    return figures(entry.marker).length


def origin(plan: Plan) -> float:
    (cloth,) = plan.job.cloths
    assert cloth.print is not None
    (entry,) = plan.entries
    found = {p.binding.lattice.origin[0] for p in entry.marker.lay.parts if p.binding}
    assert found == {cloth.print.origin[0]}  # what is drawn is what was laid
    return cloth.print.origin[0]


def test_a_lay_begins_where_its_part_is_flush_with_the_start() -> None:
    """Derived: fronts of 400 have their middle 200 from their start; at 0, 300 it is in vain."""
    plan = planned(bag())
    assert origin(plan) == 200.0
    assert length(plan) == 400.0
    assert any("begins 20 cm before the middle of a motif" in s for s in plan.job.assumptions)
    # As it was: the first motif whose front reaches no further back than the start is at 300.
    assert length(planned(bag(", origin = [0, 0]"))) == 500.0


def test_a_print_whose_place_is_given_stays() -> None:
    plan = planned(bag(", origin = [50, 0]"))
    assert origin(plan) == 50.0
    assert not any("begins" in said for said in plan.job.assumptions)


def test_widths_are_compared_as_they_are_laid() -> None:
    (trial,) = compare_widths(bag(), seconds=None, rounds=2, workers=1)
    assert trial.entry is not None
    assert figures(trial.entry.marker).length == length(planned(bag()))


def test_a_plan_that_is_gone_on_from_keeps_its_place() -> None:
    first = planned(bag())
    again = planned(bag(copies=3), start=first)
    assert origin(again) == origin(first)
    assert length(again) >= length(first)


def test_what_is_held_keeps_the_print_where_it_was() -> None:
    held = '[[held]]\nmaterial = "canvas"\npiece = "front"\nat = [100, 170]\ncopy = 1\n'
    job = parse_job(JOB.replace("PLACE", "").replace("COPIES", "2") + held)
    plan = planned(job)
    assert origin(plan) == 0.0
    assert any("begins at the middle of a motif" in said for said in plan.job.assumptions)


ORDER = """
[[bag]]
name = "tote"
count = 2
  [[bag.cut]]
  piece = "front"
  material = "canvas"
  centred = true
"""


def test_an_order_begins_where_one_of_each_bag_is_best_begun() -> None:
    """Derived: two fronts of 260 are side by side on 900, so both take 400, not 500."""
    job = parse_job(JOB.split("[[cut]]")[0].replace("PLACE", "") + ORDER)
    plan = make_order_plan(job, seconds=None, rounds=2, workers=1)
    assert origin(plan) == 200.0
    assert length(plan) == 400.0
    assert any("begins 20 cm before the middle of a motif" in s for s in plan.job.assumptions)
