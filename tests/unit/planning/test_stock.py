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
from nesting.planning.plan import Entry, LaidFrom, Plan, SearchRecord
from nesting.planning.remnants import largest_rectangle, leftovers
from nesting.planning.shopping import shopping_list
from nesting.planning.stock import (
    Stock,
    after_cutting,
    plan_mark,
    read_stock,
    stock_text,
    with_stock,
)

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
    assert after.lengths["canvas"] == ()  # 400 less 320 / 0.95 are 63 mm: not worth keeping
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
        ("[at_hand]\ncanvas = ['3 m', '-1 m']", "less than nothing"),
        ("[at_hand]\ncanvas = ['3 m', 2]", "at_hand.canvas"),
        ("[at_hand]\nfoam = inf", "at_hand.foam"),
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


def laid(rolls: tuple[float, ...], *lines: LaidFrom, plies: int = 3) -> Plan:
    """Return a plan of one cloth, a marker of 300 mm (with ends 320) from rolls."""
    cloth = replace(CANVAS, shrinkage=Shrinkage(), rolls=rolls)
    part = Part(name="square", piece=SQUARE)
    marker = Marker(
        lay=Lay(name="canvas", parts=(part,), stock=Strip(width=1380)),
        placements=(Placement(part=0, x=0, y=0),),
    )
    bag = Bag(name="bag", pieces=(SQUARE,), cuts=(Cut(piece="square", material="canvas"),))
    of = replace(entry(cloth, marker, 300.0, plies=plies), laid_from=lines)
    job = Job(name="job", bags=(bag,), materials=(cloth,))
    return Plan(job=job, entries=(of,), seconds=1.0, program="test")


def at_hand(*lengths: float) -> Stock:
    return Stock(lengths={"canvas": lengths}, counts={})


def test_each_roll_is_shorter_by_what_was_cut_from_it() -> None:
    rolls = (1000.0, 2000.0)
    plan = laid(
        rolls,
        LaidFrom(spread=0, plies=1, rolls=(1,)),
        LaidFrom(spread=0, plies=2, rolls=(2,)),
    )
    assert after_cutting(at_hand(*rolls), plan).lengths["canvas"] == pytest.approx((680, 1360))
    # Another length came to the shelf meanwhile, and their order changed.
    after = after_cutting(at_hand(2000.0, 700.0, 1000.0), plan)
    assert after.lengths["canvas"] == pytest.approx((1360, 700, 680))
    with pytest.raises(JobError, match="from a length of 200 cm, which is not at hand"):
        after_cutting(at_hand(1000.0, 1500.0), plan)


def test_a_spliced_ply_takes_from_both_rolls() -> None:
    # 10 mm end + 180 mm from one, 320 − 10 − 150 = 160 mm from the other.
    plan = laid(
        (500.0, 600.0),
        LaidFrom(spread=0, plies=1, rolls=(1, 2), splice=(150.0, 180.0)),
        plies=1,
    )
    assert after_cutting(at_hand(500.0, 600.0), plan).lengths["canvas"] == (310.0, 440.0)


def test_new_cloth_leaves_the_end_of_what_was_bought() -> None:
    # Two plies of 320 mm new: 640 mm, sold in steps of 250 mm: 750, of which 110 are left.
    plan = laid(
        (400.0,), LaidFrom(spread=0, plies=1, rolls=(1,)), LaidFrom(spread=0, plies=2, rolls=(0,))
    )
    assert after_cutting(at_hand(400.0), plan).lengths["canvas"] == pytest.approx((110.0,))
    assert shopping_list(plan).lines[0].to_buy == 750.0


def test_a_plan_that_knew_no_rolls_is_cut_from_the_shortest_that_holds_a_ply() -> None:
    plan = laid((), plies=2)
    after = after_cutting(at_hand(300.0, 1000.0, 500.0), plan)
    assert after.lengths["canvas"] == (300.0, 680.0, 180.0)


def test_several_lengths_are_read_written_and_laid_from(tmp_path: FilePath) -> None:
    file = tmp_path / "stock.toml"
    file.write_text("[at_hand]\ncanvas = ['2.4 m', '90 cm']\nlining = []\n")
    stock = read_stock(file)
    assert stock.lengths == {"canvas": (2400.0, 900.0), "lining": ()}
    assert stock.at_hand == {"canvas": 3300.0, "lining": 0.0}
    (cloth,) = with_stock(laid(()).job, stock).materials
    assert isinstance(cloth, Cloth)
    assert cloth.rolls == (2400.0, 900.0)
    file.write_text(stock_text(stock))
    assert read_stock(file) == stock
