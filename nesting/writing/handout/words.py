"""Amounts as a handout says them: metric and in inches, the job's own first."""

from __future__ import annotations

from fractions import Fraction

from nesting.amounts import INCH_UNITS, METRIC, Amounts
from nesting.units import AREA_UNITS, LENGTH_UNITS

__all__ = [
    "INCHES",
    "SAME_WIDTH",
    "area_words",
    "both",
    "both_fine",
    "both_sizes",
    "metres",
    "notion_words",
    "share",
    "yards",
]

INCHES = Amounts("in")
SAME_WIDTH = 3.0
"""A width that is over whole inches by no more than this (mm) is sold as those."""


def both(mm: float, amounts: Amounts) -> str:
    """Return a measure in both systems: ``"45.3 cm (17 7/8 in)"``."""
    first, second = (INCHES, METRIC) if amounts.inches else (METRIC, INCHES)
    return f"{first.size(mm)} ({second.size(mm)})"


def both_sizes(along: float, across: float, amounts: Amounts) -> str:
    """Return two measures in both systems."""
    first, second = (INCHES, METRIC) if amounts.inches else (METRIC, INCHES)
    return f"{first.sizes(along, across)} ({second.sizes(along, across)})"


def both_fine(mm: float, amounts: Amounts) -> str:
    """Return a small setting in both systems: ``"3 mm (1/8 in)"``."""
    metric, inches = METRIC.setting(mm), INCHES.size(mm)
    if inches == "0 in":
        inches = INCHES.setting(mm)
    return f"{inches} ({metric})" if amounts.inches else f"{metric} ({inches})"


def share(part: float) -> str:
    """Return a share in per cent, with no more digits than it has."""
    return f"{round(100.0 * part, 1):g} %"


def metres(mm: float) -> str:
    """Return a length to buy in metres."""
    return f"{mm / 1000.0:.2f} m"


def yards(mm: float) -> str:
    """Return a length to buy in yards, by eighths where it is a number of those."""
    said = INCHES.bought(mm)
    return said if said.endswith("yd") else f"{mm / LENGTH_UNITS['yd']:.2f} yd"


def notion_words(quantity: float, unit: str) -> str:
    """Return so much of a notion; yards and inches by eighths where it is a number of those."""
    eighths = Fraction(quantity).limit_denominator(8)
    whole, rest = divmod(eighths, 1)
    if unit not in INCH_UNITS or not rest or float(eighths) != quantity or 8 % rest.denominator:
        return METRIC.amount(quantity, unit)
    return f"{whole} {rest} {unit}" if whole else f"{rest} {unit}"


def area_words(mm2: float) -> tuple[str, str]:
    """Return an area of leather in dm² and in ft²."""
    return f"{mm2 / AREA_UNITS['dm²']:.1f} dm²", f"{mm2 / AREA_UNITS['ft²']:.2f} ft²"
