"""One flow of stock: laid, compared, ordered and cut, everything adds up."""

from __future__ import annotations

import csv
import math
import re
from pathlib import Path

import pytest

from nesting import (
    compare_widths,
    load_plan,
    make_order_plan,
    make_plan,
    read_job,
    shopping_list,
    write_order,
)
from nesting.errors import JobError
from nesting.job.job import Job
from nesting.material.material import Cloth, SheetGoods
from nesting.pattern.polygon import polygon
from nesting.pattern.svg_path import parse_path
from nesting.planning.buying.shopping import ShoppingList
from nesting.planning.buying.stock import Stock, after_cutting, read_stock
from nesting.planning.plan import Plan
from nesting.writing.pages.report import report
from tests.unit.planning.orders.test_order import Here

JOB = """
[job]
name = "Pouch"
currency = "EUR"
bags = BAGS
[[piece]]
name = "front"
rectangle = [400, 300]
[[piece]]
name = "tag"
points = [[0, 0], [180, 0], [140, 120], [40, 120]]
[[cloth]]
name = "canvas"
widths = [{ booked = "112 cm", price = 15 }, { booked = "145 cm", price = 18.50 }]
[[cloth]]
name = "lining"
width = "140 cm"
price = 8
ends = 0
[[cloth]]
name = "felt"
width = "90 cm"
price = 12
[[sheet]]
name = "foam"
size = ["60 cm", "50 cm"]
price = 4
[[cut]]
piece = "front"
material = ["canvas", "lining", "foam"]
copies = 3
[[cut]]
piece = "tag"
material = ["canvas", "lining", "felt"]
copies = 2
[[notion]]
name = "zip"
quantity = 3
price = 1.5
"""

STOCK = """\
# What is on the shelf, counted on Monday.
[at_hand]
canvas = [{ length = "2.1 m", width = "145 cm" }, "30 cm"]  # two ends
lining = "0.25 m"  # too short for anything
foam = 2
zip = 1
elastic = "7 m"

[[remnant]]
name = "bit of felt"
material = "felt"
outline = "M 0 0 L 200 0 L 200 130 L 0 130 Z"

[[remnant]]
name = "off-cut"
material = "foam"
outline = "M 0 0 L 420 0 L 420 320 L 0 320 Z"
"""


@pytest.fixture
def stock(tmp_path: Path) -> Stock:
    (tmp_path / "stock.toml").write_text(STOCK)
    return read_stock(tmp_path / "stock.toml")


def job_of(folder: Path, *, bags: int = 1) -> Job:
    (folder / "job.toml").write_text(JOB.replace("BAGS", str(bags)))
    return read_job(folder / "job.toml", stock=folder / "stock.toml")


def planned(job: Job, how: str) -> Plan:
    make = make_plan if how == "lay" else make_order_plan
    return make(job, seconds=None, rounds=1, executor=Here())


def purchases(plan: Plan) -> dict[str, tuple[float, float, float, float | None]]:
    return {
        line.name: (line.gross.value, line.stock.value, line.to_buy.value, line.cost)
        for line in shopping_list(plan).lines
    }


def test_lay_order_and_compare_take_and_buy_the_same(tmp_path: Path, stock: Stock) -> None:
    job = job_of(tmp_path)
    laid, ordered = planned(job, "lay"), planned(job, "order")
    assert purchases(laid) == purchases(ordered)
    for plan in (laid, ordered):
        (felt,) = (line for line in shopping_list(plan).lines if line.name == "felt")
        assert felt.remnants == ("bit of felt",)
    assert laid.widths_tried == ordered.widths_tried
    # The 145 cm length is at hand and long enough: nothing is bought of the canvas.
    assert [(one.width.booked, one.chosen) for one in laid.widths_tried] == [
        (1120.0, False),
        (1450.0, True),
    ]
    trials = compare_widths(job, seconds=None, rounds=1, executor=Here())
    assert [trial.tried for trial in trials if trial.material == "canvas"] == [
        one if not one.chosen else trial.tried
        for one, trial in zip(laid.widths_tried, trials, strict=False)
    ]
    bought = purchases(laid)
    for trial in trials:
        if trial.taken:
            assert trial.tried is not None
            gross, held, to_buy, cost = bought[trial.material]
            assert trial.tried.needed is not None
            assert (trial.tried.needed.value, trial.tried.from_stock.value) == (gross, held)
            assert (trial.tried.to_buy.value, trial.cost) == (to_buy, cost)
    assert sum(trial.taken for trial in trials) == 3


@pytest.mark.parametrize("how", ["lay", "order"])
@pytest.mark.parametrize("bags", [1, 4])
def test_what_is_needed_is_taken_or_bought(
    how: str, bags: int, tmp_path: Path, stock: Stock
) -> None:
    plan = planned(job_of(tmp_path, bags=bags), how)
    bought = shopping_list(plan)
    for line in bought.lines:
        step = 100.0 if line.net.unit == "mm" else 1.0
        short = line.gross.value - line.stock.value
        assert line.stock.value <= line.gross.value + 1e-6
        assert short - 1e-3 <= line.to_buy.value < short + step, line.name
        of = [
            e
            for e in plan.entries
            if e.material.name == line.name
            and isinstance(e.material, Cloth | SheetGoods)
            and (line.net.unit != "mm" or e.width is not None)
        ]
        if line.net.unit in ("mm", "sheets"):
            assert line.stock.value == pytest.approx(sum(e.buying.from_stock.value for e in of))
        if len(of) == 1:  # a section says the same as the list
            assert (of[0].buying.to_buy.value, of[0].buying.cost or 0.0) == (
                line.to_buy.value,
                line.cost,
            )
        elif of:
            assert sum(e.buying.to_buy.value for e in of) == pytest.approx(short)
    lines = {line.name: line for line in bought.lines}
    assert lines["foam"].stock.value == 2
    assert lines["zip"].stock.value == 1
    assert lines["zip"].to_buy.value == 3 * bags - 1
    assert lines["canvas"].width == 1450.0 or bags > 1
    _adds_up(plan, bought, tmp_path / "out")


def _adds_up(plan: Plan, bought: ShoppingList, folder: Path) -> None:
    """Rows of the CSV, the report's table and the sum that is told are the same."""
    write_order(plan, bought, folder)
    with (folder / "buying.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert bought.cost == pytest.approx(sum(float(row["cost"]) for row in rows))
    factor = {"mm": 1000.0}
    for row, line in zip(rows, bought.lines, strict=True):
        size = factor.get(line.net.unit, 1.0)
        assert float(row["from_stock"]) == pytest.approx(line.stock.value / size, abs=1e-3)
        assert float(row["to_buy"]) == pytest.approx(line.to_buy.value / size, abs=1e-3)
    with (folder / "costs.csv").open(newline="") as file:
        sums = [row for row in csv.DictReader(file) if row["item"] == "sum"]
    each = sum(int(row["how_many"]) * float(row["cost_of_one_bag"]) for row in sums)
    assert each == pytest.approx(bought.cost, abs=0.01 * len(sums) * bought.bags)
    top = re.search(r"What to buy</h2>(.*?)</section>", report(plan), re.DOTALL)
    assert top is not None
    money = [float(m) for m in re.findall(r"([\d.]+) EUR", top[1])]
    lines = [line.cost or 0.0 for line in bought.lines]
    assert money[: len(lines)] == pytest.approx(lines)
    assert money[len(lines)] == pytest.approx(bought.cost)
    # Written again from the plan alone it is the same.
    assert purchases(load_plan(folder / "plan.json")) == purchases(plan)


@pytest.mark.parametrize("how", ["lay", "order"])
@pytest.mark.parametrize("bags", [1, 4])
def test_after_cutting_the_stock_is_less_what_was_used_and_more_what_is_left(
    how: str, bags: int, tmp_path: Path, stock: Stock
) -> None:
    plan = planned(job_of(tmp_path, bags=bags), how)
    lines = {line.name: line for line in shopping_list(plan).lines}
    taken = after_cutting(stock, plan)
    after = taken.stock
    for name in ("foam", "zip"):
        before = stock.table.at_hand[name].number or 0.0
        line = lines[name]
        assert after.table.at_hand[name].number == before - line.stock.value
    assert after.table.at_hand["elastic"] == stock.table.at_hand["elastic"]
    assert not {"bit of felt", "off-cut"} & {one.name for one in after.table.remnant}
    # By area: nothing comes out of nowhere, and little is lost but between the parts.
    parts = _parts(plan, "canvas")
    wide = lines["canvas"].width or 0.0
    before = _area(stock, "canvas") + lines["canvas"].to_buy.value * wide
    now = _area(after, "canvas")
    assert now <= before - parts + 1.0
    lengths = [one.value for one in after.table.at_hand["canvas"].lengths]
    if bags == 1:
        # 2.1 m less the ply; what is left of it is longer than half a metre, so a length.
        assert lengths == pytest.approx([2100.0 - lines["canvas"].stock.value, 300.0], abs=0.1)
    # What stands in the file beside the numbers stays.
    assert after.text.startswith("# What is on the shelf, counted on Monday.\n[at_hand]\n")
    assert "# two ends" in after.text
    assert 'lining = "0.25 m"  # too short for anything' in after.text


def _parts(plan: Plan, name: str) -> float:
    from nesting.marker.measure import piece_area

    return math.fsum(
        sum(entry.spreads) * piece_area(entry.marker.lay.parts[p.part].piece)
        for entry in plan.entries
        if entry.material.name == name
        for p in entry.marker.placements
    )


def _area(stock: Stock, name: str) -> float:
    lengths = sum(one.value * (one.width or 1120.0) for one in stock.table.at_hand[name].lengths)
    rests = sum(
        polygon(path[0], tuple(path[1:])).area
        for one in stock.table.remnant
        if one.material == name and one.outline
        for path in [parse_path(str(one.outline))]
    )
    return lengths + rests


LEATHER = """
[job]
name = "tags"
[[leather]]
name = "calf"
price = 60
HIDES
[[piece]]
name = "tag"
rectangle = [300, 200]
[[cut]]
piece = "tag"
material = "calf"
copies = 5
"""

SHELF = """\
# the rack by the door
[[hide]]
name = "seven"  # bought in May
material = "calf"
rectangle = [700, 500]
flaw = [{ circle = 20, at = [650, 450] }]

[[hide]]
name = "eight"
material = "other"
rectangle = [700, 500]
"""

HIDE = '[[leather.hide]]\nname = "seven"\nrectangle = [800, 700]'


@pytest.mark.parametrize("how", ["lay", "order"])
def test_hides_on_the_shelf_are_used_first_and_gone_once_cut(how: str, tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(LEATHER.replace("HIDES", HIDE))
    (tmp_path / "stock.toml").write_text(SHELF)
    plan = planned(read_job(tmp_path / "job.toml", stock=tmp_path / "stock.toml"), how)
    (line,) = shopping_list(plan).lines
    # The shelf's holds a few; the job's own hide of that name, 0.56 m², is paid for.
    assert line.remnants == ("seven (2)",)
    assert (line.to_buy.value, line.cost) == (pytest.approx(800 * 700), pytest.approx(33.6))
    stock = read_stock(tmp_path / "stock.toml")
    taken = after_cutting(stock, plan)
    assert [hide.name for hide in taken.stock.table.hide] == ["eight"]
    assert "seven: used" in taken.changes
    assert taken.stock.text.startswith("# the rack by the door\n")
    left = [one for one in taken.stock.table.remnant if one.material == "calf"]
    assert left
    assert sum(polygon(parse_path(str(one.outline))[0]).area for one in left) < (
        800 * 700 + 700 * 500 - 5 * 300 * 200
    )


def test_a_leather_may_have_all_its_hides_on_the_shelf(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(LEATHER.replace("HIDES", "").replace("copies = 5", ""))
    (tmp_path / "stock.toml").write_text(SHELF)
    plan = planned(read_job(tmp_path / "job.toml", stock=tmp_path / "stock.toml"), "lay")
    (line,) = shopping_list(plan).lines
    assert (line.remnants, line.to_buy.value, line.cost) == (("seven",), 0.0, 0.0)
    with pytest.raises(JobError, match="there is no hide of calf"):
        read_job(tmp_path / "job.toml")


TWO = """\
[[hide]]
name = "seven"
material = "calf"
rectangle = [150, 150]

[[hide]]
name = "seven (2)"
material = "calf"
rectangle = [700, 900]
"""


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("", ""),
        ('name = "seven (2)"\n', 'name = "seven (2)"\nbackbone = 90\n'),  # told more of it since
        ("[700, 900]", "[720, 900]"),  # drawn anew: its name is known
    ],
)
def test_a_hide_of_the_shelf_is_known_again_whatever_others_are_called(
    tmp_path: Path, before: str, after: str
) -> None:
    (tmp_path / "job.toml").write_text(LEATHER.replace("HIDES", ""))
    (tmp_path / "stock.toml").write_text(TWO)
    plan = planned(read_job(tmp_path / "job.toml", stock=tmp_path / "stock.toml"), "lay")
    (tmp_path / "stock.toml").write_text(TWO.replace(before, after))
    taken = after_cutting(read_stock(tmp_path / "stock.toml"), plan)
    assert [hide.name for hide in taken.stock.table.hide] == ["seven"]


def test_what_the_job_renames_is_found_by_what_the_file_has(tmp_path: Path) -> None:
    """Two shelves have a hide of one name; the plan lies on the larger one, of the second."""
    (tmp_path / "job.toml").write_text('include = "near.toml"\n' + LEATHER.replace("HIDES", ""))
    near = TWO.partition("\n\n")[0] + "\n"
    (tmp_path / "near.toml").write_text(near)
    (tmp_path / "far.toml").write_text(near.replace("[150, 150]", "[700, 900]"))
    plan = planned(read_job(tmp_path / "job.toml", stock=tmp_path / "far.toml"), "lay")
    (line,) = shopping_list(plan).lines
    assert line.remnants == ("seven (2)",)
    taken = after_cutting(read_stock(tmp_path / "far.toml"), plan)
    assert not taken.stock.table.hide
    assert after_cutting(read_stock(tmp_path / "near.toml"), plan).stock.table.hide
