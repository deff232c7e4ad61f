"""Orders planned with the real search: every part is cut as often as it is ordered."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import Future

import pytest

from nesting.errors import JobError
from nesting.job.file import parse_job
from nesting.marker.figures import figures
from nesting.material.material import Cloth
from nesting.pattern.piece import Hand
from nesting.planning.orders.bundles import bundles
from nesting.planning.orders.cloth_order import ClothOrder
from nesting.planning.orders.order import make_order_plan
from nesting.planning.orders.ratios import ratios
from nesting.planning.plan import Plan
from nesting.planning.plan_file import plan_from_text, plan_text
from nesting.planning.running.worker import SearchTask
from nesting.planning.summary import order_lines
from nesting.quantity import of_length
from nesting.search.result import Progress, Result
from nesting.search.solve import search
from nesting.writing.pages.report import report


class Here:
    """An executor that searches at once, in this process."""

    slots = 1

    def __init__(self) -> None:
        self.tasks: list[SearchTask] = []

    def submit(self, task: SearchTask) -> Future[Result]:
        self.tasks.append(task)
        future: Future[Result] = Future()
        future.set_result(search(task.lay, limits=task.limits, seed=task.seed, workers=1))
        return future

    def progress(self) -> Iterator[tuple[str, int, Progress]]:
        return iter(())

    def stop(self) -> None:
        pass


JOB = """
[job]
name = "two bags"
[table]
{table}
[[cloth]]
name = "canvas"
width = "60 cm"
selvedge = 0
spacing = 2
ends = 10
nap = "none"
shrinkage = 0
{cloth}
[[bag]]
name = "tote"
count = {totes}
  [[bag.piece]]
  name = "panel"
  rectangle = [300, 220]
  [[bag.piece]]
  name = "gusset"
  outline = "M 0,0 L 250,0 L 180,90 L 0,90 Z"
  [[bag.cut]]
  piece = "panel"
  material = "canvas"
  copies = {panels}
  [[bag.cut]]
  piece = "gusset"
  material = "canvas"
  pairs = true
[[bag]]
name = "pouch"
count = {pouches}
  [[bag.piece]]
  name = "front"
  rectangle = [200, 140]
  [[bag.cut]]
  piece = "front"
  material = "canvas"
  copies = 2
"""


def text(
    table: str = "plies = 4\nbags = 3",
    cloth: str = "",
    totes: int = 5,
    pouches: int = 4,
    panels: int = 2,
) -> str:
    return JOB.format(table=table, cloth=cloth, totes=totes, pouches=pouches, panels=panels)


def plan_of(job_text: str) -> Plan:
    return make_order_plan(parse_job(job_text), seconds=None, rounds=1, executor=Here())


def parts_cut(plan: Plan) -> Counter[tuple[str, Hand | None]]:
    counted: Counter[tuple[str, Hand | None]] = Counter()
    for entry in plan.entries:
        for plies in entry.spreads:
            for bundle in bundles(entry, plan.job, plies=plies):
                counted[bundle.piece, bundle.hand] += bundle.cut
    return counted


ORDERED = {
    ("panel", None): 10,
    ("gusset", Hand.RIGHT): 5,
    ("gusset", Hand.LEFT): 5,
    ("front", None): 8,
}


@pytest.mark.parametrize(
    ("table", "cloth"),
    [
        ("plies = 4\nbags = 3", ""),
        ("plies = 1\nbags = 2", ""),
        ('plies = 4\nbags = 3\nspreading = "face to face"', ""),
        ("plies = 3\nbags = 3", 'fold = "folded"'),
        ('plies = 6\nbags = 9\nlength = "1.2 m"', ""),
    ],
    ids=["one way", "single plies", "face to face", "folded", "short table"],
)
def test_the_parts_of_all_plies_are_those_ordered(table: str, cloth: str) -> None:
    plan = plan_of(text(table, cloth))
    assert all(entry.good for entry in plan.entries)
    assert parts_cut(plan) == ORDERED
    limit = plan.job.table
    for entry in plan.entries:
        assert all(plies <= limit.plies for plies in entry.spreads)
        if limit.length is not None:
            assert figures(entry.marker).length + 20.0 <= limit.length + 1e-6


def test_folded_plies_give_two_bags_an_odd_panel_each() -> None:
    # Four totes of one panel each: in twos, two panels are drawn for four, and every part of
    # both plies is used. One by one each ply would give a panel too many.
    plan = plan_of(text("plies = 2\nbags = 2", 'fold = "folded"', 4, 2, panels=1))
    assert parts_cut(plan)["panel", None] == 4
    (line,) = order_lines(plan)
    assert line.least.value <= line.taken.value
    assert (("tote", 2),) in [entry.bags for entry in plan.entries]


def test_face_to_face_plies_come_in_twos_and_halve_what_is_drawn() -> None:
    plan = plan_of(text('plies = 4\nbags = 3\nspreading = "face to face"'))
    assert all(plies % 2 == 0 for entry in plan.entries for plies in entry.spreads)
    for entry in plan.entries:
        drawn = Counter(part.piece.name for part in entry.marker.lay.parts)
        held = dict(entry.bags)
        assert drawn["panel"] == held.get("tote", 0)
        assert drawn["gusset"] == held.get("tote", 0)
        assert drawn["front"] == held.get("pouch", 0)


def test_marks_for_one_hand_are_told_where_plies_lie_face_to_face() -> None:
    gusset = '  outline = "M 0,0 L 250,0 L 180,90 L 0,90 Z"\n'
    mark = '  [[bag.piece.mark]]\n  kind = "drill"\n  size = 3\n  at = [40, 40]\n  hands = "{}"\n'
    for table, hands, told in (
        ('plies = 4\nbags = 1\nspreading = "face to face"', "right", True),
        ("plies = 4\nbags = 1", "right", False),
        ('plies = 4\nbags = 1\nspreading = "face to face"', "both", False),
    ):
        said = mark.format(hands) if hands != "both" else mark.replace('  hands = "{}"\n', "")
        plan = plan_of(text(table, totes=2, pouches=2).replace(gusset, gusset + said))
        lines = [a for a in plan.job.assumptions if "for one hand only are left out" in a]
        assert bool(lines) == told, (table, hands)
        assert all(line.startswith("gusset: ") for line in lines)


def test_cloth_is_the_sum_over_the_plies_and_no_less_than_the_bound() -> None:
    plan = plan_of(text())
    (line,) = order_lines(plan)
    plies = [(sum(e.spreads), figures(e.marker).length + 20.0) for e in plan.entries]
    assert line.taken.value == pytest.approx(sum(n * length for n, length in plies))
    assert line.least.value <= line.taken.value
    # The parts' own area can't be beaten, whatever the spreads.
    area = 5 * (2 * 300 * 220 + 2 * 0.5 * (250 + 180) * 90) + 4 * 2 * 200 * 140
    assert line.least.value >= area / 600.0


def test_the_bound_is_not_above_the_best_of_all_plans() -> None:
    # Panels as wide as the cloth: every marker's best length is known, 220 mm a panel and
    # 2 mm between two; so is the best plan, by trying all of them.
    job = parse_job(
        """
        [job]
        name = "strips"
        [table]
        plies = 2
        bags = 3
        [[cloth]]
        name = "canvas"
        width = 300
        selvedge = 0
        spacing = 2
        ends = 10
        shrinkage = 0
        [[piece]]
        name = "panel"
        rectangle = [220, 300]
        [[cut]]
        piece = "panel"
        material = "canvas"
        [[bag]]
        name = "sleeve"
        count = 7
        """.replace("\n        ", "\n")
    )
    cloth = job.materials[0]
    assert isinstance(cloth, Cloth)
    length = {r: 222.0 * r[0] - 2.0 + 20.0 for r in ratios([7], bags=3)}
    best = min(
        a * length[(1,)] + b * length[(2,)] + c * length[(3,)]
        for a in range(8)
        for b in range(4)
        for c in range(3)
        if a + 2 * b + 3 * c == 7
    )
    bound = ClothOrder(job, cloth, cloth.widths[0]).bound()
    assert best - 2.0 <= bound <= best
    plan = make_order_plan(job, seconds=None, rounds=1, executor=Here())
    assert order_lines(plan)[0].taken.value == pytest.approx(best, abs=0.5)


def test_colourways_that_share_a_lining_are_cut_from_one_marker() -> None:
    # The shared lining sees four bags of one kind; the colours are one problem, searched once.
    job = parse_job(
        """
        [job]
        name = "colours"
        [table]
        plies = 4
        [[cloth]]
        name = "moss"
        width = 400
        [[cloth]]
        name = "rust"
        width = 400
        [[cloth]]
        name = "lining"
        width = 400
        [[piece]]
        name = "panel"
        rectangle = [220, 300]
        [[piece.mark]]
        kind = "drill"
        at = [20, 20]
        size = 3
        materials = "outer"
        [[cut]]
        piece = "panel"
        material = ["outer", "lining"]
        [[bag]]
        name = "moss bag"
        count = 2
        materials = { outer = "moss" }
        [[bag]]
        name = "rust bag"
        count = 2
        materials = { outer = "rust" }
        """.replace("\n        ", "\n")
    )
    here = Here()
    plan = make_order_plan(job, seconds=None, rounds=1, executor=here)
    (lining,) = (entry for entry in plan.entries if entry.material.name == "lining")
    ((name, _),) = lining.bags
    assert name == "moss bag / rust bag"
    colours = [task for task in here.tasks if "lining" not in task.name]
    assert len({task.name for task in colours}) == 1


@pytest.mark.parametrize(
    ("job_text", "says"),
    [
        (text('plies = 4\nlength = "25 cm"'), "table of 25 cm is shorter than the marker of one"),
        (text("plies = 4", cloth='longest = "30 cm"'), "longest"),
        (text('plies = 4\nbed = ["1 m", "50 cm"]'), "wider than the bed"),
        (text('plies = 1\nspreading = "face to face"'), "face to face come in twos"),
        (text('plies = 4\nspreading = "face to face"', panels=1), "even number of tote"),
        (
            text("plies = 4\nheight = 1", cloth="thickness = 1.5"),
            "highest spread of 1 mm takes 0",
        ),
        (
            text('plies = 4\nspreading = "face to face"', cloth="print = { along = 50 }"),
            "printed: spread face to face",
        ),
    ],
    ids=["table", "longest", "bed", "twos", "odd", "height", "print"],
)
def test_an_order_that_cannot_be_met_names_the_rule(job_text: str, says: str) -> None:
    with pytest.raises(JobError, match=re.escape(says)) as caught:
        plan_of(job_text)
    assert "\n" not in str(caught.value)


def test_a_piece_with_no_mirror_image_is_refused_face_to_face() -> None:
    job_text = text('plies = 4\nspreading = "face to face"').replace("  pairs = true\n", "")
    with pytest.raises(JobError, match="gusset of tote is not its own mirror image"):
        plan_of(job_text)


def test_one_more_may_be_made_where_that_is_allowed() -> None:
    table = 'plies = 4\nbags = 3\nspreading = "face to face"\nover = 1'
    plan = plan_of(text(table, panels=1))
    assert parts_cut(plan)["panel", None] == 6
    assert all(entry.good for entry in plan.entries)


def test_no_width_is_wide_enough() -> None:
    job_text = text().replace('width = "60 cm"', 'width = "20 cm"')
    with pytest.raises(JobError, match="fits no width of canvas"):
        plan_of(job_text)


WIDTHS = """
[job]
name = "widths"
currency = "EUR"
[table]
plies = 2
bags = 2
[[cloth]]
name = "canvas"
selvedge = 0
spacing = 0
ends = 0
shrinkage = 0
step = 10
widths = [{widths}]
{cloth}
[[piece]]
name = "panel"
rectangle = [300, 500]
[[cut]]
piece = "panel"
material = "canvas"
copies = 2
[[bag]]
name = "tote"
count = 4
"""


def chosen(widths: str, cloth: str = "") -> tuple[Plan, float]:
    job = parse_job(WIDTHS.format(widths=widths, cloth=cloth))
    plan = make_order_plan(job, seconds=None, rounds=1, executor=Here())
    (width,) = {entry.width.booked for entry in plan.entries if entry.width is not None}
    return plan, width


def test_the_cheapest_width_on_sale_is_taken() -> None:
    # Eight panels of 300 mm: 2.4 m where one lies across, 1.2 m where two do.
    narrow = '{{ booked = "50 cm", usable = "50 cm", price = {} }}'
    wide = '{{ booked = "100 cm", usable = "100 cm", price = {} }}'
    plan, width = chosen(f"{narrow.format(10)}, {wide.format(19)}")
    assert width == 1000.0
    assert [(w.width.booked, w.needed, w.cost, w.chosen) for w in plan.widths_tried] == [
        (500.0, of_length(2400.0), 24.0, False),
        (1000.0, of_length(1200.0), 22.8, True),
    ]
    plan, width = chosen(f"{narrow.format(10)}, {wide.format(21)}")
    assert width == 500.0
    assert order_lines(plan)[0].taken.value == 2400.0


def test_without_a_price_the_least_area_is_bought() -> None:
    # 90 cm holds no second panel: 2.4 m of it are more than 1.2 m of 100 cm.
    assert chosen('"90 cm", "100 cm"')[1] == 1000.0
    plan, width = chosen('"90 cm", "100 cm"', 'rolls = ["5 m"]')
    assert width == 900.0
    # Nothing of it is bought; all widths are shown, as without rolls.
    assert [(w.from_stock, w.to_buy, w.chosen) for w in plan.widths_tried] == [
        (of_length(2400.0), of_length(0.0), True),
        (of_length(0.0), of_length(1200.0), False),
    ]


def test_a_width_that_is_too_narrow_is_named_and_not_taken() -> None:
    plan, width = chosen('"40 cm", "100 cm"')
    assert width == 1000.0
    narrow, _ = plan.widths_tried
    assert narrow.needed is None
    assert "can't be laid on this cloth" in narrow.why
    with pytest.raises(JobError, match="fits no width"):
        chosen('"40 cm", "45 cm"')


def test_the_plan_remembers_the_widths_that_were_tried() -> None:
    plan, _ = chosen('"90 cm", "100 cm"')
    assert plan_from_text(plan_text(plan)).widths_tried == plan.widths_tried
    assert "Which width" in report(plan)
