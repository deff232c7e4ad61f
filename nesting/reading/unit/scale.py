"""How long a unit of a pattern file is: decided openly, never guessed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from nesting.amounts import INCH_UNITS, METRIC, Amounts
from nesting.errors import Finding, PatternError, Severity
from nesting.reading.unit.telling import Telling

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

_HOW = "--unit or --reference of the command pieces, file_unit or file_reference in a job"

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
    programs leave as it was. `drawn`: that length is drawn, and to be measured. `also`: units
    that the same word means for some.
    """

    factor: float
    unit: str
    why: str
    firm: bool = False
    drawn: bool = False
    also: tuple[str, ...] = ()


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


def size_text(size: tuple[float, float], amounts: Amounts = METRIC) -> str:
    """Return a size in mm as people say it: "420 × 310 mm", "10.7 × 7.9 m", "16 × 12 1/8 in"."""
    if amounts.inches:
        return amounts.sizes(*size)
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
    telling: Sequence[Telling] = (),
    readings: Sequence[str] = ("mm", "cm", "in"),
    amounts: Amounts = METRIC,
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
    telling
        Small things in the file whose size tells the unit.
    readings
        The units for which a refusal tells the size.
    amounts
        How sizes are said.

    Returns
    -------
    The scale and the findings: contradictions, with the slip that would explain
    them, and sizes that nobody would expect.

    """
    said = reference is not None or unit is not None
    claim = None if said else _settled(claims)
    looks = _Looks(size=size, telling=telling, readings=readings, amounts=amounts)
    if reference is not None:
        scale = _from_reference(reference, file=file)
    elif unit is not None:
        name, factor = unit_factor(unit)
        scale = Scale(factor=factor, unit=name, why="as the user says")
    elif claim is not None:
        scale = Scale(factor=claim.factor, unit=claim.unit, why=claim.why)
    else:
        raise PatternError(
            f"the file does not say its unit: the largest piece would be {looks.sizes()}",
            file=file,
            hint=f"say the unit, or the length of a line drawn in it: {_HOW}",
        )
    findings = list(_contradictions(scale, claims, looks))
    if reference is not None and unit is not None:
        name, factor = unit_factor(unit)
        users = Claim(factor=factor, unit=name, why="as the user says")
        findings = [*_contradictions(scale, [users], looks), *findings]
    findings += _odd_size(scale, looks, claim=claim, file=file)
    return scale, tuple(findings)


def _settled(claims: Sequence[Claim]) -> Claim | None:
    """Return the weightiest claim; a word of several meanings is settled by a plainer one."""
    if not claims:
        return None
    first = claims[0]
    plain = next(
        (c for c in claims[1:] if not c.also and c.unit in (first.unit, *first.also)), None
    )
    if first.also and plain is not None:
        return replace(plain, why=f"{first.why}, {plain.why}")
    return first


@dataclass(frozen=True, slots=True, kw_only=True)
class _Looks:
    """What the pieces look like in each unit."""

    size: tuple[float, float]
    telling: Sequence[Telling]
    readings: Sequence[str]
    amounts: Amounts

    def usual(self, factor: float) -> bool:
        """Tell whether the largest piece is one that most bags have."""
        return USUAL[0] <= max(self.size) * factor <= USUAL[1]

    def fits(self, factor: float) -> bool:
        """Tell whether the small things have usual sizes, if there are any."""
        return all(one.fits(factor) for one in self.telling)

    def rivals(self, scale: Scale, *, also: Sequence[str]) -> list[str]:
        """Return the other units in which everything has a usual size."""
        return [
            unit
            for unit in dict.fromkeys([*self.readings, *also])
            if unit != scale.unit and self.usual(FILE_UNITS[unit]) and self.fits(FILE_UNITS[unit])
        ]

    def text(self, factor: float) -> str:
        """Return the size of the largest piece."""
        return size_text((self.size[0] * factor, self.size[1] * factor), self.amounts)

    def sizes(self, *, but: str | None = None) -> str:
        """Return its size in every unit."""
        return ", ".join(
            f"{self.text(FILE_UNITS[unit])} in {_PLURALS.get(unit, unit)}"
            for unit in sorted(self.readings, key=self._foreign)
            if unit != but
        )

    def _foreign(self, unit: str) -> bool:
        """Tell whether a unit is not one in which lengths are said: those come first."""
        return self.amounts.inches and unit not in INCH_UNITS

    def small(self, factor: float) -> str:
        """Return the sizes of the small things."""
        return ", ".join(
            f"{one.what} are {self.amounts.setting(one.length * factor)}" for one in self.telling
        )


def _odd_size(
    scale: Scale, looks: _Looks, *, claim: Claim | None, file: str | None
) -> list[Finding]:
    """Tell of a size that nobody would expect; refuse it if only the file says so.

    Another unit that makes a bag's piece and usual allowances and notches is a rival. The
    file's own unit gives way to none if its pieces, allowances and notches are usual; a
    word of several meanings does if there is nothing small to tell them apart.
    """
    longest = max(looks.size) * scale.factor
    rivals = looks.rivals(scale, also=claim.also if claim else ())
    fits = looks.fits(scale.factor)
    rivalled = bool(rivals) and not (looks.usual(scale.factor) and fits)
    by_tens = not looks.telling and any(
        math.isclose(abs(math.log10(FILE_UNITS[unit] / scale.factor)), 1.0) for unit in rivals
    )
    low, high = 2.0 * PLAUSIBLE[0], USUAL[1]
    refused = False
    if claim is not None and claim.firm:
        low, high = PLAUSIBLE[0] / 2.0, PLAUSIBLE[1]
        refused = not FIRM[0] <= longest <= FIRM[1]
    elif claim is not None:
        least, most = FIRM if looks.telling and fits else PLAUSIBLE
        refused = not least <= longest <= most or rivalled or (by_tens and bool(claim.also))
    told = claim is not None and not claim.drawn and (rivalled or (by_tens and not claim.firm))
    if low <= longest <= high and not told and not refused:
        return []
    text = (
        f"the largest piece is {looks.text(scale.factor)} in {scale.unit} ({scale.why}); "
        f"it would be {looks.sizes(but=scale.unit)}"
    )
    if not fits:
        text += f"; in {scale.unit} its {looks.small(scale.factor)}"
    if refused:
        raise PatternError(text, file=file, hint=f"say the unit if that is right: {_HOW}")
    return [Finding(kind="size", text=text, severity=Severity.NOTE, amount=longest)]


def _from_reference(reference: tuple[float, float], *, file: str | None) -> Scale:
    drawn, known = reference
    if not (drawn > 0.0 and known > 0.0 and math.isfinite(drawn) and math.isfinite(known)):
        raise PatternError(
            "the reference line has no length",
            file=file,
            field="reference",
            hint="draw it as long as it says",
        )
    unit, factor = named_factor(known / drawn)
    return Scale(
        factor=factor,
        unit=unit,
        why=f"the reference line is {known:.6g} mm long and drawn {drawn:.6g} units long",
    )


def _contradictions(scale: Scale, claims: Iterable[Claim], looks: _Looks) -> Iterable[Finding]:
    for claim in claims:
        ratio = claim.factor / scale.factor
        if abs(ratio - 1.0) <= 1e-4 or scale.unit in claim.also:
            continue
        slip = fingerprint(ratio)
        text = (
            f"{scale.unit} ({scale.why}), but {claim.unit} ({claim.why}) would make the largest "
            f"piece {looks.text(claim.factor)} instead of {looks.text(scale.factor)}: "
            f"factor {ratio:.5g}"
        )
        if slip:
            text += f", as of {slip}"
        yield Finding(kind="scale", text=text, severity=Severity.NOTE, amount=ratio)


_PLURALS = {"in": "inches", "ft": "feet", "1/90 in": "1/90 in"}
