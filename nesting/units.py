"""Lengths and areas as people write them, and millimetres.

Inside the program a length is a float in mm and an area one in mm². Here is the way
in (``"1 3/8 yd"`` → 1257.3), the way out (in cm, inches and eighths of a yard) and the
rounding up to the step in which a shop sells.

Factors: 1 yd = 0.9144 m exactly, so 1 in = 25.4 mm (international yard and pound
agreement, 1959).
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable
from fractions import Fraction

from nesting.errors import JobError
from nesting.limits import LONGEST

__all__ = [
    "AREA_UNITS",
    "LENGTH_UNITS",
    "LONGEST",
    "area",
    "format_cm",
    "format_inches",
    "format_yards",
    "length",
    "nearest",
    "round_up",
    "unit_of",
]

LENGTH_UNITS: dict[str, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "dm": 100.0,
    "m": 1000.0,
    "in": 25.4,
    "ft": 304.8,
    "yd": 914.4,
}
"""mm in each unit of length."""

AREA_UNITS: dict[str, float] = {
    "mm²": 1.0,
    "cm²": 100.0,
    "dm²": 10_000.0,
    "m²": 1e6,
    "in²": 645.16,
    "ft²": 92_903.04,
    "yd²": 836_127.36,
}
"""mm² in each unit of area."""

_NOISE = 1e-3
"""A length that is longer than a step by less than this (mm) is that step."""

_OTHER_NAMES = {
    '"': "in",
    "″": "in",
    "”": "in",
    "'": "ft",
    "′": "ft",
    "’": "ft",
    "inch": "in",
    "inches": "in",
    "foot": "ft",
    "feet": "ft",
    "yard": "yd",
    "yards": "yd",
    "yds": "yd",
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
}

_VULGAR = {
    "⅛": "1/8",
    "¼": "1/4",
    "⅓": "1/3",
    "⅜": "3/8",
    "½": "1/2",
    "⅝": "5/8",
    "⅔": "2/3",
    "¾": "3/4",
    "⅞": "7/8",
}

_NUMBER = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
    (?: (?:(?P<whole>\d{1,9})(?:[ ]+|[ ]?-[ ]?))? (?P<top>\d{1,9}) \s*/\s* (?P<bottom>\d{1,9})
      | (?P<decimal>\d{1,15}(?:[.,]\d{1,40})?|[.,]\d{1,40}) (?P<exponent>[eE][+-]?\d{1,3})? )
    \s*(?P<unit>.*?)\s*""",
    re.VERBOSE,
)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that is most like this one, if one is alike at all."""
    found = difflib.get_close_matches(word.lower(), list(known), n=1, cutoff=0.5)
    return found[0] if found else None


def length(value: str | float, *, unit: str = "mm") -> float:
    """Return a length in mm.

    Parameters
    ----------
    value
        ``"45 cm"``, ``"3/8 in"``, ``"1 3/8 yd"``, ``'54"'`` or a plain number.
    unit
        The unit of a plain number.

    Raises
    ------
    JobError
        If it isn't a number with a known unit of length, or longer than `LONGEST`.

    """
    number, factor = _split(value, unit, LENGTH_UNITS)
    result = number * factor
    if not abs(result) <= LONGEST:
        raise JobError(f"{_shown(value)} is not a usable length", hint="at most 1 km")
    return result


def unit_of(text: str) -> str | None:
    """Return the unit of a length that is written with one; None if it is no such thing."""
    for sign, spelled in _VULGAR.items():
        text = text.replace(sign, f" {spelled}")
    match = _NUMBER.fullmatch(text) if len(text) <= 60 else None
    if match is None or not match["unit"]:
        return None
    name = _OTHER_NAMES.get(match["unit"].lower(), match["unit"].lower())
    return name if name in LENGTH_UNITS else None


def area(value: str | float, *, unit: str = "m²") -> float:
    """Return an area in mm²: ``"18 ft²"``, ``"25 sq ft"``, ``"120 dm2"`` or a number of `unit`."""
    if isinstance(value, str):
        value = re.sub(r"\bsq\.?\s*(\w+)", r"\1²", value).replace("^2", "²")
        value = re.sub(r"([a-z])2\s*$", r"\1²", value)
    number, factor = _split(value, unit, AREA_UNITS)
    result = number * factor
    if not abs(result) <= LONGEST * LONGEST:
        raise JobError(f"{_shown(value)} is not a usable area", hint="at most 1 km²")
    return result


def _split(value: str | float, unit: str, units: dict[str, float]) -> tuple[float, float]:
    """Return the number, and the factor of its unit."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise JobError(f"{_shown(value)} is not a length", hint='write for example "45 cm"')
    if not isinstance(value, str):
        if abs(value) > 1e300 or not math.isfinite(value):
            raise JobError(f"{_shown(value)} is not a usable number", hint="give a finite number")
        return float(value), units[unit]
    text = value
    for sign, spelled in _VULGAR.items():
        text = text.replace(sign, f" {spelled}")
    match = _NUMBER.fullmatch(text) if len(text) <= 60 else None
    if match is None:
        raise JobError(
            f"{_shown(value)} is not a number with a unit",
            hint='write for example "45 cm", "3/8 in" or "1 3/8 yd"',
        )
    name = match["unit"] or unit
    name = _OTHER_NAMES.get(name.lower(), name.lower())
    if name not in units:
        near = nearest(name, [*units, *(word for word in _OTHER_NAMES if len(word) > 1)])
        did = f'did you mean "{_OTHER_NAMES.get(near, near)}"? ' if near else ""
        raise JobError(
            f"unknown unit {_shown(match['unit'])}", hint=f"{did}known: {', '.join(units)}"
        )
    number = _number(match)
    if not math.isfinite(number):
        raise JobError(f"{_shown(value)} is not a usable number", hint="give a finite number")
    return (-number if match["sign"] == "-" else number), units[name]


def _number(match: re.Match[str]) -> float:
    if match["decimal"] is not None:
        return float(match["decimal"].replace(",", ".") + (match["exponent"] or ""))
    if int(match["bottom"]) == 0:
        return math.inf
    return float(int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"])))


def _shown(value: object) -> str:
    """Return the value as it may stand in a message: one short line."""
    try:
        text = repr(value) if not isinstance(value, str) else f'"{value}"'
    except ValueError:  # an integer of thousands of digits has no repr
        return "a number of thousands of digits"
    text = "".join(c if c.isprintable() else "?" for c in text)
    return text if len(text) <= 40 else text[:37] + "…"


def round_up(mm: float, *, step: float) -> float:
    """Return the length rounded up to whole steps (mm).

    A length that is over a step by less than a thousandth of a millimetre counts as
    that step: it is rounding, and no shop measures it.
    """
    return max(0, math.ceil((mm - _NOISE) / step)) * step


def format_cm(mm: float) -> str:
    """Return the length in cm to the millimetre: ``"45.3 cm"``."""
    return f"{mm / 10.0:.1f} cm"


def format_inches(mm: float) -> str:
    """Return the length in inches to the nearest eighth: ``"17 7/8 in"``."""
    return f"{_eighths(round(mm / 25.4 * 8))} in"


def format_yards(mm: float) -> str:
    """Return the length in yards, rounded *up* to the eighth: ``"1 3/8 yd"``."""
    return f"{_eighths(round(round_up(mm, step=114.3) / 114.3))} yd"


def _eighths(count: int) -> str:
    sign = "-" if count < 0 else ""
    whole, rest = divmod(abs(count), 8)
    if rest == 0:
        return f"{sign}{whole}"
    fraction = Fraction(rest, 8)
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"
