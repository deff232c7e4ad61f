from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.errors import JobError
from nesting.units import (
    LENGTH_UNITS,
    area,
    format_cm,
    format_inches,
    format_yards,
    length,
    round_up,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("45 cm", 450.0),
        ("3/8 in", 9.525),
        ("1 3/8 yd", 1257.3),
        ("1⅜ yd", 1257.3),
        ("½ in", 12.7),
        ("2-1/2 in", 63.5),  # as patterns in inches write it: common practice, no source
        ('2-1/2"', 63.5),
        ("1-⅜ yd", 1257.3),
        ("1.5 m", 1500.0),
        ("1,5 m", 1500.0),
        ('54"', 1371.6),
        ("54″", 1371.6),
        ("2'", 609.6),
        ("2 feet", 609.6),
        ("6mm", 6.0),
        ("4.7625000000000004 cm", 47.625),  # as computers write numbers
        (" 2 ft ", 609.6),
        ("1e2 mm", 100.0),
        ("-3 mm", -3.0),
        ("7", 7.0),
        (12, 12.0),
        (0.5, 0.5),
    ],
)
def test_length(text: str | float, mm: float) -> None:
    assert length(text) == pytest.approx(mm, rel=1e-14)


def test_plain_numbers_take_the_default_unit() -> None:
    assert length(2, unit="in") == 50.8
    assert length("2", unit="cm") == 20.0


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("12 inchs", 'did you mean "in"?'),
        ("12 yrd", 'did you mean "yd"?'),
        ("12 metrs", 'did you mean "m"?'),
        ("12 furlong", "known: mm, cm"),
        ("wide", "not a number with a unit"),
        ("", "not a number with a unit"),
        ("nan cm", "not a number with a unit"),
        ("inf", "not a number with a unit"),
        ("1/0 in", "not a usable number"),
        ("1 2 3 cm", "unknown unit"),
        ("9" * 500 + " mm", "not a number with a unit"),
        (math.nan, "not a usable number"),
        (math.inf, "not a usable number"),
        (10**400, "not a usable number"),
        ("2000 km", "unknown unit"),
        ("2000000 m", "not a usable length"),
        (True, "is not a length"),
    ],
)
def test_bad_lengths(text: str | float, says: str) -> None:
    with pytest.raises(JobError) as caught:
        length(text)
    message = str(caught.value)
    assert says in message
    assert "\n" not in message
    assert len(message) < 200


def test_huge_integer_has_a_short_message() -> None:
    with pytest.raises(JobError) as caught:
        length(10**6000)
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize(
    ("text", "mm2"),
    [
        ("18 ft²", 18 * 92903.04),
        ("18 sq ft", 18 * 92903.04),
        ("18 ft2", 18 * 92903.04),
        ("1.5 m^2", 1.5e6),
        ("120 dm²", 1.2e6),
        (2, 2e6),
    ],
)
def test_area(text: str | float, mm2: float) -> None:
    assert area(text) == pytest.approx(mm2, rel=1e-12)


def test_formats() -> None:
    assert format_cm(453.04) == "45.3 cm"
    assert format_inches(25.4 * 17.875) == "17 7/8 in"
    assert format_inches(25.4 * 0.5) == "1/2 in"
    assert format_inches(0) == "0 in"
    assert format_yards(914.4) == "1 yd"
    assert format_yards(915) == "1 1/8 yd"


def test_noise_does_not_jump_a_step() -> None:
    assert round_up(100.0000001, step=100) == 100
    assert round_up(100.01, step=100) == 200
    assert round_up(0, step=100) == 0
    assert format_yards(914.4 + 1e-6) == "1 yd"


@given(st.floats(0, 1e5), st.sampled_from([1.0, 25.4, 100.0, 114.3, 250.0]))
def test_round_up_covers_the_need(need: float, step: float) -> None:
    bought = round_up(need, step=step)
    assert bought >= need - 1e-3
    assert bought < need + step
    assert bought / step == pytest.approx(round(bought / step), abs=1e-9)


@given(st.floats(1e-3, 1e3), st.sampled_from(sorted(LENGTH_UNITS)))
def test_what_is_written_is_read(number: float, unit: str) -> None:
    assert length(f"{number:.12f} {unit}") == pytest.approx(number * LENGTH_UNITS[unit], rel=1e-9)
