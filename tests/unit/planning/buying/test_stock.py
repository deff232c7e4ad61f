from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from pathlib import Path as FilePath

import pytest
from shapely import box

from nesting import read_job
from nesting.errors import Finding, JobError
from nesting.job.job import Bag, Cut, Job, Notion
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Cloth, Material, Remnant, SheetGoods, Shrinkage, Width
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import polygon
from nesting.pattern.svg_path import parse_path
from nesting.planning.buying.book import plan_mark
from nesting.planning.buying.bought import buying
from nesting.planning.buying.largest_rectangle import largest_rectangle
from nesting.planning.buying.remnants import leftovers
from nesting.planning.buying.settle import reckoned
from nesting.planning.buying.shopping import shopping_list
from nesting.planning.buying.stock import (
    Stock,
    after_cutting,
    read_stock,
    stock_from_text,
    write_stock,
)
from nesting.planning.plan import Entry, Plan
from nesting.planning.plan_file import plan_text
from nesting.planning.records import LaidFrom, SearchRecord
from nesting.quantity import Quantity, Unit, of_length

RECORD = SearchRecord(
    stopped="time",
    seconds=1.0,
    first_seconds=0.1,
    first_length=400.0,
    rounds=1,
    seed=1,
    workers=1,
    bound=Quantity(300.0, Unit.LENGTH),
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


def test_the_buying_list_rounds_once(plan: Plan) -> None:
    # need / (1 - s), trade arithmetic of gera.services: 320 / 0.95 = 336.84, up to 500.
    lines = {line.name: line for line in shopping_list(plan).lines}
    assert lines["canvas"].gross.value == pytest.approx(320 / 0.95)
    assert lines["canvas"].to_buy.value == 500
    assert lines["canvas"].cost == 10.0
    assert lines["foam"].to_buy.value == 1  # the remnant is not bought
    assert lines["zip"].to_buy.value == 3.0
    assert shopping_list(plan).cost == 10.0 + 8.0 + 6.0
    assert shopping_list(plan).cost_per_bag == 12.0


def test_a_missing_price_is_said_not_counted_as_nothing(plan: Plan) -> None:
    priceless = replace(FOAM, price=None)
    marker = plan.entries[0].marker
    sums = shopping_list(replace(plan, entries=(entry(priceless, marker, 700.0),)))
    assert sums.cost is None
    assert sums.unpriced == ("foam",)


def test_a_cut_plan_updates_the_stock_once(plan: Plan, tmp_path: FilePath) -> None:
    file = tmp_path / "stock.toml"
    file.write_text(
        '# the shelf\n[at_hand]\n"canvas" = "40 cm"\nzip = 2  # brass\n'
        '[[remnant]]\nname = "old"\nmaterial = "foam"\noutline = "M0 0H400V400H0Z"\n'
        '[[remnant]]\nname = "other"\nmaterial = "foam"\noutline = "M0 0H90V90H0Z"\n'
    )
    stock = read_stock(file)
    plan = replace(plan, job=replace(plan.job, at_hand=(("zip", 2.0),)))
    taken = after_cutting(stock, plan)
    after = taken.stock
    # The plan was made without the 40 cm and buys all of its cloth: they stay.
    assert lengths_of(after, "canvas") == [400.0]
    assert after.table.at_hand["zip"].number == 0
    names = [remnant.name for remnant in after.table.remnant]
    assert "old" not in names
    assert "other" in names
    assert after.cut == (plan_mark(plan),)
    assert after.text.startswith("# the shelf\n[at_hand]\n")
    assert "zip = 0  # brass\n" in after.text
    write_stock(after, file)
    again = read_stock(file)
    assert again.table == after.table
    with pytest.raises(JobError, match="before"):
        after_cutting(again, plan)


def test_what_a_plan_tells_besides_leaves_its_mark_as_it_is(plan: Plan) -> None:
    more = replace(
        plan.entries[0],
        findings=(Finding(kind="far", text="mates lie far apart"),),
        unmatched=290.0,
        search=replace(RECORD, bound=Quantity(310.0, Unit.LENGTH)),
    )
    told = replace(plan, entries=(more, *plan.entries[1:]), program="test 9", spare=0.05)
    assert plan_text(told) != plan_text(plan)
    assert plan_mark(told) == plan_mark(plan)


def test_a_plan_has_a_mark_of_its_own(plan: Plan) -> None:
    foam, canvas = plan.entries
    moved = replace(foam.marker.placements[0], x=1.0)
    others = [
        replace(plan, seconds=1.25),  # the same job, laid and cut once more
        replace(plan, job=replace(plan.job, name="other")),
        replace(plan, entries=(foam, replace(canvas, spreads=(2,)))),
        replace(
            plan,
            entries=(foam, replace(canvas, buying=replace(canvas.buying, from_stock=of_length(9)))),
        ),
        replace(
            plan,
            entries=(
                replace(
                    foam,
                    marker=replace(foam.marker, placements=(moved, *foam.marker.placements[1:])),
                ),
                canvas,
            ),
        ),
    ]
    marks = {plan_mark(one) for one in (plan, *others)}
    assert len(marks) == len(others) + 1


def test_what_a_mark_is_made_of_stays(plan: Plan) -> None:
    # Spelled out: marks stand in users' files, which later versions have to know.
    foam = {
        "material": "foam",
        "width": None,
        "parts": [["square", 0, 0, 0.0, False, 0], ["square", 0, 0, 0.0, False, 1]],
        "sheets": [0, 1],
        "spreads": [1],
        "rolls": [],
        "used up": ["old"],
        "from stock": 0.0,
    }
    canvas = {
        "material": "canvas",
        "width": 1400,
        "parts": [["square", 0, 0, 0.0, False, 0]],
        "sheets": [],
        "spreads": [1],
        "rolls": [],
        "used up": [],
        "from stock": 0.0,
    }
    whole = {"job": "job", "seconds": 1.0, "at hand": [], "markers": [foam, canvas]}
    text = json.dumps(whole, sort_keys=True, ensure_ascii=False)
    assert plan_mark(plan) == hashlib.sha256(text.encode()).hexdigest()[:16]


def test_a_plan_that_was_taken_off_under_its_old_mark_is_known(plan: Plan) -> None:
    old = hashlib.sha256(plan_text(plan).encode()).hexdigest()[:16]
    stock = stock_from_text(f'[at_hand]\nzip = 9\n[book]\ncut = ["{old}"]\n')
    with pytest.raises(JobError, match="was taken off the stock before"):
        after_cutting(stock, plan)


def test_a_stock_that_is_too_short_is_refused_in_one_line(plan: Plan) -> None:
    job = replace(plan.job, at_hand=(("zip", 3.0),))
    stock = stock_from_text("[at_hand]\nzip = 1\n", file="shelf.toml")
    with pytest.raises(JobError) as caught:
        after_cutting(stock, replace(plan, job=job))
    assert str(caught.value) == (
        "shelf.toml: too little is at hand: the plan uses 3 of zip, 1 are there"
        " (used meanwhile? Nothing was taken off: count again, put the file right)"
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[at_hand]\ncanvas = '3 furlongs'", "at_hand.canvas"),
        ("[at_hand]\ncanvas = '-3 m'", "less than nothing"),
        ("[at_hand]\ncanvas = ['3 m', '-1 m']", "less than nothing"),
        ("[at_hand]\ncanvas = [{ width = '1 m' }]", "must have a length"),
        ("[at_hand]\ncanvas = [{ length = '1 m', wdth = '1 m' }]", "may have a width"),
        ("unit = 'furlong'\n[at_hand]\ncanvas = '3 m'", "unit"),
        ("[at_hand]\nfoam = inf", "at_hand.foam"),
        ("[[remnant]]\nname = 'x'\nmaterial = 'y'\noutline = 'Q'", "remnant.x.outline"),
        ("[shelf]", "shelf"),
        ("[at_hand", "1"),
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
    cloth = replace(CANVAS, shrinkage=Shrinkage(), rolls=rolls, roll_widths=(1400.0,) * len(rolls))
    part = Part(name="square", piece=SQUARE)
    marker = Marker(
        lay=Lay(name="canvas", parts=(part,), stock=Strip(width=1380)),
        placements=(Placement(part=0, x=0, y=0),),
    )
    bag = Bag(name="bag", pieces=(SQUARE,), cuts=(Cut(piece="square", material="canvas"),))
    (of,) = reckoned((replace(entry(cloth, marker, 300.0, plies=plies), laid_from=lines),), cloth)
    job = Job(name="job", bags=(bag,), materials=(cloth,))
    return Plan(job=job, entries=(of,), seconds=1.0, program="test")


def at_hand(*lengths: float) -> Stock:
    listed = ", ".join(f'"{mm:g} mm"' for mm in lengths)
    return stock_from_text(f"[at_hand]\ncanvas = [{listed}]\n")


def lengths_of(stock: Stock, name: str) -> list[float]:
    return [one.value for one in stock.table.at_hand[name].lengths]


def left(stock: Stock, plan: Plan) -> list[float]:
    return lengths_of(after_cutting(stock, plan).stock, "canvas")


def test_each_roll_is_shorter_by_what_was_cut_from_it() -> None:
    rolls = (1000.0, 2000.0)
    plan = laid(
        rolls,
        LaidFrom(spread=0, plies=1, rolls=(1,)),
        LaidFrom(spread=0, plies=2, rolls=(2,)),
    )
    assert left(at_hand(*rolls), plan) == pytest.approx((680, 1360))
    # Another length came to the shelf meanwhile, and their order changed.
    assert left(at_hand(2000.0, 700.0, 1000.0), plan) == pytest.approx((1360, 700, 680))
    with pytest.raises(JobError, match=r"from a length of 200 cm .* which is not at hand"):
        after_cutting(at_hand(1000.0, 1500.0), plan)


def test_a_length_of_another_width_is_never_cut() -> None:
    plan = laid((1000.0,), LaidFrom(spread=0, plies=1, rolls=(1,)), plies=1)
    wide = stock_from_text('[at_hand]\ncanvas = [{ length = "1 m", width = "120 cm" }]\n')
    with pytest.raises(JobError, match=r"140 cm wide, which is not at hand"):
        after_cutting(wide, plan)
    both = stock_from_text(
        '[at_hand]\ncanvas = [{ length = "1 m", width = "120 cm" }, "100 cm"]  # ends\n'
    )
    after = after_cutting(both, plan).stock
    assert after.text.startswith(
        '[at_hand]\ncanvas = [{ length = "1 m", width = "120 cm" }, "68 cm"]  # ends\n'
    )


def test_a_length_is_written_in_the_unit_it_had() -> None:
    yard = 914.4
    plan = laid((yard,), LaidFrom(spread=0, plies=1, rolls=(1,)), plies=1)
    stock = stock_from_text('[at_hand]\ncanvas = "1 yd"\n')
    # (914.4 − 320) / 914.4
    assert 'canvas = "0.65 yd"' in after_cutting(stock, plan).stock.text
    stock = stock_from_text('unit = "in"\n[at_hand]\ncanvas = 36\n')
    assert "canvas = 23.402\n" in after_cutting(stock, plan).stock.text


def test_a_spliced_ply_takes_from_both_rolls() -> None:
    # 10 mm end + 180 mm from one, 320 − 10 − 150 = 160 mm from the other.
    plan = laid(
        (500.0, 600.0),
        LaidFrom(spread=0, plies=1, rolls=(1, 2), splice=(150.0, 180.0)),
        plies=1,
    )
    assert left(at_hand(500.0, 600.0), plan) == [310.0, 440.0]


def test_new_cloth_leaves_the_end_of_what_was_bought() -> None:
    # Two plies of 320 mm new: 640 mm, sold in steps of 250 mm: 750, of which 110 are left.
    plan = laid(
        (400.0,), LaidFrom(spread=0, plies=1, rolls=(1,)), LaidFrom(spread=0, plies=2, rolls=(0,))
    )
    assert left(at_hand(400.0), plan) == pytest.approx([110.0])
    assert shopping_list(plan).lines[0].to_buy.value == 750.0


def test_the_end_of_the_only_ply_is_one_left_over_with_what_is_beside_the_parts() -> None:
    # 320 mm bought as 500: of 490 × 1380 from the marker's start a square of 300 is cut,
    # half a millimetre about it stays free.
    plan = laid((), plies=1)
    taken = after_cutting(stock_from_text(""), plan)
    (remnant,) = taken.stock.table.remnant
    area = polygon(parse_path(remnant.outline)[0]).area
    assert area == pytest.approx(490 * 1380 - 300.5 * 300.5, rel=1e-4)
    assert "canvas" not in taken.stock.table.at_hand
    # From a length of 600 mm it is what is left of that.
    plan = laid((600.0,), LaidFrom(spread=0, plies=1, rolls=(1,)), plies=1)
    after = after_cutting(at_hand(600.0), plan).stock
    (remnant,) = after.table.remnant
    assert polygon(parse_path(remnant.outline)[0]).area == pytest.approx(
        590 * 1380 - 300.5 * 300.5, rel=1e-4
    )
    assert lengths_of(after, "canvas") == []
    # A longer end is a length, and only what is beside the parts a remnant.
    plan = laid((1000.0,), LaidFrom(spread=0, plies=1, rolls=(1,)), plies=1)
    after = after_cutting(at_hand(1000.0), plan).stock
    assert lengths_of(after, "canvas") == [680.0]
    (remnant,) = after.table.remnant
    assert polygon(parse_path(remnant.outline)[0]).area == pytest.approx(
        300 * 1380 - 300 * 300.5, rel=1e-3
    )


@pytest.mark.parametrize("included", [True, False])
def test_a_stock_file_is_the_same_included_or_named(included: bool, tmp_path: FilePath) -> None:
    (tmp_path / "stock.toml").write_text(
        'unit = "in"\n[at_hand]\ncanvas = ["2 m", { length = 36, width = "54 in" }]\n'
        'foam = 2\nzip = "50 cm"\n'
        '[[remnant]]\nname = "r"\nmaterial = "foam"\ncircle = 20\n'
    )
    text = (
        '[job]\nname = "j"\n[[piece]]\nname = "p"\nrectangle = [100, 100]\n'
        '[[cloth]]\nname = "canvas"\nwidths = ["110 cm", "137 cm"]\n'
        '[[sheet]]\nname = "foam"\nsize = [500, 500]\n'
        '[[cut]]\npiece = "p"\nmaterial = ["canvas", "foam"]\n'
        '[[notion]]\nname = "zip"\nquantity = 0.3\nunit = "m"\n'
    )
    file = tmp_path / "job.toml"
    file.write_text(('include = "stock.toml"\n' if included else "") + text)
    job = read_job(file, stock=tmp_path / "stock.toml")
    canvas, foam = job.materials
    assert isinstance(canvas, Cloth)
    assert isinstance(foam, SheetGoods)
    assert canvas.rolls == (2000.0, 914.4)
    # 54 in are the 137 cm that are on sale; a bare length has the first width.
    assert canvas.roll_widths == (1100.0, 1370.0)
    assert [len(canvas.rolls_of(width)) for width in canvas.widths] == [1, 1]
    assert (foam.at_hand, [r.name for r in foam.remnants]) == (2, ["r"])
    assert job.at_hand == (("zip", 0.5),)
    assert any("without a width" in said for said in job.assumptions)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("canvas = 3", "its lengths need a unit"),
        ("foam = '3 m'", "comes in sheets"),
        ("foam = 2.5", "comes in sheets"),
        ("hide = 2", "hide by hide"),
        ("zip = '3 m'", "must be a number"),
    ],
)
def test_stock_that_is_of_another_kind_is_refused(line: str, says: str, tmp_path: FilePath) -> None:
    (tmp_path / "stock.toml").write_text(f"[at_hand]\n{line}\n")
    (tmp_path / "job.toml").write_text(
        '[job]\nname = "j"\n[[piece]]\nname = "p"\nrectangle = [100, 100]\n'
        '[[cloth]]\nname = "canvas"\nwidth = "110 cm"\n'
        '[[sheet]]\nname = "foam"\nsize = [500, 500]\n'
        '[[leather]]\nname = "hide"\n[[leather.hide]]\nname = "one"\nrectangle = [900, 900]\n'
        '[[cut]]\npiece = "p"\nmaterial = ["canvas", "foam", "hide"]\n'
        '[[notion]]\nname = "zip"\n'
    )
    with pytest.raises(JobError, match=says) as caught:
        read_job(tmp_path / "job.toml", stock=tmp_path / "stock.toml")
    assert "at_hand" in str(caught.value)
    assert caught.value.line == 2
