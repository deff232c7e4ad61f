"""Amounts in the units of a job, rounded in one way wherever they are said.

Whoever writes a job in inches, feet or yards reads inches, yards and square feet; everybody
else cm, metres and square metres. An amount is rounded once, from mm, by the kind it is:

========== ============================== ============================ ===========
kind       metric                         in inches                    rounded
========== ============================== ============================ ===========
size       45.3 cm                        17 7/8 in                    to nearest
setting    3 mm, 12.5 cm                  1/8 in, 0.3 in               two decimals
fine       0.125 mm                       0.0049 in                    to nearest
needed     90.5 cm, above 3 m 3.28 m      35 5/8 in, above 3 yd 3.58 yd  up
room       90.4 cm, above 3 m 3.27 m      35 1/2 in, above 3 yd 3.57 yd  down
bought     60 cm, above 3 m 3.30 m        5/8 yd                       up
area       0.463 m²                       4.98 ft²                     to nearest
leather    46.3 dm² (4.98 ft²)            4.98 ft²                     to nearest
path       12.3 m                         13.5 yd                      to nearest
========== ============================== ============================ ===========

Cloth is sold in eighths of a yard and leather in quarters of a square foot or by the
hundredth (common practice, no source); factors are those of `nesting.units`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from nesting.quantity import Quantity, Unit
from nesting.units import AREA_UNITS, LENGTH_UNITS, round_up

__all__ = ["INCH_UNITS", "METRIC", "Amounts"]

INCH_UNITS = frozenset({"in", "ft", "yd"})
"""Jobs in these units are spoken of in inches, yards and square feet."""

_INCH, _YARD = LENGTH_UNITS["in"], LENGTH_UNITS["yd"]
_LONG = 3000.0  # mm from which a length of cloth is said in metres
_LONG_YARDS = 3.0 * _YARD
_SAME = 0.005  # mm: what is so near to a sixteenth of an inch is one
_SEAM = 30.0  # mm: seam allowances and the like are said in mm
_SMALL = 1e4  # mm²: below this an area is said in cm² or in²
_NOISE = 1e-3  # mm: what `round_up` takes for rounding


@dataclass(frozen=True, slots=True)
class Amounts:
    """How a job's amounts are said; `unit`: of plain lengths in the job file.

    Every method takes mm or mm² and returns text with its unit.
    """

    unit: str = "mm"

    @property
    def inches(self) -> bool:
        """Whether the job is in inches, feet or yards."""
        return self.unit in INCH_UNITS

    @property
    def length_unit(self) -> str:
        """The unit of lengths in tables for a spreadsheet: ``"yd"`` or ``"m"``."""
        return "yd" if self.inches else "m"

    @property
    def width_unit(self) -> str:
        """The unit of widths in tables for a spreadsheet: ``"in"`` or ``"cm"``."""
        return "in" if self.inches else "cm"

    @property
    def area_unit(self) -> str:
        """The unit of areas of cloth: ``"ft²"`` or ``"m²"``."""
        return "ft²" if self.inches else "m²"

    @property
    def leather_unit(self) -> str:
        """The unit of leather in tables for a spreadsheet: ``"ft²"`` or ``"dm²"``."""
        return "ft²" if self.inches else "dm²"

    @property
    def steps(self) -> str:
        """To what lengths of cloth are rounded, in words."""
        return "an eighth of an inch" if self.inches else "a millimetre"

    def size(self, mm: float) -> str:
        """Return a measure of a thing: the nearest eighth of an inch, or millimetre."""
        if self.inches:
            return f"{_fraction(round(mm / _INCH * 8), 8)} in"
        return f"{_short(mm / 10.0)} cm"

    def sizes(self, along: float, across: float) -> str:
        """Return two measures: ``"45.3 × 30 cm"``."""
        first, second = self.size(along), self.size(across)
        return f"{first.rpartition(' ')[0]} × {second}"

    def setting(self, mm: float) -> str:
        """Return a length that somebody set: as it is, not rounded to eighths."""
        if not self.inches:
            return f"{round(mm, 2):.4g} mm" if abs(mm) < _SEAM else f"{round(mm / 10.0, 2):.10g} cm"
        sixteenths = round(mm / _INCH * 16)
        if abs(sixteenths * _INCH / 16 - mm) < _SAME and (sixteenths or not mm):
            return f"{_fraction(sixteenths, 16)} in"
        inches = mm / _INCH
        return f"{inches:.2g} in" if abs(inches) < 1.0 else f"{round(inches, 2):.10g} in"

    def by_hand(self, mm: float) -> str:
        """Return a length that a hand has pointed at: the nearest millimetre, or 1/16 in."""
        if self.inches:
            return f"{_fraction(round(mm / _INCH * 16), 16)} in"
        return self.setting(float(round(mm)))

    def pointed_at(self, mm: float) -> float:
        """Return the same in mm."""
        return round(mm / _INCH * 16) * _INCH / 16 if self.inches else float(round(mm))

    def fine(self, mm: float) -> str:
        """Return a small distance in which hundredths of a millimetre count."""
        number, digits = (mm / _INCH, 4) if self.inches else (mm, 3)
        unit = "in" if self.inches else "mm"
        if number and abs(number) < 10.0 ** (1 - digits):
            return f"{number:.1e} {unit}"
        return f"{number:.{digits}f} {unit}"

    def fine_area(self, mm2: float) -> str:
        """Return a small area to four figures."""
        unit = "in²" if self.inches else "mm²"
        return f"{mm2 / AREA_UNITS[unit]:.4g} {unit}"

    def on_machine(self, mm: float) -> str:
        """Return a length as an operator reads it off a machine."""
        return f"{mm / _INCH:.2f} in" if self.inches else f"{mm:.1f} mm"

    def tool(self, mm: float) -> str:
        """Return a small setting of a tool, as it was given."""
        return f"{mm / _INCH:.4g} in" if self.inches else f"{mm:g} mm"

    def retold(self, text: str, *, names: Iterable[str] = ()) -> str:
        """Return a message of a room that knows no job, written in mm, in the job's units.

        What stands in quotes is a name and stays, and so do `names`.
        """
        if not self.inches:
            return text
        kept = "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True) if name)
        pattern = re.compile(f"(?P<kept>{kept})|{_IN_MM}") if kept else re.compile(_IN_MM)
        return pattern.sub(self._one_retold, text)

    def _one_retold(self, found: re.Match[str]) -> str:
        if found["numbers"] is None:
            return found[0]
        squared = _INCH * _INCH if found["square"] else _INCH
        numbers = [f"{float(n) / squared:.4g}" for n in re.findall(_NUMBER, found["numbers"])]
        words = re.split(_NUMBER, found["numbers"])
        said = "".join(a + b for a, b in zip(words, [*numbers, ""], strict=True))
        return f"{said} in{'²' if found['square'] else ''}"

    def needed(self, mm: float) -> str:
        """Return a length that is taken, rounded up; long ones in yards or metres."""
        if self.inches:
            if mm > _LONG_YARDS + _NOISE:
                return f"{math.ceil((mm - _NOISE) / _YARD * 100.0) / 100.0:.2f} yd"
            return f"{_fraction(round(round_up(mm, step=_INCH / 8) * 8 / _INCH), 8)} in"
        if mm > _LONG + _NOISE:
            return f"{round_up(mm, step=10.0) / 1000.0:.2f} m"
        return f"{_short(round_up(mm, step=1.0) / 10.0)} cm"

    def room(self, mm: float) -> str:
        """Return a length that is there or that nothing goes below, rounded down."""
        if self.inches:
            if mm > _LONG_YARDS + _NOISE:
                return f"{math.floor((mm + _NOISE) / _YARD * 100.0) / 100.0:.2f} yd"
            return f"{_fraction(math.floor((mm + _NOISE) / _INCH * 8), 8)} in"
        if mm > _LONG + _NOISE:
            return f"{math.floor((mm + _NOISE) / 10.0) / 100.0:.2f} m"
        return f"{_short(math.floor(mm + _NOISE) / 10.0)} cm"

    def rooms(self, along: float, across: float) -> str:
        """Return two measures rounded down: the rectangle that a left-over holds."""
        return f"{self.room(along)} × {self.room(across)}"

    def bought(self, mm: float) -> str:
        """Return a length to buy: in eighths of a yard where it is a number of those."""
        eighths = round(mm / _YARD * 8)
        if self.inches and abs(eighths * _YARD / 8 - mm) < _SAME:
            return f"{_fraction(eighths, 8)} yd"
        return self.needed(mm)

    def step(self, mm: float) -> str:
        """Return the step in which a shop sells."""
        said = self.bought(mm)
        return said if said.endswith("yd") else self.setting(mm)

    def area(self, mm2: float) -> str:
        """Return an area of cloth or parts; a small one in in² or cm²."""
        if mm2 < _SMALL:
            unit = "in²" if self.inches else "cm²"
            return f"{_short(mm2 / AREA_UNITS[unit])} {unit}"
        if self.inches:
            return f"{mm2 / AREA_UNITS['ft²']:.2f} ft²"
        return f"{mm2 / AREA_UNITS['m²']:.3f} m²"

    def leather(self, mm2: float) -> str:
        """Return an area of leather; metric ones in ft², too, by which many tanners sell."""
        feet = f"{mm2 / AREA_UNITS['ft²']:.2f} ft²"
        return feet if self.inches else f"{mm2 / AREA_UNITS['dm²']:.1f} dm² ({feet})"

    def amount(self, number: float, unit: str) -> str:
        """Return a line's amount of a buying list; `unit`: one of `Unit` or any other."""
        if unit == Unit.LENGTH:
            return self.bought(number)
        if unit == Unit.AREA:
            return self.leather(number)
        if unit in (Unit.SHEETS, Unit.HIDES):
            count = math.ceil(number - 1e-9)
            return f"{count} {unit[:-1] if count == 1 else unit}"
        if unit.isalpha() and not unit.endswith("s") and number != 1:
            unit += "s" if len(unit) > 2 else ""  # 12 spools, but 40 cm
        return f"{number:g} {unit}".strip()

    def least(self, bound: Quantity) -> str:
        """Return what nothing goes below: a length rounded down, a number of sheets up."""
        return self.room(bound.value) if bound.unit == Unit.LENGTH else self.said(bound)

    def taken(self, what: Quantity) -> str:
        """Return what is taken: a length rounded up, a number of sheets."""
        return self.needed(what.value) if what.unit == Unit.LENGTH else self.said(what)

    def said(self, what: Quantity) -> str:
        """Return an amount as it is bought: ``"nothing"`` of nothing."""
        return self.amount(what.value, what.unit) if what else "nothing"

    def path(self, mm: float) -> str:
        """Return how far a knife or a pen goes."""
        if self.inches:
            return f"{mm / _YARD:.1f} yd"
        return f"{mm / 1000.0:.1f} m"


_NUMBER = r"[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?"
_IN_MM = (
    r"""(?P<name>"[^"]*"|'[^']*')"""
    rf"|(?<![\w.])(?P<numbers>\(?{_NUMBER}(?:(?: × | to |, |\) to \(){_NUMBER})*\)?)"
    r" mm(?P<square>²?)(?![\w/])"
)
"""A name in quotes, or one or more lengths that end in mm: "3 × 4 mm", "(1, 2) mm"."""

METRIC = Amounts()
"""How amounts are said where no job says otherwise."""


def _short(value: float) -> str:
    """Return a number with one decimal, and none where it is 0."""
    return f"{value:.1f}".removesuffix(".0")


def _fraction(count: int, parts: int) -> str:
    sign = "-" if count < 0 else ""
    whole, rest = divmod(abs(count), parts)
    if rest == 0:
        return f"{sign}{whole}"
    fraction = Fraction(rest, parts)
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"
