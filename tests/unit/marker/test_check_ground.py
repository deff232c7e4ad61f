"""Parts off the strip or the sheet, in its margin, in flaws, off their regions."""

from dataclasses import replace

import pytest

from nesting.marker.check import check
from nesting.marker.lay import (
    Region,
    Sheet,
    Turns,
)
from tests.unit.marker.laid import SHEET, A, at, box, circle, on_sheets, on_strip, only, part, ring


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


def test_a_hairline_between_outlines_of_a_region_is_nothing():
    seam = Region(name="butt", outlines=(box(0, 0, 150, 300), box(150 + 1e-7, 0, 300, 300)))
    sheet = replace(SHEET, regions=(seam,))
    assert check(on_sheets([part("a", region="butt")], at((100, 10)), sheets=[sheet])) == ()
