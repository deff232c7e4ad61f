"""Turns and flips, prints, edges and groups, broken and kept."""

from dataclasses import replace

import pytest

from nesting.errors import Severity
from nesting.marker.check import check, is_good
from nesting.marker.lay import (
    Binding,
    Edge,
    Lattice,
    Sheet,
    Turns,
)
from nesting.marker.marker import Placement
from nesting.tolerance import TOLERANCE
from tests.unit.marker.laid import SHEET, A, at, box, on_sheets, on_strip, only, part, ring


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
        assert findings[0].at == pytest.approx((50.0, 50.0))  # its middle


def test_flip():
    assert only(on_strip([A], at((0, 50), flipped=True))).kind == "flip"
    assert check(on_strip([part("a", flip=True)], at((0, 50), flipped=True))) == ()


def test_a_flipped_part_is_judged_as_it_lies():
    corner = part("a", ring((0, 0), (100, 0), (0, 100)), flip=True)
    block = part("b", box(0, 0, 60, 60))
    lying = Placement(part=0, x=0, y=100, flipped=True)
    assert only(on_strip([corner, block], [lying, Placement(part=1, x=30, y=40)])).kind == "overlap"
    assert is_good(on_strip([corner, block], [lying, Placement(part=1, x=60, y=0)]))


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


def test_parts_of_a_match_more_than_a_repeat_apart_are_noted():
    """The longer repeat is 64 mm; between the two, 100 mm long, lie 3 × 64 − 100 = 92."""
    pair = [
        replace(bound(name, anchor=(0, 0), along=64.0, across=40.0), match="m") for name in "ab"
    ]
    assert check(on_strip(pair, at((0, 0), (128, 0)))) == ()
    marker = on_strip(pair, at((0, 0), (192, 0)))
    assert is_good(marker)
    finding = only(marker)
    assert (finding.kind, finding.severity) == ("match", Severity.NOTE)
    assert set(finding.parts) == {"a", "b"}
    assert finding.amount == pytest.approx(92 / 64)
    assert "lie 9.2 cm apart, 1.4 repeats" in finding.text


def test_parts_of_a_match_on_two_sheets_are_noted():
    pair = [
        replace(bound(name, anchor=(0, 0), along=64.0, across=40.0), match="m") for name in "ab"
    ]
    placements = [Placement(part=0, x=0, y=0), Placement(part=1, x=0, y=0, sheet=1)]
    marker = on_sheets(pair, placements, sheets=[SHEET], used=(0, 0))
    assert is_good(marker)
    assert only(marker).text == "a and b of one match lie on different sheets"


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


def test_a_match_whose_first_part_lies_on_a_dropped_row():
    pair = [
        bound(name, anchor=(0, 0), phase="flap", along=60.0, across=40.0, drop=0.3) for name in "ab"
    ]
    assert check(on_strip(pair, at((18 + 5, 40 + 3), (180 + 5, 80 + 3)))) == ()
