"""Units against their definitions."""

from __future__ import annotations

import pytest

from nesting.units import area, format_yards, length, round_up

# International yard and pound agreement, 1959: 1 yd = 0.9144 m exactly, hence 1 ft, 1 in.
YARD = [("1 yd", 914.4), ("1 ft", 304.8), ("1 in", 25.4), ("36 in", 914.4), ("3 ft", 914.4)]

# SI prefixes (SI brochure, 9th edition, table 7).
METRIC = [("1 m", 1000.0), ("1 dm", 100.0), ("1 cm", 10.0), ("1 mm", 1.0)]

# Eighths of a yard in inches, as cloth shops print them: hookedonsewing.com, yard table.
EIGHTHS = [
    ("1/8 yd", "4 1/2 in"),
    ("1/4 yd", "9 in"),
    ("1/3 yd", "12 in"),
    ("3/8 yd", "13 1/2 in"),
    ("1/2 yd", "18 in"),
    ("5/8 yd", "22 1/2 in"),
    ("2/3 yd", "24 in"),
    ("3/4 yd", "27 in"),
    ("7/8 yd", "31 1/2 in"),
]


@pytest.mark.parametrize(("text", "mm"), YARD + METRIC)
def test_definitions(text: str, mm: float) -> None:
    assert length(text) == pytest.approx(mm, rel=1e-15)


@pytest.mark.parametrize(("yards", "inches"), EIGHTHS)
def test_parts_of_a_yard(yards: str, inches: str) -> None:
    assert length(yards) == pytest.approx(length(inches), rel=1e-14)


def test_css_pixel() -> None:
    """CSS Values and Units Module Level 4, 6.2: 1in = 2.54cm = 96px."""
    assert length("1 in") == pytest.approx(length("2.54 cm"), rel=1e-15)
    assert length("1 in") / 96 == pytest.approx(0.26458333333, rel=1e-10)


def test_iso_216_a0_is_a_square_metre() -> None:
    """ISO 216: A0 is 841 × 1189 mm, a square metre to the rounding of its sides."""
    assert length("841 mm") * length("118.9 cm") == pytest.approx(area("1 m²"), rel=1e-4)


def test_areas() -> None:
    """1 ft² = 9.290304 dm² exactly, from the foot; 1 m² = 10.7639 ft² (leather trade tables)."""
    assert area("1 ft²") == pytest.approx(area("9.290304 dm²"), rel=1e-15)
    assert area("1 m²") / area("1 sq ft") == pytest.approx(10.7639, abs=5e-5)


def test_rounding_up_after_shrinkage() -> None:
    """Gera tools, shrinkage: 3 yd at 5 % is 3.158 yd, bought in eighths 3 1/4 yd."""
    need = length("3 yd") / (1 - 0.05)
    assert need / 914.4 == pytest.approx(3.158, abs=5e-4)
    assert format_yards(need) == "3 1/4 yd"
    assert round_up(need, step=length("1/8 yd")) == pytest.approx(length("3 1/4 yd"))
