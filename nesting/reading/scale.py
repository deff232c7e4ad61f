"""How long a unit of a pattern file is: decided openly, never guessed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from nesting.errors import Finding, PatternError, Severity

__all__ = [
    "FILE_UNITS",
    "Claim",
    "Scale",
    "decide_scale",
    "fingerprint",
    "named_factor",
    "size_text",
    "unit_factor",
]

INCH = 25.4

FILE_UNITS: dict[str, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "dm": 100.0,
    "m": 1000.0,
    "um": 1e-3,
    "in": INCH,
    "ft": 12 * INCH,
    "yd": 36 * INCH,
    "mil": INCH / 1000,
    "px": INCH / 96,
    "pt": INCH / 72,
    "pc": INCH / 6,
    "1/90 in": INCH / 90,
}
"""mm per unit. px, pt and pc are those of CSS (1/96, 1/72 and 1/6 in); old drawing
programs counted 90 to the inch."""

_OTHER_NAMES = {
    "millimetre": "mm",
    "millimeter": "mm",
    "metric": "mm",
    "centimetre": "cm",
    "centimeter": "cm",
    "metre": "m",
    "meter": "m",
    "inch": "in",
    "inche": "in",
    "english": "in",
    '"': "in",
    "foot": "ft",
    "feet": "ft",
    "yard": "yd",
    "point": "pt",
    "pixel": "px",
    "micron": "um",
    "µm": "um",
}

PLAUSIBLE = (60.0, 4000.0)
"""Longer side of the largest piece of a bag's pattern, mm: common practice, no source.
Outside it the file's own word is not enough, unless it is firm; up to twice the
smaller one it is told what the other units would give."""
USUAL = (100.0, 2000.0)
"""The same of nearly all bags, from a purse to a long strap: common practice, no source.
If the file's unit makes no such piece and another one would, its user is asked."""
FIRM = (2.0, 20_000.0)
"""The same where the file states a length with its unit."""

_HOW = "--unit or --reference of the command pieces, file_unit in a job"

_SLIPS: tuple[tuple[float, str], ...] = (
    (25.4, "inches taken for mm"),
    (96 / 25.4, "px (1/96 in) taken for mm"),
    (72 / 25.4, "points (1/72 in) taken for mm"),
    (90 / 25.4, "units of 1/90 in taken for mm"),
    (96 / 90, "96 and 90 units per inch mixed up"),
    (90 / 72, "90 and 72 units per inch mixed up"),
    (96 / 72, "96 and 72 units per inch mixed up"),
    (2.54, "inches taken for cm"),
    (10.0, "cm and mm mixed up"),
    (100.0, "m and cm, or dm and mm, mixed up"),
    (1000.0, "m and mm mixed up"),
    (12.0, "feet and inches mixed up"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """What the file says about its unit: mm per unit, the unit's name, where it says so.

    `firm`: it states a length with its unit, rather than a system or a setting that
    programs leave as it was.
    """

    factor: float
    unit: str
    why: str
    firm: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """What was decided: mm per file unit, the unit's name, and why."""

    factor: float
    unit: str
    why: str


def unit_factor(name: str) -> tuple[str, float]:
    """Return the plain name and the length (mm) of a file unit: "mm", "inches", "1/90 in", "px"."""
    text = " ".join(name.split()).lower()
    known = text if text in FILE_UNITS else _OTHER_NAMES.get(text, _OTHER_NAMES.get(text[:-1], ""))
    if not known:
        raise PatternError(
            f"unknown unit {name!r}", field="unit", hint="one of " + ", ".join(FILE_UNITS)
        )
    return known, FILE_UNITS[known]


def named_factor(factor: float, *, within: float = 1e-6) -> tuple[str, float]:
    """Return the name of a unit of so many mm, and its exact length if it is a known one."""
    for unit, exact in FILE_UNITS.items():
        if abs(factor / exact - 1.0) <= within:
            return unit, exact
    return f"units of {factor:.6g} mm", factor


def size_text(size: tuple[float, float]) -> str:
    """Return a size in mm as people say it: "420 × 310 mm", "10.7 × 7.9 m"."""
    longest = max(size)
    if longest >= 2000.0:
        return f"{size[0] / 1000:.3g} × {size[1] / 1000:.3g} m"
    digits = 0 if longest >= 100.0 else 1 if longest >= 10.0 else 3
    return f"{size[0]:.{digits}f} × {size[1]:.{digits}f} mm"


def fingerprint(ratio: float, *, within: float = 2e-3) -> str | None:
    """Name the slip that is known to give a scale wrong by `ratio`, or its inverse.

    Factors: the ratios of the units themselves (1 in = 25.4 mm = 96 px = 72 pt;
    90 units per inch in old drawings). 0.93 to 0.97 is common practice, no source.
    """
    if not (ratio > 0.0 and math.isfinite(ratio)):
        return None
    for factor, name in _SLIPS:
        if any(abs(ratio / f - 1.0) <= within for f in (factor, 1.0 / factor)):
            return name
    if 0.93 <= ratio <= 0.97:
        return "shrunk to fit a page, as printers do"
    if 0.93 <= 1.0 / ratio <= 0.97:
        return "enlarged from a page that was shrunk to fit"
    return None


def decide_scale(
    size: tuple[float, float],
    *,
    unit: str | None = None,
    reference: tuple[float, float] | None = None,
    claims: Sequence[Claim] = (),
    readings: Sequence[str] = ("mm", "cm", "in"),
    file: str | None = None,
) -> tuple[Scale, tuple[Finding, ...]]:
    """Decide how long a file unit is: the user's word, then the file's, else a refusal.

    Parameters
    ----------
    size
        Width and height of the largest piece, in file units.
    unit
        The unit the user says.
    reference
        A line drawn in the file: its length in file units, and its true length in mm.
    claims
        What the file says, the weightiest first.
    readings
        The units for which a refusal tells the size.

    Returns
    -------
    The scale and the findings: contradictions, with the slip that would explain
    them, and sizes that nobody would expect.

    """
    if reference is not None:
        scale = _from_reference(reference, file=file)
    elif unit is not None:
        name, factor = unit_factor(unit)
        scale = Scale(factor=factor, unit=name, why="as the user says")
    elif claims:
        scale = Scale(factor=claims[0].factor, unit=claims[0].unit, why=claims[0].why)
    else:
        raise PatternError(
            f"the file does not say its unit: the largest piece would be {_sizes(size, readings)}",
            file=file,
            hint=f"say the unit, or the length of a line drawn in it: {_HOW}",
        )
    findings = list(_contradictions(scale, claims, size))
    if reference is not None and unit is not None:
        name, factor = unit_factor(unit)
        users = Claim(factor=factor, unit=name, why="as the user says")
        findings = [*_contradictions(scale, [users], size), *findings]
    said = reference is not None or unit is not None
    findings += _odd_size(
        size,
        scale,
        said=said,
        firm=claims[0].firm if claims else False,
        readings=readings,
        file=file,
    )
    return scale, tuple(findings)


def _odd_size(
    size: tuple[float, float],
    scale: Scale,
    *,
    said: bool,
    firm: bool,
    readings: Sequence[str],
    file: str | None,
) -> list[Finding]:
    """Tell of a size that nobody would expect; refuse it if only the file says so."""
    longest = max(size) * scale.factor
    if 2.0 * PLAUSIBLE[0] <= longest <= USUAL[1]:
        return []
    text = (
        f"the largest piece is {size_text(_times(size, scale.factor))} in {scale.unit} "
        f"({scale.why}); it would be {_sizes(size, readings, but=scale.unit)}"
    )
    low, high = FIRM if firm else PLAUSIBLE
    others = (max(size) * FILE_UNITS[unit] for unit in readings if unit != scale.unit)
    slip = (
        not firm
        and not USUAL[0] <= longest <= USUAL[1]
        and any(USUAL[0] <= other <= USUAL[1] for other in others)
    )
    if not said and (slip or not low <= longest <= high):
        raise PatternError(text, file=file, hint=f"say the unit if that is right: {_HOW}")
    if firm and PLAUSIBLE[0] / 2.0 <= longest <= PLAUSIBLE[1]:
        return []
    return [Finding(kind="size", text=text, severity=Severity.NOTE, amount=longest)]


def _from_reference(reference: tuple[float, float], *, file: str | None) -> Scale:
    drawn, known = reference
    if not (drawn > 0.0 and known > 0.0 and math.isfinite(drawn) and math.isfinite(known)):
        raise PatternError("the reference line has no length", file=file, field="reference")
    unit, factor = named_factor(known / drawn)
    return Scale(
        factor=factor,
        unit=unit,
        why=f"the reference line is {known:.6g} mm long and drawn {drawn:.6g} units long",
    )


def _contradictions(
    scale: Scale, claims: Iterable[Claim], size: tuple[float, float]
) -> Iterable[Finding]:
    for claim in claims:
        ratio = claim.factor / scale.factor
        if abs(ratio - 1.0) <= 1e-4:
            continue
        slip = fingerprint(ratio)
        text = (
            f"{scale.unit} ({scale.why}), but {claim.unit} ({claim.why}) would make the "
            f"largest piece {size_text(_times(size, claim.factor))} instead of "
            f"{size_text(_times(size, scale.factor))}: factor {ratio:.5g}"
        )
        if slip:
            text += f", as of {slip}"
        yield Finding(kind="scale", text=text, severity=Severity.NOTE, amount=ratio)


def _times(size: tuple[float, float], factor: float) -> tuple[float, float]:
    return (size[0] * factor, size[1] * factor)


_PLURALS = {"in": "inches", "ft": "feet", "1/90 in": "1/90 in"}


def _sizes(size: tuple[float, float], readings: Sequence[str], *, but: str | None = None) -> str:
    return ", ".join(
        f"{size_text(_times(size, FILE_UNITS[unit]))} in {_PLURALS.get(unit, unit)}"
        for unit in readings
        if unit != but
    )
