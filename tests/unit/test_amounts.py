"""Amounts in a job's units: factors from the yard and pound agreement of 1959 (1 in = 25.4 mm)."""

from __future__ import annotations

import pytest

from nesting.amounts import Amounts
from nesting.quantity import of_area, of_length, of_sheets

METRIC, INCHES = Amounts("cm"), Amounts("in")


@pytest.mark.parametrize("unit", ["in", "ft", "yd"])
def test_a_job_in_feet_or_yards_is_spoken_of_in_inches(unit: str) -> None:
    assert Amounts(unit).size(254.0) == "10 in"


@pytest.mark.parametrize("unit", ["mm", "cm", "m"])
def test_any_other_job_is_spoken_of_in_cm(unit: str) -> None:
    assert Amounts(unit).size(254.0) == "25.4 cm"


@pytest.mark.parametrize(
    ("mm", "metric", "inches"),
    [
        (904.3, "90.5 cm", "35 5/8 in"),  # 35.602 in
        (904.0, "90.4 cm", "35 5/8 in"),
        (3000.0, "300 cm", "3.29 yd"),  # 3.2808 yd
        (2743.2, "274.4 cm", "108 in"),
        (3271.0, "3.28 m", "3.58 yd"),  # 3.5772 yd
        (0.0, "0 cm", "0 in"),
    ],
)
def test_what_is_needed_is_rounded_up(mm: float, metric: str, inches: str) -> None:
    assert METRIC.needed(mm) == metric
    assert INCHES.needed(mm) == inches


@pytest.mark.parametrize(
    ("mm", "metric", "inches"),
    [(904.3, "90.4 cm", "35 1/2 in"), (3279.0, "3.27 m", "3.58 yd"), (3271.0, "3.27 m", "3.57 yd")],
)
def test_what_is_there_is_rounded_down(mm: float, metric: str, inches: str) -> None:
    assert METRIC.room(mm) == metric
    assert INCHES.room(mm) == inches


@pytest.mark.parametrize(
    ("mm", "metric", "inches"),
    [
        (571.5, "57.2 cm", "5/8 yd"),
        (914.4, "91.5 cm", "1 yd"),
        (600.0, "60 cm", "23 5/8 in"),
        (16002.0, "16.01 m", "17 1/2 yd"),
        (17500.0, "17.50 m", "19.14 yd"),
        (114.3, "11.5 cm", "1/8 yd"),
    ],
)
def test_cloth_is_bought_in_eighths_of_a_yard(mm: float, metric: str, inches: str) -> None:
    assert METRIC.bought(mm) == metric
    assert INCHES.bought(mm) == inches


@pytest.mark.parametrize(
    ("mm", "metric", "inches"),
    [
        (3.0, "3 mm", "0.12 in"),
        (3.2, "3.2 mm", "0.13 in"),
        (6.35, "6.35 mm", "1/4 in"),
        (25.4, "25.4 mm", "1 in"),
        (9.525, "9.53 mm", "3/8 in"),
        (1397.0, "139.7 cm", "55 in"),
        (0.01, "0.01 mm", "0.00039 in"),
        (0.0, "0 mm", "0 in"),
        (1400.0, "140 cm", "55.12 in"),
    ],
)
def test_a_setting_is_said_as_it_was_set(mm: float, metric: str, inches: str) -> None:
    assert METRIC.setting(mm) == metric
    assert INCHES.setting(mm) == inches


def test_areas_and_paths() -> None:
    assert (METRIC.area(462_657.9), INCHES.area(462_657.9)) == ("0.463 m²", "4.98 ft²")
    assert (METRIC.area(1600.0), INCHES.area(1600.0)) == ("16 cm²", "2.5 in²")
    assert METRIC.leather(462_657.9) == "46.3 dm² (4.98 ft²)"
    assert INCHES.leather(462_657.9) == "4.98 ft²"
    assert (METRIC.path(12_345.0), INCHES.path(12_345.0)) == ("12.3 m", "13.5 yd")


def test_two_sizes_share_their_unit() -> None:
    assert METRIC.sizes(453.0, 300.0) == "45.3 × 30 cm"
    assert INCHES.sizes(254.0, 12.7) == "10 × 1/2 in"


def test_a_step_of_the_shop_is_said_as_it_is() -> None:
    assert (METRIC.step(114.3), INCHES.step(114.3)) == ("11.43 cm", "1/8 yd")
    assert (METRIC.step(100.0), INCHES.step(100.0)) == ("10 cm", "3.94 in")


def test_of_nothing_no_amount_is_said() -> None:
    for nothing in (of_length(0.0), of_area(0.0), of_sheets(0)):
        assert METRIC.said(nothing) == "nothing"
    assert METRIC.said(of_sheets(2)) == "2 sheets"
