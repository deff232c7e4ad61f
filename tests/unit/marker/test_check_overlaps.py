"""Overlaps and gaps between parts: found, and how much is said."""

import math
from dataclasses import replace

import pytest

from nesting.marker.check import check, is_good
from nesting.marker.marker import Placement
from nesting.tolerance import TOLERANCE
from tests.unit.marker.laid import (
    SHEET,
    A,
    B,
    at,
    box,
    circle,
    on_sheets,
    on_strip,
    only,
    part,
    ring,
)


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
