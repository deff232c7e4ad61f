"""The judge finds every kind of fault, says how much, and lets good markers pass."""

import math
from dataclasses import replace

import pytest

from nesting.errors import Finding, Severity
from nesting.marker.check import check, is_good
from nesting.marker.lay import (
    Binding,
    Edge,
    Lattice,
    Lay,
    Part,
    Region,
    Sheet,
    Sheets,
    Strip,
    Turns,
)
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Affine, Arc, Path
from nesting.pattern.piece import Piece
from nesting.tolerance import TOLERANCE


def ring(*points):
    return Path.polyline(points, closed=True)


def box(x0, y0, x1, y1):
    return ring((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def circle(x, y, r):
    return Path((Arc((x, y), (r, 0.0), (0.0, r), 0.0, 2.0 * math.pi),))


def part(name, outline=None, holes=(), **rules):
    return Part(
        name=name, piece=Piece(name=name, cut=outline or box(0, 0, 100, 50), holes=holes), **rules
    )


def at(*places, **same):
    return tuple(
        Placement(part=i, x=float(x), y=float(y), **same) for i, (x, y) in enumerate(places)
    )


def on_strip(parts, placements, *, width=200.0, longest=None, spacing=0.0):
    stock = Strip(width=width, longest=longest)
    lay = Lay(name="lay", parts=tuple(parts), stock=stock, spacing=spacing)
    return Marker(lay=lay, placements=tuple(placements))


def on_sheets(parts, placements, *, sheets, used=(0,), margin=0.0, spacing=0.0):
    stock = Sheets(sheets=tuple(sheets), margin=margin)
    lay = Lay(name="lay", parts=tuple(parts), stock=stock, spacing=spacing)
    return Marker(lay=lay, placements=tuple(placements), sheets=tuple(used))


def only(marker) -> Finding:
    findings = check(marker)
    assert len(findings) == 1, findings
    return findings[0]


SHEET = Sheet(name="hide", outline=box(0, 0, 400, 300))
A, B = part("a"), part("b")


# ---- overlap and gap


def test_touching_parts_are_good():
    assert check(on_strip([A, B, part("c")], at((0, 0), (100, 0), (0, 50)))) == ()


@pytest.mark.parametrize("depth", [3e-4, 0.01, 1.0, 20.0])
def test_overlap_says_depth_area_and_place(depth):
    finding = only(on_strip([A, B], at((0, 0), (100 - depth, 10))))
    assert finding.kind == "overlap"
    assert finding.parts == ("a", "b")
    assert finding.amount == pytest.approx(depth, rel=2e-3)
    assert f"{depth * 40:.4g} mm²" in finding.text
    assert 100 - depth <= finding.at[0] <= 100
    assert 10 <= finding.at[1] <= 50


def test_overlap_below_the_tolerance_passes():
    least = TOLERANCE.contact * 100.0
    assert check(on_strip([A, B], at((0, 0), (100 - 0.9 * least, 10)))) == ()
    assert only(on_strip([A, B], at((0, 0), (100 - 1.1 * least, 10)))).kind == "overlap"


def test_the_larger_part_sets_the_tolerance():
    large = part("large", box(0, 0, 1000, 50))
    assert check(on_strip([large, B], at((0, 0), (1000 - 9e-4, 0)))) == ()
    assert only(on_strip([large, B], at((0, 0), (1000 - 1.1e-3, 0)))).kind == "overlap"


def test_curves_add_a_chord_each():
    disc, square = part("disc", circle(50, 50, 50)), part("square", box(0, 0, 100, 100))
    limit = TOLERANCE.contact * 100.0 + TOLERANCE.chord
    assert check(on_strip([square, disc], at((0, 0), (100 - 0.9 * limit, 0)))) == ()
    finding = only(on_strip([square, disc], at((0, 0), (100 - 3 * limit, 0))))
    assert finding.amount == pytest.approx(3 * limit, abs=TOLERANCE.chord)
    other = part("other", circle(50, 50, 50))
    limit += TOLERANCE.chord
    assert check(on_strip([disc, other], at((0, 0), (100 - 0.9 * limit, 0)))) == ()
    assert only(on_strip([disc, other], at((0, 0), (100 - 2.2 * limit, 0)))).kind == "overlap"


def test_a_long_thin_overlap_is_measured_across():
    long = part("long", box(0, 0, 10000, 50))
    finding = only(on_strip([long, part("other", box(0, 0, 10000, 50))], at((0, 0), (0, 49.9))))
    assert finding.amount == pytest.approx(0.1, rel=2e-3)


def test_a_needle_is_found_by_its_tip():
    needle = part("needle", ring((0, 0), (100, -0.5), (100, 0.5)))
    block = part("block", box(-100, -50, 0, 50))
    placements = at((200 - 5, 100), (200, 100))
    finding = only(on_strip([needle, block], placements))
    assert finding.amount == pytest.approx(5.0, rel=2e-3)


def test_crossing_bars_overlap_by_half_their_width():
    bars = [part("along", box(0, 0, 100, 10)), part("across", box(0, 0, 10, 100))]
    finding = only(on_strip(bars, at((0, 50), (40, 0))))
    assert finding.amount == pytest.approx(5.0, rel=2e-3)
    assert math.dist(finding.at, (45, 55)) <= 5.1


def test_a_part_on_top_of_its_twin():
    finding = only(on_strip([A, B], at((0, 0), (0, 0))))
    assert finding.kind == "overlap"
    assert finding.amount == pytest.approx(25.0, rel=2e-3)


def test_a_part_in_the_hole_of_another_is_good_if_it_fits():
    frame = part("frame", box(0, 0, 150, 100), holes=(box(20, 20, 130, 80).reversed(),))
    assert check(on_strip([frame, A], at((0, 0), (25, 25)))) == ()
    assert check(on_strip([frame, A], at((0, 0), (25, 25)), spacing=5.0)) == ()
    finding = only(on_strip([frame, A], at((0, 0), (25, 31))))
    assert (finding.kind, finding.amount) == ("overlap", pytest.approx(1.0, rel=2e-3))
    finding = only(on_strip([frame, A], at((0, 0), (25, 25)), spacing=6.0))
    assert (finding.kind, finding.amount) == ("gap", pytest.approx(1.0))


def test_interlocked_concave_parts_are_good():
    u = part("u", ring((0, 0), (90, 0), (90, 90), (60, 90), (60, 30), (30, 30), (30, 90), (0, 90)))
    tongue = part("tongue", box(0, 0, 30, 60))
    assert check(on_strip([u, tongue], at((0, 0), (30, 30)))) == ()
    assert only(on_strip([u, tongue], at((0, 0), (30.5, 30)))).amount == pytest.approx(
        0.5, rel=2e-3
    )


def test_gap_says_how_much_is_lacking():
    finding = only(on_strip([A, B], at((0, 0), (103, 0)), spacing=5.0))
    assert (finding.kind, finding.parts) == ("gap", ("a", "b"))
    assert finding.amount == pytest.approx(2.0)
    assert finding.at[0] == pytest.approx(101.5)


def test_gap_is_measured_between_corners_too():
    finding = only(on_strip([A, B], at((0, 0), (103, 54)), spacing=6.0))
    assert finding.amount == pytest.approx(1.0)
    assert check(on_strip([A, B], at((0, 0), (103, 54)), spacing=5.0)) == ()


def test_gap_below_the_tolerance_passes():
    least = TOLERANCE.contact * 100.0
    assert check(on_strip([A, B], at((0, 0), (105 - 0.9 * least, 0)), spacing=5.0)) == ()
    assert only(on_strip([A, B], at((0, 0), (105 - 1.1 * least, 0)), spacing=5.0)).kind == "gap"


def test_touching_is_a_gap_and_overlapping_an_overlap_when_spacing_is_asked():
    assert only(on_strip([A, B], at((0, 0), (100, 0)), spacing=5.0)).kind == "gap"
    assert only(on_strip([A, B], at((0, 0), (99, 0)), spacing=5.0)).kind == "overlap"


def test_parts_of_different_sheets_do_not_meet():
    placements = [Placement(part=0, x=0, y=0), Placement(part=1, x=0, y=0, sheet=1)]
    assert check(on_sheets([A, B], placements, sheets=[SHEET], used=(0, 0))) == ()


def test_a_heap_of_parts_is_told_in_a_bounded_list():
    parts = [part(f"p{i}", box(0, 0, 10, 10)) for i in range(60)]
    findings = check(on_strip(parts, at(*[(0, 0)] * 60)))
    assert len(findings) == 501
    assert "more than 500" in findings[-1].text


@pytest.mark.parametrize("scale", [1e-2, 1.0, 100.0])
def test_tolerance_scales_with_the_parts(scale):
    small = part("a", box(0, 0, 100 * scale, 50 * scale))
    pair = [small, replace(small, name="b")]
    least = TOLERANCE.contact * 100.0 * scale
    x = 100.0 * scale
    assert is_good(on_strip(pair, at((0, 0), (x - 0.9 * least, 0)), width=1e5))
    assert not is_good(on_strip(pair, at((0, 0), (x - 1.2 * least, 0)), width=1e5))


# ---- the strip


@pytest.mark.parametrize(
    ("place", "side"),
    [
        ((-2, 0), "the start"),
        ((0, -2), "the low edge"),
        ((402, 0), "the longest length"),
        ((0, 152), "the high edge"),
    ],
)
def test_outside_the_strip(place, side):
    finding = only(on_strip([A], at(place), longest=500.0))
    assert finding.kind == "outside"
    assert finding.amount == pytest.approx(2.0)
    assert side in finding.text


def test_a_strip_without_longest_ends_where_no_cloth_does():
    assert check(on_strip([A], at((9e5, 0)))) == ()
    finding = only(on_strip([A], at((1e7, 0))))
    assert (finding.kind, finding.parts) == ("number", ("a",))


# ---- sheets


def test_outside_the_sheet():
    finding = only(on_sheets([A], at((303, 0)), sheets=[SHEET]))
    assert (finding.kind, finding.amount) == ("outside", pytest.approx(3.0, rel=2e-3))
    assert check(on_sheets([A], at((300, 250)), sheets=[SHEET])) == ()


def test_wholly_off_the_sheet():
    finding = only(on_sheets([A], at((1000, 0)), sheets=[SHEET]))
    assert (finding.kind, finding.amount) == ("outside", pytest.approx(700.0, rel=2e-3))


def test_across_a_bay_of_the_outline():
    bay = Sheet(
        name="hide",
        outline=ring(
            (0, 0), (400, 0), (400, 300), (60, 300), (60, 280), (40, 280), (40, 300), (0, 300)
        ),
    )
    finding = only(on_sheets([A], at((0, 245)), sheets=[bay]))
    assert (finding.kind, finding.amount) == ("outside", pytest.approx(10.0, abs=5.1))
    assert check(on_sheets([A], at((0, 230)), sheets=[bay])) == ()


def test_within_the_margin_of_an_edge():
    assert check(on_sheets([A], at((10, 10)), sheets=[SHEET], margin=10.0)) == ()
    finding = only(on_sheets([A], at((8, 10)), sheets=[SHEET], margin=10.0))
    assert (finding.kind, finding.amount) == ("outside", pytest.approx(2.0))
    finding = only(on_sheets([A], at((-1, 10)), sheets=[SHEET], margin=10.0))
    assert (finding.kind, finding.amount) == ("outside", pytest.approx(11.0, rel=2e-3))


def test_in_a_flaw():
    scarred = replace(
        SHEET, holes=(circle(200, 100, 20).reversed(), box(0, 280, 5, 300).reversed())
    )
    assert check(on_sheets([A], at((80 - 2e-3, 100)), sheets=[scarred])) == ()
    finding = only(on_sheets([A], at((82, 75)), sheets=[scarred]))
    assert (finding.kind, finding.amount) == ("flaw", pytest.approx(2.0, rel=3e-3))
    finding = only(on_sheets([A], at((77, 75)), sheets=[scarred], margin=5.0))
    assert (finding.kind, finding.amount) == ("flaw", pytest.approx(2.0, abs=2e-3))


def test_a_pinhole_under_a_part_is_found_by_how_deep_it_lies_in_it():
    pricked = replace(SHEET, holes=(box(50, 25, 50.1, 25.1).reversed(),))
    finding = only(on_sheets([A], at((0, 0)), sheets=[pricked]))
    assert (finding.kind, finding.amount) == ("flaw", pytest.approx(25.0, rel=1e-2))


def test_a_scratch_without_width_is_a_flaw():
    scratched = replace(SHEET, holes=(ring((50, 20), (50, 40)),))
    finding = only(on_sheets([A], at((0, 0)), sheets=[scratched]))
    assert (finding.kind, finding.amount) == ("flaw", pytest.approx(25.0, rel=1e-2))
    assert check(on_sheets([A], at((50, 0)), sheets=[scratched])) == ()
    assert only(on_sheets([A], at((53, 5)), sheets=[scratched], margin=5.0)).kind == "flaw"


# ---- regions

BUTT = Region(name="butt", outlines=(box(0, 0, 200, 300), box(50, 200, 100, 250).reversed()))


def test_in_its_region():
    sheet = replace(SHEET, regions=(BUTT,))
    bound = part("a", region="butt")
    assert check(on_sheets([bound], at((100, 0)), sheets=[sheet])) == ()
    finding = only(on_sheets([bound], at((104, 0)), sheets=[sheet]))
    assert (finding.kind, finding.amount) == ("region", pytest.approx(4.0, rel=2e-3))
    finding = only(on_sheets([bound], at((0, 153)), sheets=[sheet]))
    assert (finding.kind, finding.amount) == ("region", pytest.approx(3.0, rel=2e-3))


def test_outlines_of_a_region_that_meet_are_one():
    seam = Region(name="butt", outlines=(box(0, 0, 150, 300), box(150, 0, 300, 300)))
    sheet = replace(SHEET, regions=(seam,))
    assert check(on_sheets([part("a", region="butt")], at((100, 10)), sheets=[sheet])) == ()
    apart = replace(seam, outlines=(box(0, 0, 150, 300), box(150.5, 0, 300, 300)))
    finding = only(
        on_sheets(
            [part("a", region="butt")], at((100, 10)), sheets=[replace(sheet, regions=(apart,))]
        )
    )
    assert (finding.kind, finding.amount) == ("region", pytest.approx(0.25, rel=2e-3))


def test_a_region_that_the_sheet_or_the_strip_lacks():
    bound = part("a", region="neck")
    assert (
        only(on_sheets([bound], at((0, 0)), sheets=[replace(SHEET, regions=(BUTT,))])).kind
        == "region"
    )
    assert only(on_strip([bound], at((0, 0)))).kind == "region"


def test_a_regions_turns_replace_the_parts():
    tight = replace(BUTT, turns=Turns(angles=(90.0,), slack=5.0))
    sheet = replace(SHEET, regions=(tight,))
    bound = part("a", box(-40, -20, 40, 20), region="butt")
    laid = at((100, 100), angle=94.0)
    assert check(on_sheets([bound], laid, sheets=[sheet])) == ()
    finding = only(on_sheets([bound], at((100, 100)), sheets=[sheet]))
    assert (finding.kind, finding.amount) == ("turn", pytest.approx(85.0))
    loose = replace(bound, region=None)
    assert check(on_sheets([loose], at((100, 100)), sheets=[sheet])) == ()


def test_regions_of_one_name_are_alternatives_each_with_its_turns():
    left = Region(name="belly", outlines=(box(0, 0, 200, 300),), turns=Turns(angles=(0.0,)))
    right = Region(name="belly", outlines=(box(200, 0, 400, 300),), turns=Turns(angles=(90.0,)))
    sheet = replace(SHEET, regions=(left, right))
    bound = part("a", box(-40, -20, 40, 20), region="belly")
    assert check(on_sheets([bound], at((100, 100)), sheets=[sheet])) == ()
    assert check(on_sheets([bound], at((300, 100), angle=90.0), sheets=[sheet])) == ()
    assert only(on_sheets([bound], at((300, 100)), sheets=[sheet])).kind == "turn"
    assert only(on_sheets([bound], at((200, 100)), sheets=[sheet])).kind == "region"


# ---- turns and flips


@pytest.mark.parametrize(
    ("angle", "turns", "amount"),
    [
        (180.0, Turns(angles=(0.0, 180.0)), None),
        (360.0, Turns(), None),
        (-180.0, Turns(angles=(180.0,)), None),
        (179.0, Turns(angles=(180.0,), slack=1.0), None),
        (359.0, Turns(slack=2.0), None),
        (77.7, Turns(slack=180.0), None),
        (90.0, Turns(angles=(0.0, 180.0)), 90.0),
        (3.0, Turns(slack=2.0), 1.0),
        (357.0, Turns(slack=2.0), 1.0),
        (1e-4, Turns(), 1e-4),
        (0.5 * TOLERANCE.turn, Turns(), None),
    ],
)
def test_turns(angle, turns, amount):
    disc = part("a", box(-5, -5, 5, 5), turns=turns)
    findings = check(on_strip([disc], at((50, 50), angle=angle)))
    if amount is None:
        assert findings == ()
    else:
        assert [f.kind for f in findings] == ["turn"]
        assert findings[0].amount == pytest.approx(amount)


def test_flip():
    assert only(on_strip([A], at((0, 50), flipped=True))).kind == "flip"
    assert check(on_strip([part("a", flip=True)], at((0, 50), flipped=True))) == ()


def test_a_flipped_part_is_judged_as_it_lies():
    corner = part("a", ring((0, 0), (100, 0), (0, 100)), flip=True)
    block = part("b", box(0, 0, 60, 60))
    lying = Placement(part=0, x=0, y=100, flipped=True)
    assert only(on_strip([corner, block], [lying, Placement(part=1, x=30, y=40)])).kind == "overlap"
    assert is_good(on_strip([corner, block], [lying, Placement(part=1, x=60, y=0)]))


# ---- the print


def bound(name, anchor=(50, 25), phase=None, **lattice):
    return part(name, binding=Binding(anchor=anchor, lattice=Lattice(**lattice), phase=phase))


STRAIGHT = {"along": 64.0, "across": 40.0, "origin": (10.0, 5.0)}


def test_on_the_lattice():
    assert check(on_strip([bound("a", **STRAIGHT)], at((10 + 64 - 50, 5 + 80 - 25)))) == ()


@pytest.mark.parametrize(
    ("dx", "dy", "off"), [(3, 0, 3), (0, -4, 4), (31, 0, 31), (33, 0, 31), (1, 2, 2)]
)
def test_off_the_lattice(dx, dy, off):
    place = (10 + 128 - 50 + dx, 5 + 80 - 25 + dy)
    finding = only(on_strip([bound("a", **STRAIGHT)], at(place)))
    assert (finding.kind, finding.amount) == ("lattice", pytest.approx(off))


def test_half_drop():
    dropped = bound("a", along=64.0, across=40.0, drop=0.5, anchor=(0, 0))
    assert check(on_strip([dropped], at((64, 80)))) == ()
    assert check(on_strip([dropped], at((96, 40)))) == ()
    finding = only(on_strip([dropped], at((64, 40))))
    assert (finding.kind, finding.amount) == ("lattice", pytest.approx(32.0))


def test_stripes_bind_one_axis():
    assert check(on_strip([bound("a", anchor=(0, 0), along=30.0)], at((90, 17.3)))) == ()
    assert only(on_strip([bound("a", anchor=(0, 0), along=30.0)], at((91, 17.3)))).amount == (
        pytest.approx(1.0)
    )
    assert check(on_strip([bound("a", anchor=(0, 0), across=30.0)], at((91.7, 60)))) == ()
    assert only(on_strip([bound("a", anchor=(0, 0), across=30.0)], at((91.7, 62)))).amount == (
        pytest.approx(2.0)
    )


def test_a_repeat_that_drifts():
    drifting = bound("a", anchor=(0, 0), along=30.0, tolerance=1.5)
    assert check(on_strip([drifting], at((91.5, 0)))) == ()
    assert only(on_strip([drifting], at((92, 0)))).amount == pytest.approx(0.5)


def test_the_anchor_turns_and_flips_with_the_part():
    turned = replace(
        bound("a", anchor=(10, 5), along=64.0, across=40.0), turns=Turns(angles=(180.0,))
    )
    assert check(on_strip([turned], at((64 + 64 + 10, 80 + 5), angle=180.0))) == ()
    flipped = replace(bound("a", anchor=(10, 5), along=64.0, across=40.0), flip=True)
    assert check(on_strip([flipped], at((64 - 10, 80 + 5), flipped=True))) == ()
    assert only(on_strip([flipped], at((64 - 10, 80 - 5), flipped=True))).kind == "lattice"


def test_a_match_needs_congruent_anchors_only():
    pair = [bound(name, anchor=(0, 0), phase="flap", along=64.0, across=40.0) for name in "ab"]
    assert check(on_strip(pair, at((17, 3), (17 + 128, 3 + 80)))) == ()
    finding = only(on_strip(pair, at((17, 3), (17 + 130, 3 + 80))))
    assert (finding.kind, finding.parts) == ("lattice", ("a", "b"))
    assert finding.amount == pytest.approx(2.0)
    lone = [pair[0], replace(pair[1], binding=replace(pair[1].binding, phase="other"))]
    assert check(on_strip(lone, at((17, 3), (17 + 130, 3 + 80)))) == ()


def test_a_part_reaches_beyond_an_edge_and_lies_in_a_flaw():
    sheet = Sheet(name="hide", outline=box(0, 0, 400, 300), holes=(box(190, 90, 200, 140),))
    text = only(on_sheets([A], at((-10, 0)), sheets=[sheet])).text
    assert text.startswith("a reaches 10.000 mm beyond the edge of hide")
    text = only(on_sheets([A], at((94, 80)), sheets=[sheet])).text
    assert text.startswith("a lies 4.000 mm in a flaw of hide")


def test_each_part_of_a_match_may_lie_off_by_its_tolerance():
    repeat = {"along": 64.0, "across": 40.0, "tolerance": 1.0}
    pair = [bound(name, anchor=(0, 0), phase="flap", **repeat) for name in "ab"]
    assert check(on_strip(pair, at((17, 3), (17 + 130, 3 + 80)))) == ()
    assert only(on_strip(pair, at((17, 3), (17 + 131, 3 + 80)))).amount == pytest.approx(1.0)


def test_a_match_misses_by_what_is_between_the_farthest_two():
    three = [bound(name, anchor=(0, 0), phase="flap", across=40.0) for name in "abc"]
    assert only(on_strip(three, at((0, 30), (100, 35), (200, 25)))).amount == pytest.approx(10.0)


@pytest.mark.parametrize("first", [(17, 3), (17 + 32, 43)])
def test_a_match_on_a_half_drop(first):
    repeat = {"along": 64.0, "across": 40.0, "drop": 0.5}
    pair = [bound(name, anchor=(0, 0), phase="flap", **repeat) for name in "ab"]
    assert check(on_strip(pair, at(first, (17 + 128 + 32, 3 + 120)))) == ()
    assert only(on_strip(pair, at(first, (17 + 128, 3 + 120)))).amount == pytest.approx(32.0)


def test_a_match_on_two_sheets_is_none():
    pair = [bound(name, anchor=(0, 0), phase="flap", along=64.0) for name in "ab"]
    placements = [Placement(part=0, x=0, y=0), Placement(part=1, x=0, y=0, sheet=1)]
    assert only(on_sheets(pair, placements, sheets=[SHEET], used=(0, 0))).kind == "lattice"


def test_a_match_of_different_repeats_is_none():
    pair = [bound("a", phase="flap", along=64.0), bound("b", phase="flap", along=60.0)]
    assert only(on_strip(pair, at((0, 0), (128, 0)))).kind == "lattice"


# ---- edges and groups


@pytest.mark.parametrize(("edge", "y"), [(Edge.LOW, 0.0), (Edge.HIGH, 150.0)])
def test_edges(edge, y):
    assert check(on_strip([part("a", edge=edge)], at((0, y)))) == ()
    assert (
        check(
            on_sheets(
                [part("a", edge=edge)],
                at((0, y)),
                sheets=[Sheet(name="s", outline=box(0, 0, 300, 200))],
            )
        )
        == ()
    )
    finding = only(on_strip([part("a", edge=edge)], at((0, 70.0))))
    assert (finding.kind, finding.amount) == ("edge", pytest.approx(abs(y - 70.0)))


def test_turn_group():
    pair = [part(n, box(-5, -5, 5, 5), turns=Turns(angles=(0, 180)), turn_group="g") for n in "ab"]
    laid = at((10, 10), (30, 10), angle=180.0)
    assert check(on_strip(pair, laid)) == ()
    assert check(on_strip(pair, [laid[0], replace(laid[1], angle=-180.0)])) == ()
    finding = only(on_strip(pair, [laid[0], replace(laid[1], angle=0.0)]))
    assert (finding.kind, finding.amount) == ("turn_group", pytest.approx(180.0))


def test_mates():
    pair = [part(name, mates="sides") for name in "ab"]
    assert check(on_strip(pair, at((0, 0), (100, 0)))) == ()
    note = only(on_strip(pair, at((0, 0), (130, 0))))
    assert (note.kind, note.severity, note.amount) == ("mates", Severity.NOTE, pytest.approx(30))
    assert is_good(on_strip(pair, at((0, 0), (130, 0))))
    assert check(on_strip(pair, at((0, 0), (118, 0)))) == ()  # close enough
    many = [part(name, mates="sides") for name in "abcd"]
    # two and two close together, the pairs 150 mm apart: said once
    note = only(on_strip(many, at((0, 0), (450, 0), (100, 0), (350, 0))))
    assert (note.parts, note.amount) == (("c", "d"), pytest.approx(150))
    placements = [Placement(part=0, x=0, y=0), Placement(part=1, x=0, y=0, sheet=1)]
    fault = only(on_sheets(pair, placements, sheets=[SHEET], used=(0, 0)))
    assert (fault.kind, fault.severity) == ("mates", Severity.FAULT)


# ---- copies, sheets, numbers, outlines


def test_missing_and_extra():
    assert only(on_strip([A, B], at((0, 0)))).kind == "missing"
    twice = on_strip([A, B], [*at((0, 0), (100, 0)), Placement(part=1, x=200, y=0)])
    assert (only(twice).kind, only(twice).parts) == ("extra", ("b",))
    assert only(on_strip([A], at((0, 0), (100, 0)))).kind == "extra"
    assert only(on_strip([A], [*at((0, 0)), Placement(part=-1, x=0, y=100)])).kind == "extra"


def test_sheets_that_are_not_there():
    assert check(on_sheets([A], at((0, 0), sheet=1), sheets=[SHEET]))[0].kind == "sheet"
    assert only(on_strip([A], at((0, 0), sheet=1))).kind == "sheet"
    kinds = {f.kind for f in check(on_sheets([A], at((0, 0)), sheets=[SHEET], used=(3,)))}
    assert kinds == {"sheet"}


def test_more_sheets_than_there_are():
    one = replace(SHEET, count=1)
    placements = [Placement(part=0, x=0, y=0), Placement(part=1, x=0, y=0, sheet=1)]
    assert check(on_sheets([A, B], placements, sheets=[replace(SHEET, count=2)], used=(0, 0))) == ()
    finding = only(on_sheets([A, B], placements, sheets=[one], used=(0, 0)))
    assert (finding.kind, finding.amount) == ("sheet", 1.0)


def test_a_sheet_without_parts_is_a_note():
    note = only(on_sheets([A], at((0, 0)), sheets=[SHEET], used=(0, 0)))
    assert (note.kind, note.severity) == ("sheet", Severity.NOTE)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, 1e300, 6.9e8])
@pytest.mark.parametrize("field", ["x", "y"])
def test_numbers(bad, field):
    placement = replace(Placement(part=0, x=0.0, y=0.0), **{field: bad})
    finding = only(on_strip([A], [placement]))
    assert finding.kind == "number"
    assert ("off the goods" in finding.text) == math.isfinite(bad)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_turn_that_is_no_number(bad):
    finding = only(on_strip([A], at((0, 0), angle=bad)))
    assert (finding.kind, finding.parts) == ("number", ("a",))


def test_an_outline_that_crosses_itself_is_told_and_judged_whole():
    bow = part("bow", ring((0, 0), (100, 100), (100, 0), (0, 100)))
    finding = only(on_strip([bow], at((0, 0))))
    assert finding.kind == "outline"
    kinds = [
        f.kind for f in check(on_strip([bow, part("b", box(0, 0, 10, 10))], at((0, 0), (5, 45))))
    ]
    assert kinds == ["outline", "overlap"]


def test_a_loop_drawn_twice_over_is_not_a_hole():
    twice = part(
        "twice",
        ring(
            (0, 0), (100, 0), (100, 100), (0, 100), (0, 10), (60, 10), (60, 60), (30, 60), (30, 0)
        ),
    )
    kinds = {
        f.kind for f in check(on_strip([twice, part("b", box(0, 0, 10, 10))], at((0, 0), (45, 30))))
    }
    assert kinds == {"outline", "overlap"}


@pytest.mark.parametrize(
    "outline",
    [
        ring((0, 0), (100, 0)),
        ring((0, 0), (100, 0), (50, 0)),
        ring((0, 0), (math.nan, 0), (0, 100)),
        ring((0, 0), (math.inf, 0), (0, 100)),
    ],
)
def test_an_outline_without_area(outline):
    marker = on_strip([part("line", outline), B], at((0, 0), (0, 100)))
    assert [f.kind for f in check(marker)] == ["outline"]
    lay = replace(marker.lay, stock=Sheets(sheets=(SHEET,)))
    kinds = {f.kind for f in check(replace(marker, lay=lay, sheets=(0,)))}
    assert kinds == {"outline"}


def test_an_outline_that_touches_itself_is_fine():
    waist = part("waist", ring((0, 0), (50, 50), (100, 0), (100, 100), (50, 50), (0, 100)))
    assert check(on_strip([waist], at((0, 0)))) == ()


def test_an_empty_lay_is_good():
    assert check(on_strip([], [])) == ()


def test_every_rule_is_judged_on_a_part_that_breaks_several():
    bad = part("bad", binding=Binding(anchor=(0, 0), lattice=Lattice(along=64.0)), edge=Edge.LOW)
    laid = Placement(part=0, x=20.0, y=170.0, angle=10.0, flipped=True)
    kinds = {finding.kind for finding in check(on_strip([bad], [laid]))}
    assert kinds == {"turn", "flip", "lattice", "edge"}


def test_the_same_layout_turned_as_a_whole_is_judged_the_same():
    parts = [part("a", turns=Turns(slack=180.0)), part("b", turns=Turns(slack=180.0))]
    for angle in (0.0, 17.0, 90.0, 133.3):
        spin = Affine.turn(angle)
        places = [spin((0.0, 0.0)), spin((99.5, 10.0))]
        laid = [
            Placement(part=i, x=500 + x, y=500 + y, angle=angle) for i, (x, y) in enumerate(places)
        ]
        finding = only(on_strip(parts, laid, width=2000.0))
        assert finding.amount == pytest.approx(0.5, rel=2e-3)


@pytest.mark.parametrize("swapped", [False, True])
def test_a_hair_whose_core_is_nothing_is_still_found_across_a_part(swapped):
    pair = [part("hair", box(0, 0, 10000, 0.005)), part("block", box(0, 0, 100, 100))]
    places = [(0, 50), (500, 0)]
    if swapped:
        pair, places = pair[::-1], places[::-1]
    finding = only(on_strip(pair, at(*places)))
    assert (finding.kind, finding.amount) == ("overlap", pytest.approx(50.0, rel=2e-3))


def test_a_hairline_between_outlines_of_a_region_is_nothing():
    seam = Region(name="butt", outlines=(box(0, 0, 150, 300), box(150 + 1e-7, 0, 300, 300)))
    sheet = replace(SHEET, regions=(seam,))
    assert check(on_sheets([part("a", region="butt")], at((100, 10)), sheets=[sheet])) == ()


def test_a_match_whose_first_part_lies_on_a_dropped_row():
    pair = [
        bound(name, anchor=(0, 0), phase="flap", along=60.0, across=40.0, drop=0.3) for name in "ab"
    ]
    assert check(on_strip(pair, at((18 + 5, 40 + 3), (180 + 5, 80 + 3)))) == ()
