"""Path data: the whole grammar of SVG 2, chapter 9, and its faults."""

from __future__ import annotations

import math

import pytest

from nesting.errors import PatternError
from nesting.pattern.measure import area, bounds, length
from nesting.pattern.path import Affine, Arc, Bezier, Line, Path
from nesting.pattern.svg_path import format_path, parse_path


def only(d):
    (path,) = parse_path(d)
    return path


def corners(d):
    path = only(d)
    return [path.start, *(segment.end for segment in path.segments)]


TRIANGLE = [(100.0, 100.0), (300.0, 100.0), (200.0, 300.0), (100.0, 100.0)]


@pytest.mark.parametrize(
    "d",
    [
        "M 100 100 L 300 100 L 200 300 z",  # SVG 2, 9.3.1, example triangle01
        "M100,100L300,100L200,300Z",
        "M100 100 300 100 200 300z",
        "m100 100 200 0-100 200z",
        "M1e2 1.0E+2H300L2e2 300Z",
        " \n M100 100\th200\rl-100,200 Z ",
    ],
)
def test_the_same_triangle(d):
    assert corners(d) == TRIANGLE


def test_compact_numbers():
    # SVG 2, 9.3.9: "M 0.6.5" is two numbers, "100-200" too
    assert corners("M 0.6.5L100-200") == [(0.6, 0.5), (100.0, -200.0)]
    assert corners("M.5.5-.5-.5") == [(0.5, 0.5), (-0.5, -0.5)]


def test_flags_without_separators():
    path = only("M0 0a25 25 0 0150 0")
    assert path.end == pytest.approx((50.0, 0.0))
    same = only("M0 0 a 25 25 0 0 1 50 0")
    assert path == same


def test_relative_move_after_close_counts_from_the_subpath_start():
    first, second = parse_path("m10 10h5v5z m20 0h5v5z")
    assert first.start == (10.0, 10.0)
    assert second.start == (30.0, 10.0)


def test_drawing_goes_on_after_close():
    first, second = parse_path("M10 10h5v5z l1 1")
    assert first.closed
    assert (second.start, second.end) == ((10.0, 10.0), (11.0, 11.0))


def test_open_subpaths_stay_open_and_lone_moves_draw_nothing():
    assert parse_path("M1 1 M2 2 z") == ()
    assert parse_path("") == ()
    assert not only("M0 0H10V10").closed


def test_quadratic_curves_are_the_same_curves():
    path = only("M200,300 Q400,50 600,300 T1000,300")  # SVG 2, 9.3.7, example quad01
    assert all(isinstance(segment, Bezier) for segment in path.segments)
    for t in (0.0, 0.3, 0.5, 1.0):
        s = 1 - t
        x = s * s * 200 + 2 * s * t * 400 + t * t * 600
        y = s * s * 300 + 2 * s * t * 50 + t * t * 300
        assert path.segments[0].at(t) == pytest.approx((x, y))
    # the second handle is the reflection (800, 550): the curve's middle is at y = 425
    assert path.segments[1].at(0.5) == pytest.approx((800.0, 425.0))


def test_smooth_cubic_reflects_the_handle():
    path = only("M100,200 C100,100 250,100 250,200 S400,300 400,200")  # 9.3.6, cubic01
    assert path.segments[1].first == (250.0, 300.0)


def test_smooth_commands_after_another_kind_start_at_the_point():
    assert only("M0 0H10S20 10 20 0").segments[1].first == (10.0, 0.0)
    assert only("M0 0C0 5 5 5 10 0T20 0").segments[1].first == (10.0, 0.0)


def test_the_pie_of_the_specification():
    # SVG 2, 9.3.8, example arcs01: a three-quarter pie of radius 150 and a quarter pie
    pie = only("M300,200 h-150 a150,150 0 1,0 150,-150 z")
    assert area(pie) == pytest.approx(0.75 * math.pi * 150**2)
    arc = pie.segments[1]
    assert isinstance(arc, Arc)
    assert arc.centre == pytest.approx((300.0, 200.0))
    quarter = only("M275,175 v-150 a150,150 0 0,0 -150,150 z")
    assert area(quarter) == pytest.approx(0.25 * math.pi * 150**2)
    assert length(quarter) == pytest.approx(300 + 75 * math.pi)


@pytest.mark.parametrize("large", [0, 1])
@pytest.mark.parametrize("sweep", [0, 1])
def test_the_four_arcs_between_two_points(large, sweep):
    # SVG 2, 9.5.1 and B.2: an ellipse 100 × 50 through (125, 75) and (225, 125)
    path = only(f"M 125,75 a100,50 0 {large},{sweep} 100,50")
    arc = path.segments[0]
    assert arc.start == pytest.approx((125.0, 75.0))
    assert arc.end == pytest.approx((225.0, 125.0))
    assert (abs(arc.sweep) > math.pi) == bool(large)
    assert (arc.sweep > 0) == bool(sweep)
    assert arc.centre in (pytest.approx((125.0, 125.0)), pytest.approx((225.0, 75.0)))


def test_radii_too_small_are_grown():
    # SVG 2, B.2.5: scaled up until there is exactly one solution, a half ellipse
    arc = only("M0 0A10 5 0 0 1 100 0").segments[0]
    assert abs(arc.sweep) == pytest.approx(math.pi)
    assert math.hypot(*arc.u) == pytest.approx(50.0)
    assert math.hypot(*arc.v) == pytest.approx(25.0)


def test_degenerate_arcs():
    assert only("M0 0A0 5 0 0 1 9 0").segments == (Line((0.0, 0.0), (9.0, 0.0)),)
    assert parse_path("M0 0A5 5 0 0 1 0 0") == ()
    assert only("M0 0A-5 -5 0 0 1 10 0") == only("M0 0A5 5 0 0 1 10 0")


def test_sweep_flag_one_is_counter_clockwise_with_y_upwards():
    assert bounds(only("M0 0A5 5 0 0 1 10 0")) == pytest.approx((0.0, -5.0, 10.0, 0.0))


@pytest.mark.parametrize(
    ("d", "told"),
    [
        ("L 1 1", "start with M at character 1"),
        ("M 0 0 L 1", "a number, found the end at character 10"),
        ("M 0 0 X 1 1", "a path command, found 'X' at character 7"),
        ("M 0,,0", "a number, found ',' at character 5"),
        ("M 0 0 A 1 1 0 2 0 5 5", "an arc flag, 0 or 1 at character 15"),
        ("M 0 0 L 1 1,", "a number, found the end at character 13"),
        ("M 0 0 L nan 1", "a number, found 'n' at character 9"),
        ("M 0 0 L 1e999 1", "number 1e999 is too large at character 9"),
        ("M 0 0 Z 5 5", "a path command, found '5' at character 9"),
    ],
)
def test_faults_say_where(d, told):
    with pytest.raises(PatternError, match="path data") as caught:
        parse_path(d)
    assert told in str(caught.value)


@pytest.mark.parametrize(
    "d",
    [
        "M0 0H100V50H0Z",
        "M0 0A50 50 0 1 1 100 0A50 50 0 0 1 0 0Z",
        "M0 0A80 30 25 1 0 100 7L0 0Z",
        "M1 2C3 4 5 6 7 8.25Q9 10 0.1 0.2",
    ],
)
def test_what_is_written_reads_back(d):
    path = only(d)
    again = only(format_path(path))
    assert again.closed == path.closed
    assert length(again) == pytest.approx(length(path), rel=1e-9)
    assert bounds(again) == pytest.approx(bounds(path), abs=1e-9)


def test_a_circle_in_one_arc_is_written_in_parts():
    circle = Arc((0.0, 0.0), (5.0, 0.0), (0.0, 5.0), 0.0, math.tau)
    text = format_path(Path((circle,)))
    assert text.count("A") == 3
    assert area(only(text)) == pytest.approx(25 * math.pi, rel=1e-12)


@pytest.mark.parametrize("closed", [True, False])
def test_a_straight_path_is_mapped_as_it_is_written(
    closed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No lines are made of it first: they took a third of an SVG file of large outlines."""
    by = Affine.move(3.7, -41.3).after(Affine.turn(33.0)).after(Affine.mirror())
    straight = Path.polyline([(0, 0), (70.1, 3), (60, 20.3), (1, 9)], closed=closed)
    curved = Path((Line((0, 0), (5, 1)), Bezier((5, 1), (6, 2), (7, 8), (0, 0))))
    written = [format_path(path.transformed(by)) for path in (straight, curved)]
    assert written[0].endswith("Z") == closed
    assert format_path(curved, by) == written[1]
    monkeypatch.setattr(Path, "transformed", None)
    assert format_path(straight, by) == written[0]
