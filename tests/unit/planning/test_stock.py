from __future__ import annotations

from dataclasses import replace
from pathlib import Path as FilePath

import pytest
from shapely import box

from nesting.errors import JobError
from nesting.job.job import Bag, Cut, Job, Notion
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Cloth, Material, Remnant, SheetGoods, Shrinkage, Width
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import polygon
from nesting.planning.buying import buying
from nesting.planning.plan import Entry, Plan, SearchRecord
from nesting.planning.remnants import largest_rectangle, leftovers
from nesting.planning.shopping import shopping_list
from nesting.planning.stock import after_cutting, plan_mark, read_stock, stock_text, with_stock

RECORD = SearchRecord(
    stopped="time",
    seconds=1.0,
    first_seconds=0.1,
    first_length=400.0,
    rounds=1,
    seed=1,
    workers=1,
    bound=300.0,
)


def rectangle(length: float, width: float) -> Path:
    return Path.polyline([(0, 0), (length, 0), (length, width), (0, width)], closed=True)


SQUARE = Piece(name="square", cut=rectangle(300, 300))
FOAM = SheetGoods(
    name="foam",
    length=1000,
    width=500,
    price=8.0,
    remnants=(Remnant(name="old", outline=rectangle(400, 400)),),
)
CANVAS = Cloth(
    name="canvas",
    widths=(Width(booked=1400, usable=1380, price=20.0),),
    ends=10,
    step=250,
    shrinkage=Shrinkage(along=0.05),
)


def entry(material: Material, marker: Marker, length: float, plies: int = 1) -> Entry:
    width = material.widths[0] if isinstance(material, Cloth) else None
    return Entry(
        material=material,
        width=width,
        marker=marker,
        search=RECORD,
        buying=buying(marker, material, width=width, length=length, plies=plies),
        spreads=(plies,),
    )


@pytest.fixture
def plan() -> Plan:
    part = Part(name="square", piece=SQUARE)
    goods = Sheets(
        sheets=(
            Sheet(name="old", outline=FOAM.remnants[0].outline, count=1),
            Sheet(name="foam", outline=rectangle(1000, 500)),
        )
    )
    foam = Marker(
        lay=Lay(name="foam", parts=(part, part), stock=goods),
        placements=(Placement(part=0, x=0, y=0), Placement(part=1, x=0, y=0, sheet=1)),
        sheets=(0, 1),
    )
    canvas = Marker(
        lay=Lay(name="canvas", parts=(part,), stock=Strip(width=1380)),
        placements=(Placement(part=0, x=0, y=0),),
    )
    bag = Bag(
        name="bag",
        pieces=(SQUARE,),
        cuts=(Cut(piece="square", material="foam"),),
        count=2,
        notions=(Notion(name="zip", quantity=1.5, unit="m", price=2.0),),
    )
    return Plan(
        job=Job(name="job", bags=(bag,), materials=(FOAM, CANVAS)),
        entries=(entry(FOAM, foam, 700.0), entry(CANVAS, canvas, 300.0)),
        seconds=1.0,
        program="test",
    )


def test_a_square_on_a_sheet_leaves_what_geometry_says(plan: Plan) -> None:
    rest = [left for left in leftovers(plan.entries[0], narrowest=80) if left.sheet == 1]
    assert len(rest) == 1
    # A spacing of at least half a millimetre stays free about each part.
    assert rest[0].area == pytest.approx(1000 * 500 - 300.5 * 300.5, rel=1e-3)
    _, _, length, width = rest[0].rectangle
    assert length * width == pytest.approx(699.5 * 500, rel=0.03)
    assert length * width <= 699.5 * 500 + 1e-6
    square = box(0, 0, 300, 300)
    assert polygon(rest[0].outline, rest[0].holes).distance(square) >= 0.4


def test_the_largest_rectangle_lies_inside() -> None:
    area = box(0, 0, 400, 300).difference(box(150, 0, 180, 200))
    x, y, length, width = largest_rectangle(area)
    assert area.buffer(1e-6).contains(box(x, y, x + length, y + width))
    # Right of the bar 220 x 300, above it 400 x 100: the former is larger.
    assert length * width == pytest.approx(220 * 300, rel=0.03)


def test_the_buying_list_rounds_once_and_takes_off_what_is_at_hand(plan: Plan) -> None:
    # need / (1 - s), trade arithmetic of gera.services: 320 / 0.95 = 336.84, up to 500.
    lines = {line.name: line for line in shopping_list(plan).lines}
    assert lines["canvas"].gross == pytest.approx(320 / 0.95)
    assert lines["canvas"].to_buy == 500
    assert lines["canvas"].cost == 10.0
    assert lines["foam"].to_buy == 1  # the remnant is not bought
    assert lines["zip"].to_buy == 3.0
    assert shopping_list(plan).cost == 10.0 + 8.0 + 6.0
    assert shopping_list(plan).cost_per_bag == 12.0
    less = shopping_list(plan, stock={"canvas": 100.0, "zip": 3.0})
    assert {line.name: line.to_buy for line in less.lines} == {"foam": 1, "canvas": 250, "zip": 0}


def test_a_missing_price_is_said_not_counted_as_nothing(plan: Plan) -> None:
    priceless = replace(FOAM, price=None)
    marker = plan.entries[0].marker
    sums = shopping_list(replace(plan, entries=(entry(priceless, marker, 700.0),)))
    assert sums.cost is None
    assert sums.unpriced == ("foam",)


def test_a_cut_plan_updates_the_stock_once(plan: Plan, tmp_path: FilePath) -> None:
    file = tmp_path / "stock.toml"
    file.write_text(
        '[at_hand]\n"canvas" = "40 cm"\nzip = 2\n'
        '[[remnant]]\nname = "old"\nmaterial = "foam"\noutline = "M0 0H400V400H0Z"\n'
    )
    stock = read_stock(file)
    after = after_cutting(stock, plan)
    assert after.lengths["canvas"] == pytest.approx(400 - 320 / 0.95)
    assert after.counts["zip"] == 0
    assert "old" not in {remnant.name for remnant in after.remnants}
    assert after.cut == (plan_mark(plan),)
    file.write_text(stock_text(after))
    again = read_stock(file)
    assert again.remnants == after.remnants
    with pytest.raises(JobError, match="before"):
        after_cutting(again, plan)
    job = with_stock(plan.job, again)
    foam = next(m for m in job.materials if m.name == "foam")
    assert isinstance(foam, SheetGoods)
    kept = [r for r in again.remnants if r.material == "foam"]
    assert [r.name for r in foam.remnants] == ["old", *(r.name for r in kept)]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[at_hand]\ncanvas = '3 furlongs'", "at_hand.canvas"),
        ("[at_hand]\ncanvas = '-3 m'", "less than nothing"),
        ("[[remnant]]\nname = 'x'\nmaterial = 'y'\noutline = 'Q'", "remnant.0.outline"),
        ("[shelf]", "shelf"),
        ("[at_hand", "TOML"),
    ],
)
def test_a_bad_stock_file_is_one_line(text: str, says: str, tmp_path: FilePath) -> None:
    file = tmp_path / "stock.toml"
    file.write_text(text)
    with pytest.raises(JobError, match=r".") as caught:
        read_stock(file)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
