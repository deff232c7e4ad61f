"""Worked examples of the trade, as printed, with the page beside each.

The pages are trade blogs and suppliers: they show what makers reckon, not a standard.
"""

import math

import pytest

from nesting.errors import JobError
from nesting.material.sums import (
    before_shrinking,
    cloth_for_area,
    gross_area,
    shrinkage,
    with_waste_added,
)
from nesting.pattern.strips import (
    bias_strips,
    binding_length,
    binding_square,
    continuous_binding,
    joined_bias,
    joined_strip,
    strap_interfacing,
    strap_width,
)
from nesting.planning.buying.repeats import (
    lost_to_repeats,
    matched_length,
    motif_columns,
    motif_length,
    simple_matched_length,
    stacked_extra,
)
from nesting.planning.orders.ratios import Rules
from nesting.planning.orders.spreads import cut_plan
from nesting.units import AREA_UNITS, area, round_up
from nesting.units import length as mm

IN = 25.4
YD = 914.4
CM = 10.0
SQ_IN = IN * IN
SQ_FT = 144 * SQ_IN
"""International yard and pound agreement, 1959: 1 in = 25.4 mm, 1 yd = 914.4 mm."""


# ---- repeats


@pytest.mark.parametrize(
    ("cut", "repeat", "repeats", "length"),
    [
        (116, 25, 5, 125),  # workroom threads, August 2011
        (96, 27, 4, 108),  # diyideas
        (100, 8, 13, 104),  # freelivecalculators
    ],
)
def test_a_drop_takes_whole_repeats(cut, repeat, repeats, length):
    found = matched_length(cut * IN, repeat=repeat * IN)
    assert found == pytest.approx(length * IN)
    assert found / (repeat * IN) == pytest.approx(repeats)


def test_four_drops_with_and_without_a_repeat():
    # et-wholesale.com.au: 240 cm drops, repeat 37 cm: 259 cm each; × 4 is our own product.
    assert matched_length(240 * CM, repeat=37 * CM) == pytest.approx(259 * CM)
    assert matched_length(240 * CM, repeat=37 * CM, drops=4) == pytest.approx(1036 * CM)
    # Without a repeat it is 960 cm: the print costs 76 cm.
    assert matched_length(240 * CM, repeat=1.0, drops=4) == pytest.approx(960 * CM)


def test_the_simple_way_of_matching():
    # curtainsandfabx
    assert simple_matched_length(135 * IN, repeat=27 * IN, drops=4) == pytest.approx(648 * IN)


def test_whole_repeats_are_not_rounded_up_further():
    assert matched_length(3 * 64.0, repeat=64.0) == pytest.approx(192.0)


def test_a_part_on_a_print_loses_half_a_repeat_on_average_each_way():
    # Derived: what is next to a part may end anywhere in the repeat, each place as often.
    along, across, steps = 320.0, 250.0, 200
    waits = [
        matched_length((k + 0.5) / steps * repeat, repeat=repeat) - (k + 0.5) / steps * repeat
        for repeat in (along, across)
        for k in range(steps)
    ]
    for repeat, of in ((along, waits[:steps]), (across, waits[steps:])):
        assert math.fsum(of) / steps == pytest.approx(repeat / 2)
    boxes = [(300 + x) * (200 + y) for x in waits[:steps] for y in waits[steps:]]
    found = lost_to_repeats(300.0, width=200.0, along=along, across=across)
    assert found == pytest.approx(math.fsum(boxes) / len(boxes) - 300 * 200)


def test_a_stripe_costs_nothing_the_other_way():
    assert lost_to_repeats(300.0, width=200.0, along=0.0, across=50.0) == pytest.approx(300 * 25)
    assert lost_to_repeats(300.0, width=200.0, along=0.0, across=0.0) == 0.0


@pytest.mark.parametrize(("repeat", "extra"), [(1.25, 2.5), (4.25, 8.5)])
def test_stacked_plaid(repeat, extra):
    # galafabrics.blogspot, November 2010
    assert stacked_extra(repeat * IN, stacked=2) == pytest.approx(extra * IN)


def test_one_whole_repeat_for_a_panel_that_is_shorter():
    # stitchedbykiriaki: a cushion panel needs a whole repeat even if it is shorter.
    assert motif_length(1, columns=1, part=45 * CM, along=64 * CM) == pytest.approx(64 * CM)


def test_motifs_side_by_side():
    # Derived: floor((W - w) / H) + 1 windows; counted here one by one.
    for width in (1000.0, 1370.0, 1480.0):
        for part in (200.0, 640.0, 641.0, 700.0):
            places = [k * 640.0 for k in range(10) if k * 640.0 + part <= width]
            taken, free_from = 0, -math.inf
            for x in places:
                if x >= free_from:
                    taken, free_from = taken + 1, x + part
            assert motif_columns(width, part=part, across=640.0) == taken
    assert motif_columns(100.0, part=200.0, across=64.0) == 0


# ---- bias


@pytest.mark.parametrize(
    ("length", "strip", "side"),
    [
        (250, 2, 23),  # mydecozo: 500, root 22.36
        (100, 3.5, 19),  # quiltersquestiontime: 350, root 18.71
        (300, 3, 30),  # wealth365
        (55, 2.5, 12),  # mixedupcreativeacademy: 137.5, root 11.73
    ],
)
def test_square_for_binding(length, strip, side):
    found = binding_square(length * IN, strip=strip * IN, step=IN)
    assert found == pytest.approx(side * IN)


def test_binding_from_a_square():
    # mydecozo: a 20 in square gives 200 in of 2 in binding.
    assert binding_length(400 * SQ_IN, strip=2 * IN) == pytest.approx(200 * IN)
    assert continuous_binding(20 * IN, width=20 * IN, strip=2 * IN, seam=0.0) == (
        pytest.approx(200 * IN)
    )


def test_continuous_binding_with_its_seam():
    # victoryautony: 22 in square, 3 in strip, 1/4 in seam: 21.75² = 473.06; the quotient is ours.
    found = continuous_binding(22 * IN, width=22 * IN, strip=3 * IN, seam=0.25 * IN)
    assert found / IN == pytest.approx(157.7, abs=0.05)
    assert found * 3 * IN / SQ_IN == pytest.approx(473.06, abs=0.005)


def test_a_rectangle_large_enough():
    # 38 × 17 in for 275 in of 2 1/4 in (618.75 in²).
    assert binding_length(618.75 * SQ_IN, strip=2.25 * IN) / IN == pytest.approx(275.0)
    assert binding_length(38 * 17 * SQ_IN, strip=2.25 * IN) >= 275 * IN


def test_cloth_for_binding():
    # ronbd: 648 in² from cloth 43 in wide: 15.07 in.
    assert cloth_for_area(648 * SQ_IN, width=43 * IN) / IN == pytest.approx(15.07, abs=0.005)


def test_separate_strips_lie_within_their_rectangle_and_lose_what_they_must():
    # Derived: each strip is a parallelogram in the rectangle; no area is used twice.
    for length, width, strip in ((500, 500, 50), (1370, 300, 40), (300, 1370, 40), (900, 600, 65)):
        strips = bias_strips(length, width=width, strip=strip)
        assert all(piece <= math.sqrt(2) * min(length, width) + 1e-9 for piece in strips)
        used = sum(strips) * strip
        assert used <= length * width
        # Two corner triangles and the slanting ends are lost: little on a long rectangle.
        assert used >= length * width - min(length, width) ** 2 - 2.0 * strip * (length + width)


def test_a_long_rectangle_gives_full_strips():
    # 1000 × 100 mm, strips of 100/√2 mm: each step is 100 mm along the cloth; the lines go
    # through the corners, so nine strips of √2 × 100 mm lie between the two corner triangles.
    strips = bias_strips(1000.0, width=100.0, strip=100.0 / math.sqrt(2.0))
    assert strips == pytest.approx([100.0 * math.sqrt(2.0)] * 9)


def test_joined_strips_lose_at_each_seam():
    found = joined_bias(1000.0, width=100.0, strip=100.0 / math.sqrt(2.0), seam=5.0)
    assert found.joins == 8
    assert found.lost == pytest.approx(8 * 2 * 5 * math.sqrt(2.0))
    assert found.length == pytest.approx(900 * math.sqrt(2.0) - found.lost)


# ---- straps


def test_straps_folded_in_four():
    # getasquiltingstudio, April 2023: 1 1/8 in webbing, cut 4 1/2 in.
    assert strap_width(1.125 * IN) == pytest.approx(4.5 * IN)


@pytest.mark.parametrize(("cut", "interfacing"), [(5, 3.75), (6, 4.5)])
def test_interfacing_of_a_strap(cut, interfacing):
    # sewmamasew, July 2007
    assert strap_interfacing(cut * IN) == pytest.approx(interfacing * IN)


def test_a_strap_longer_than_the_cloth_is_joined_from_equal_pieces():
    # Derived: n pieces p with n·p − (n − 1)·join = length, and n − 1 pieces are too few.
    assert joined_strip(900.0, longest=1000.0, per_join=20.0).joins == 0
    for length, longest in ((1001.0, 1000.0), (1980.0, 1000.0), (1981.0, 1000.0), (5000.0, 700.0)):
        found = joined_strip(length, longest=longest, per_join=20.0)
        assert found.length == pytest.approx(length)
        assert max(found.pieces) <= longest + 1e-6
        fewer = found.joins
        assert fewer * longest - (fewer - 1) * 20.0 < length


def test_pieces_too_short_to_join_are_refused():
    with pytest.raises(JobError, match="can't be joined"):
        joined_strip(1000.0, longest=20.0, per_join=20.0)


# ---- consumption and lays


def test_shirt_by_rectangles():
    # textilecalculations.com, in inches: (A + 3)(B + 3) · 2 + (C + 2)(2D + 2) · 2, which is
    # 3,016 in² for A = 32, B = 25, C = 22 and D = 10.
    assert cloth_for_area(3016 * SQ_IN, width=44 * IN) / IN == pytest.approx(68.545, abs=5e-4)


def test_trousers_by_rectangles():
    # textilecalculations.com: (40 + 4)(13 + 2) · 4 = 2,640 in².
    assert cloth_for_area(2640 * SQ_IN, width=60 * IN) / IN == pytest.approx(44)


def test_woven_shirt():
    # definetextile, January 2014: 20,756 cm², which it takes for 3,217.19 in².
    assert area("20756 cm²") / AREA_UNITS["in²"] == pytest.approx(3217.19, abs=0.02)
    length = cloth_for_area(area("20756 cm²"), width=56 * IN)
    assert length / IN == pytest.approx(57.45, abs=0.005)
    assert length / YD == pytest.approx(1.596, abs=5e-4)
    dozen = 12 * round(length / YD, 1)
    assert dozen == pytest.approx(19.2)
    bought = cloth_for_area(dozen * YD * 56 * IN, width=56 * IN, extra=0.05) / YD
    assert bought == pytest.approx(20.16)
    assert bought * 2.50 == pytest.approx(50.40)


def test_lays_for_an_order():
    # autogarment.com: 12 in a marker of 25 yd, 200 plies, 1,000 dozen, 3 % more.
    plan = cut_plan(
        [12_000],
        lambda ratio: 25 * YD * ratio[0] / 12 if ratio[0] == 12 else None,
        rules=Rules(plies=200, bags=12),
    )
    assert len(plan.spreads) == 5
    assert plan.cloth / YD == pytest.approx(25_000)
    assert cloth_for_area(plan.cloth * 1.0, width=1.0, extra=0.03) / YD == pytest.approx(25_750)


# ---- shrinkage


@pytest.mark.parametrize(("need", "share", "buy"), [(3, 0.05, 3.158), (4, 0.10, 4.444)])
def test_what_to_buy_before_washing(need, share, buy):
    # tools.gera.services
    assert before_shrinking(need * YD, share=share) / YD == pytest.approx(buy, abs=5e-4)


def test_measured_shrinkage():
    # kembrel: 20 to 17 is 15 %.
    assert shrinkage(20.0, after=17.0) == pytest.approx(0.15)
    assert before_shrinking(17.0, share=shrinkage(20.0, after=17.0)) == pytest.approx(20.0)


@pytest.mark.parametrize("share", [1.0, 1.5, -0.1, math.nan])
def test_impossible_shares_are_refused(share):
    with pytest.raises(JobError, match="must be from 0"):
        before_shrinking(1.0, share=share)
    with pytest.raises(JobError, match="must be from 0"):
        gross_area(1.0, waste=share)


def test_shop_steps():
    # hookedonsewing.com: 1/8 yd is 4 1/2 in, 5/8 yd 22 1/2 in, 7/8 yd 31 1/2 in.
    eighth = mm("1/8 yd")
    for eighths, inches in ((1, 4.5), (5, 22.5), (7, 31.5)):
        assert mm(f"{eighths}/8 yd") == pytest.approx(inches * IN)
        assert round_up(inches * IN, step=eighth) == pytest.approx(inches * IN)
        assert round_up((inches - 1) * IN, step=eighth) == pytest.approx(inches * IN)


# ---- leather


@pytest.mark.parametrize(("yards", "feet"), [(3, 54), (11, 198), (1, 18)])
def test_leather_for_cloth(yards, feet):
    # keleenleathers, garrettleather, cortinaleathers: 18 ft² for a yard of 54 in, which is its
    # area and a quarter of the leather as waste.
    assert gross_area(yards * YD * 54 * IN, waste=0.25) / SQ_FT == pytest.approx(feet)


def test_leather_for_a_yard_of_36_in():
    # cortinaleathers: 12 ft². (Their 16 ft² for 50 in is rounded down from 16.67.)
    assert gross_area(YD * 36 * IN, waste=0.25) / SQ_FT == pytest.approx(12)
    assert math.floor(gross_area(YD * 50 * IN, waste=0.25) / SQ_FT) == 16


def test_leather_for_six_pads():
    # keleenleathers: six pads of 24 × 24 in are 24 ft² net; half a yard of 54 in each: 54 ft².
    net = area(f"{6 * 24 * 24} in²")
    assert net == pytest.approx(area("24 ft²"))
    assert 6 * gross_area(0.5 * YD * 54 * IN, waste=0.25) / SQ_FT == pytest.approx(54)


@pytest.mark.parametrize(("share", "gross"), [(0.70, 142.86), (0.50, 200.0)])
def test_gross_from_the_yield(share, gross):
    # keleenleathers.com, cutting yield
    assert gross_area(100.0, waste=1.0 - share) == pytest.approx(gross, abs=0.005)


@pytest.mark.parametrize(("width", "net", "gross"), [(36, 27, 33), (45, 33, 40), (54, 39, 47)])
def test_net_and_a_fifth_rounded_up(width, net, gross):
    # leathertreasureshop: 3 yd; 9, 11 and 13 ft² a yard, + 20 % rounded up.
    per_yard = math.floor(YD * width * IN / SQ_FT)
    assert 3 * per_yard == net
    assert with_waste_added(net * SQ_FT, share=0.20, unit=SQ_FT) / SQ_FT == pytest.approx(gross)


def test_area_of_a_length_of_goods():
    # microfiberleather.com: goods 1.37 m wide; 1 m is 14.7 ft², 1 yd 13.5 ft².
    for length, feet in ((1000.0, 14.7), (YD, 13.5)):
        goods = gross_area(length * 1370.0, waste=0.0)
        assert goods / AREA_UNITS["ft²"] == pytest.approx(feet, abs=0.05)


def test_square_feet_and_square_decimetres():
    # 1 ft² = 9.290304 dm² exactly, since 1 ft = 3.048 dm (agreement of 1959); 1 m² = 10.7639 ft².
    assert area("1 ft²") == pytest.approx(9.290304 * AREA_UNITS["dm²"], rel=1e-15)
    assert area("1 m²") / AREA_UNITS["ft²"] == pytest.approx(10.7639, abs=5e-5)


def test_a_quarter_of_waste_is_a_third_more():
    # gloverbros has 25 % of waste, rodenleather net × 1.25: not the same.
    assert gross_area(3.0, waste=0.25) == pytest.approx(4.0)
    assert gross_area(3.0, waste=0.20) == pytest.approx(3.0 * 1.25)
