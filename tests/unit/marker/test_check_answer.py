"""Copies, sheets, numbers and outlines that are no answer to the lay."""

import math
from dataclasses import replace

import pytest

from nesting.errors import Severity
from nesting.marker.check import check
from nesting.marker.lay import (
    Binding,
    Edge,
    Lattice,
    Sheets,
    Turns,
)
from nesting.marker.marker import Placement
from nesting.pattern.path import Affine
from tests.unit.marker.laid import SHEET, A, B, at, box, on_sheets, on_strip, only, part, ring


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
