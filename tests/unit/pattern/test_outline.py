"""Outlines made fit, and what is refused."""

from __future__ import annotations

import math
import random

import pytest

from nesting.errors import PatternError
from nesting.pattern.measure import area, signed_area
from nesting.pattern.outline import clean_outline, clean_path, started_at
from nesting.pattern.path import Arc, Line, Path
from nesting.pattern.shapes import circle, polygon_path, rectangle
from nesting.pattern.svg_path import parse_path


def outline(d):
    return clean_outline(parse_path(d)[0])


@pytest.mark.parametrize(
    ("d", "told"),
    [
        ("M0 0L10 10L10 0L0 10Z", "crosses or touches itself at (5, 5)"),
        ("M0 0H10V10H5V0H-5V-5H0Z", "crosses or touches itself"),
        ("M0 0C100 100 -50 100 50 0Z", "crosses or touches itself"),
        ("M0 0H10V10H3.5", "open: its ends (0, 0) and (3.5, 10) are 10.59 mm apart"),
        ("M0 0H10Z", "no area"),
        ("M0 0H1e-9Z", "no length"),
    ],
)
def test_refused(d, told):
    with pytest.raises(PatternError) as caught:
        outline(d)
    assert told in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_numbers_that_are_none(bad):
    with pytest.raises(PatternError, match="not finite"):
        clean_outline(Path.polyline([(0, 0), (10, bad), (5, 5)], closed=True))
    with pytest.raises(PatternError, match="not finite"):
        clean_path(Path((Arc((0, 0), (bad, 0), (0, 1), 0, 1),)))


def test_a_gap_in_the_middle():
    path = Path((Line((0, 0), (10, 0)), Line((10, 1), (10, 10)), Line((10, 10), (0, 0))))
    with pytest.raises(PatternError, match=r"gap of 1 mm between \(10, 0\) and \(10, 1\)"):
        clean_outline(path)


def test_small_gaps_are_closed():
    path = Path((Line((0, 0), (10, 0)), Line((10, 0.02), (10, 10)), Line((10, 10), (0.03, 0.0))))
    clean = clean_outline(path)
    assert clean.closed
    for a, b in zip(clean.segments, clean.segments[1:], strict=False):
        assert a.end == b.start


def test_small_gaps_beside_arcs_are_closed():
    arc = Arc((5.0, 10.0), (5.0, 0.0), (0.0, 5.0), 0.0, math.pi)
    path = Path(
        (Line((0, 0), (10, 0)), Line((10, 0), (10, 10.01)), arc, Line((0, 9.99), (0, 0.01)))
    )
    clean = clean_outline(path)
    assert clean.closed
    assert sum(isinstance(segment, Arc) for segment in clean.segments) == 1
    assert len(clean.segments) == 4
    assert area(clean) == pytest.approx(100 + 12.5 * math.pi, abs=0.2)
    for a, b in zip(clean.segments, clean.segments[1:], strict=False):
        assert a.end == pytest.approx(b.start, abs=1e-9)


def test_either_sense_comes_out_counter_clockwise_from_the_same_start():
    clean = outline("M3 4V10H20V4Z")
    assert signed_area(clean) > 0
    assert clean.start == (3.0, 4.0)
    assert signed_area(clean_outline(parse_path("M3 4V10H20V4Z")[0], hole=True)) < 0


def test_thousands_of_duplicate_points():
    path = polygon_path([p for p in [(0, 0), (10, 0), (10, 10), (0, 10)] for _ in range(25000)])
    dots = Path(tuple(Line((0, 0), (0, 0)) for _ in range(90000)) + path.segments)
    assert clean_outline(dots) == rectangle(10, 10)


def test_many_points_stay():
    n = 20000
    ring = [(500 * math.cos(i * math.tau / n), 500 * math.sin(i * math.tau / n)) for i in range(n)]
    assert len(clean_outline(polygon_path(ring)).segments) == n


def test_needles_are_fine():
    needle = outline("M0 0L1000 0.05L0 0.1Z")
    assert area(needle) == pytest.approx(50.0)


def test_curves_that_only_touch_within_the_chord_are_fine():
    # two arcs of nearly the same bend, 1 µm to 0 apart at their common ends
    crescent = outline("M0 0A100 100 0 0 1 100 0A99.9 99.9 0 0 0 0 0Z")
    assert area(crescent) > 0


def test_a_shuffled_start_is_the_same_outline():
    path = rectangle(100, 40, radius=5)
    k = random.Random(1).randrange(1, 8)
    assert started_at(started_at(path, k), 8 - k) == path
    assert area(started_at(path, k)) == pytest.approx(area(path))
    assert clean_outline(circle(10)) == circle(10)
