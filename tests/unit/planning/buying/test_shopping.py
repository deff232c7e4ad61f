"""The buying list: rolls at hand, what each design costs, lengths for instructions."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.amounts import Amounts
from nesting.errors import JobError
from nesting.job.file import parse_job
from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Cloth, Shrinkage, Width
from nesting.material.sums import before_shrinking
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.planning.buying.bought import buying
from nesting.planning.buying.instructions import instruction_lines
from nesting.planning.buying.settle import best_width, reckoned, settled, tried_at
from nesting.planning.buying.shopping import Purchase, ShoppingList, shopping_list
from nesting.planning.compare import Trial, compared
from nesting.planning.lay.lays import lays
from nesting.planning.plan import Entry, Plan
from nesting.planning.records import LaidFrom, SearchRecord, WidthTried
from nesting.quantity import Quantity, Unit, of_area, of_length
from nesting.writing.buying_csv import buying_csv, cost_csv

RECORD = SearchRecord(
    stopped="optimal",
    seconds=0.0,
    first_seconds=0.0,
    first_length=0.0,
    rounds=0,
    seed=1,
    workers=1,
    bound=Quantity(1.0, Unit.LENGTH),
)

JOB = parse_job(
    """
[job]
name = "market"
currency = "EUR"
[[cloth]]
name = "felt"
width = 500
selvedge = 0
ends = 10
spacing = 0
price = 20
step = 100
shrinkage = "4 %"
[[bag]]
name = "tote"
count = 3
  [[bag.piece]]
  name = "panel"
  rectangle = [300, 200]
  [[bag.cut]]
  piece = "panel"
  material = "felt"
  copies = 2
  [[bag.notion]]
  name = "zip"
  quantity = 1
  price = 1.5
[[bag]]
name = "pouch"
count = 6
  [[bag.piece]]
  name = "front"
  rectangle = [150, 100]
  [[bag.cut]]
  piece = "front"
  material = "felt"
"""
)


def entry_of(*, length: float, plies: int = 1, cloth: Cloth | None = None) -> Entry:
    """Return an entry of felt whose marker is `length` long (one part of that length)."""
    material = cloth or JOB.materials[0]
    assert isinstance(material, Cloth)
    ring = Path.polyline([(0, 0), (length, 0), (length, 400), (0, 400)], closed=True)
    lay = Lay(
        name="felt",
        parts=(Part(name="a", piece=Piece(name="a", cut=ring)),),
        stock=Strip(width=500),
    )
    marker = Marker(lay=lay, placements=(Placement(part=0, x=0.0, y=0.0),))
    return Entry(
        material=material,
        width=material.widths[0],
        marker=marker,
        search=RECORD,
        buying=buying(marker, material, width=material.widths[0], length=length, plies=plies),
        spreads=(plies,),
    )


def plan_of(*entries: Entry) -> Plan:
    job = replace(JOB, materials=(entries[0].material,))
    return Plan(job=job, entries=entries, seconds=0.0, program="test")


def test_markers_of_one_cloth_are_rounded_up_once() -> None:
    # 2 × 350 + 1 × 230 with 10 at each end are 990 mm; 4 % are lost of what is bought:
    # 990 / 0.96 = 1031.25 (gera.services: 3 yd at 5 % are 3.158), so 11 steps of 10 cm.
    bought = shopping_list(plan_of(entry_of(length=350.0, plies=2), entry_of(length=230.0)))
    (felt, zips) = bought.lines
    assert (felt.net.value, felt.gross.value, felt.to_buy.value) == (
        990.0,
        pytest.approx(1031.25),
        1100.0,
    )
    assert (zips.to_buy.value, zips.cost) == (3.0, 4.5)
    assert bought.cost == pytest.approx(22.0 + 4.5)


def test_what_a_design_costs_adds_up_to_the_whole() -> None:
    bought = shopping_list(plan_of(entry_of(length=350.0, plies=2)))
    costs = {cost.bag: cost for cost in bought.bag_costs}
    assert sum(cost.count * cost.each for cost in costs.values()) == pytest.approx(bought.cost)
    # A tote has 2 × 300 × 200 mm² of felt, a pouch 150 × 100: eight times as much.
    tote, pouch = dict(costs["tote"].parts), dict(costs["pouch"].parts)
    assert tote["felt"] == pytest.approx(8.0 * pouch["felt"])
    assert (tote["zip"], "zip" in pouch) == (1.5, False)
    text = cost_csv(bought)
    assert text.splitlines()[0] == "bag,how_many,item,cost_of_one_bag"


def test_cloth_from_rolls_is_not_bought_again() -> None:
    felt = JOB.materials[0]
    assert isinstance(felt, Cloth)
    cloth = replace(felt, rolls=(1000.0, 600.0), shrinkage=Shrinkage())
    entry = replace(
        entry_of(length=480.0, plies=4, cloth=cloth),
        laid_from=(
            LaidFrom(spread=0, plies=2, rolls=(1,)),
            LaidFrom(spread=0, plies=1, rolls=(2, 0), splice=(200.0, 260.0)),
            LaidFrom(spread=0, plies=1, rolls=(0,)),
        ),
    )
    (entry,) = reckoned((entry,), cloth)
    (line, _) = shopping_list(plan_of(entry)).lines
    # Rolls: 2 × 500 and 10 + 260. New: 500 − 10 − 200 and 500, which are 790, so 8 steps.
    assert line.stock.value == pytest.approx(1270.0)
    assert line.gross.value - line.stock.value == pytest.approx(790.0)
    assert line.to_buy.value == 800.0


def test_stock_and_spare() -> None:
    felt = JOB.materials[0]
    assert isinstance(felt, Cloth)
    cloth = replace(felt, rolls=(600.0,))
    entry = entry_of(length=460.0, cloth=cloth)
    plan = plan_of(*settled((entry,), cloth, table=JOB.table, seed=1, spare=0.1))
    job = replace(plan.job, at_hand=(("zip", 9.0),))
    (line, zips) = shopping_list(replace(plan, job=job, spare=0.1)).lines
    # 480 mm washed are 500 of the 600 at hand; the tenth more is bought, a step of it.
    assert line.gross.value == pytest.approx(480.0 / 0.96 * 1.1)
    assert (line.stock.value, line.to_buy.value) == (pytest.approx(500.0), 100.0)
    assert (zips.stock.value, zips.to_buy.value) == (zips.gross.value, 0.0)


def test_units_of_the_list_for_a_spreadsheet() -> None:
    leather = Purchase(
        name="=butt",
        net=of_area(1e6),
        gross=of_area(1e6),
        stock=of_area(0.0),
        to_buy=of_area(1e6),
        cost=None,
    )
    cloth = Purchase(
        name="felt",
        width=1371.6,
        net=of_length(914.4),
        gross=of_length(914.4),
        stock=of_length(0.0),
        to_buy=of_length(914.4),
        cost=2.0,
    )
    bought = ShoppingList(lines=(leather, cloth), bags=1, cost=None, cost_per_bag=None)
    # 1 m² is 100 dm² and, a foot being 3.048 dm, 10.764 ft².
    assert "'=butt,dm²,,,100.000" in buying_csv(bought)
    feet = buying_csv(bought, amounts=Amounts("ft"))
    assert "ft²,,,10.764" in feet
    assert "felt,yd,54,in,1.000" in feet


def _felt() -> Cloth:
    felt = JOB.materials[0]
    assert isinstance(felt, Cloth)
    return felt


def test_instructions_round_up_in_metres_and_yards() -> None:
    trials = [
        Trial(
            material="lining",
            width=Width(booked=booked, usable=booked - 20.0, price=10.0),
            entry=(entry := replace(entry_of(length=length), material=JOB.materials[0])),
            tried=tried_at(
                Width(booked=booked, usable=booked - 20.0, price=10.0), (entry,), _felt()
            ),
            cheapest=booked == 1400.0,
            least=booked == 1400.0,
        )
        for booked, length in ((1100.0, 1030.0), (1400.0, 730.0))
    ]
    # (730 + 20) / 0.96 = 781.3 mm: 0.8 m, and 7/8 yd (800.1 mm). (1030 + 20) / 0.96 =
    # 1093.8 mm: 1.1 m, and 1 1/4 yd (1143 mm), since 1 1/8 yd are 1028.7 mm.
    assert instruction_lines(trials) == (
        "lining: 0.8 m at 140 cm, 1.1 m at 110 cm",
        "lining: 7/8 yd at 55 in, 1 1/4 yd at 44 in",
    )
    total = compared(trials)
    assert total.area == pytest.approx(800.0 * 1400.0)
    assert total.cost == pytest.approx(8.0)


def test_shrinkage_is_a_share_of_what_is_bought() -> None:
    assert before_shrinking(960.0, share=0.04) == pytest.approx(1000.0)
    with pytest.raises(JobError):
        before_shrinking(1.0, share=1.0)


def test_the_jobs_lay_is_what_the_costs_share_out() -> None:
    (lay,) = lays(JOB)
    assert len(lay.parts) == 3 * 2 + 6


def test_the_cheapest_width_is_taken_though_it_takes_more_area() -> None:
    tried = [
        WidthTried(
            material="felt",
            width=Width(booked=booked, usable=booked - 20.0, price=price),
            needed=of_length(1000.0),
            to_buy=of_length(1000.0),
            cost=price,
        )
        for booked, price in ((1000.0, 9.0), (1500.0, 8.0))
    ]
    assert best_width(tried) == 1


LEATHER = """
[job]
name = "wallet"
[[piece]]
name = "back"
rectangle = [200, 100]
[[leather]]
name = "calf"
price = 105
[[leather.hide]]
name = "calf 7"
rectangle = [1000, 800]
[[cut]]
piece = "back"
material = "calf"
"""


def test_a_hide_costs_its_whole_area_by_the_square_metre() -> None:
    # 1.0 × 0.8 m at 105 a square metre, whatever is cut from it.
    job = parse_job(LEATHER)
    (calf,), (lay,) = job.materials, lays(job)
    marker = Marker(lay=lay, placements=(Placement(part=0, x=50.0, y=50.0),), sheets=(0,))
    bought = buying(marker, calf, width=None, length=0.0)
    entry = Entry(material=calf, width=None, marker=marker, search=RECORD, buying=bought)
    plan = Plan(job=job, entries=(entry,), seconds=0.0, program="test")
    (line,) = shopping_list(plan).lines
    assert (line.to_buy, line.cost) == (of_area(800_000.0), 84.0)


def test_nothing_is_bought_to_spare_unless_asked_for() -> None:
    # 350 and 10 at each end, 4 % of what is bought lost: 385.4, so four steps of 10 cm.
    felt = JOB.materials[0]
    assert isinstance(felt, Cloth)
    (entry,) = reckoned([entry_of(length=350.0)], felt)
    assert entry.buying.to_buy == of_length(400.0)
