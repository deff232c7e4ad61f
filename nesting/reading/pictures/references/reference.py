"""What gives a picture its scale, as people say it."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from nesting.errors import JobError, PatternError
from nesting.units import length

__all__ = [
    "HOW",
    "MARK",
    "MARKS",
    "SHEETS",
    "Kind",
    "Reference",
    "parse_reference",
    "parse_references",
]

SHEETS: dict[str, tuple[float, float]] = {
    "A2": (420.0, 594.0),
    "A3": (297.0, 420.0),
    "A4": (210.0, 297.0),
    "A5": (148.0, 210.0),
    "A6": (105.0, 148.0),
    "Letter": (215.9, 279.4),
    "Legal": (215.9, 355.6),
    "Tabloid": (279.4, 431.8),
}
"""Sheets of paper, mm: ISO 216; 8½ × 11, 8½ × 14 and 11 × 17 in."""

MARKS = 4
"""How many of our own marks there are, one for each corner of what is photographed."""
MARK = 80.0
"""Side (mm) of our own marks, of their black square."""

HOW = (
    "lay a sheet of A4 or Letter beside the pieces and say A4 or Letter (--reference of the command"
    ' pieces), or the side of a square that is drawn there: "5 cm square"'
)


class Kind(StrEnum):
    """What it is."""

    SHEET = "sheet"
    """A sheet of paper that lies beside the pieces; there may be several."""
    SQUARE = "square"
    """A square that is drawn or lies there."""
    MARKS = "marks"
    """Our own printed marks."""
    RECTANGLE = "rectangle"
    """A rectangle whose corners in the picture are given."""
    DPI = "dpi"
    """A flat scan, so many pixels per inch."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """Something in a picture whose size is known.

    `sides`: of the rectangle, mm, the shorter first; of one with `corners` (pixels from the
    picture's upper left) the first is that from its first corner to its second.
    `dpi`: pixels per inch of a scan.
    """

    kind: Kind
    name: str
    sides: tuple[float, float] = (0.0, 0.0)
    corners: tuple[tuple[float, float], ...] = ()
    dpi: float = 0.0


def parse_references(text: str) -> list[Reference]:
    """Return all that is meant where several give the scale: "A4 and 5 cm square"."""
    return [parse_reference(part) for part in re.split(r"\s+and\s+", text.strip())]


def parse_reference(text: str) -> Reference:
    """Return the reference that is meant: "A4", "Letter", "5 cm square", "20 x 30 cm", "marks".

    A rectangle that isn't found by itself is "100 x 60 cm at 120,80 2010,95 1990,1400 100,1380",
    with its corners in pixels, one after the other; a flat scan without anything is "150 dpi".

    Raises
    ------
    PatternError
        If it is none of these.

    """
    said = " ".join(text.split())
    plain = said.casefold().removesuffix(" sheet").removesuffix(" paper")
    name = next((name for name in SHEETS if name.casefold() == plain), None)
    if name:
        return Reference(kind=Kind.SHEET, name=name, sides=SHEETS[name])
    if plain in ("marks", "corner marks", "our marks"):
        return Reference(kind=Kind.MARKS, name="marks", sides=(MARK, MARK))
    if match := _DPI.fullmatch(said):
        return _scan(float(match[1].replace(",", ".")), said)
    if match := _SQUARE.fullmatch(said):
        side = _length(match[1], said)
        return Reference(kind=Kind.SQUARE, name=said, sides=(side, side))
    if match := _RECTANGLE.fullmatch(said):
        return _rectangle(match, said)
    raise _unknown(said)


_DPI = re.compile(r"(\d{1,4}(?:[.,]\d{1,3})?) ?dpi", re.IGNORECASE)
_SQUARE = re.compile(r"(.+?)(?: |-)square", re.IGNORECASE)
_RECTANGLE = re.compile(r"(.+?) ?(?:x|×|by) ?(.+?)(?: (?:sheet|rectangle))?(?: at (.+))?", re.I)
_PLACE = re.compile(r"(-?\d{1,6}(?:\.\d{1,4})?) ?, ?(-?\d{1,6}(?:\.\d{1,4})?)")


def _scan(dpi: float, said: str) -> Reference:
    if not 20.0 <= dpi <= 4800.0:
        raise PatternError(f"no scan has {dpi:g} dpi", field="reference", hint="20 to 4800 dpi")
    return Reference(kind=Kind.DPI, name=said, dpi=dpi)


def _rectangle(match: re.Match[str], said: str) -> Reference:
    second = _length(match[2], said)
    unit = re.sub(r"^[\d\s.,/]+", "", match[2])
    first = _length(match[1] if re.search(r"[^\d\s.,/]", match[1]) else match[1] + unit, said)
    if match[3] is None:
        low, high = sorted((first, second))
        return Reference(kind=Kind.SHEET, name=said, sides=(low, high))
    places = _PLACE.findall(match[3])
    if len(places) != 4 or _PLACE.sub("", match[3]).strip(" ;"):
        raise PatternError(
            "a rectangle has four corners",
            field="reference",
            hint='name them in pixels, one after the other: "60 x 40 cm at 120,80 2010,95 1990,1400'
            ' 100,1380"',
        )
    corners = tuple((float(x), float(y)) for x, y in places)
    if not _convex(corners):
        raise PatternError(
            "the four corners are no rectangle seen in a picture",
            field="reference",
            hint="name them one after the other, as one walks around it",
        )
    return Reference(kind=Kind.RECTANGLE, name=said, sides=(first, second), corners=corners)


def _convex(corners: tuple[tuple[float, float], ...]) -> bool:
    turns = []
    for i in range(4):
        (xa, ya), (xb, yb), (xc, yc) = (corners[(i + k) % 4] for k in range(3))
        turns.append((xb - xa) * (yc - yb) - (yb - ya) * (xc - xb))
    return min(turns) > 1.0 or max(turns) < -1.0


def _length(text: str, said: str) -> float:
    try:
        mm = length(text)
    except JobError:
        raise _unknown(said) from None
    if not (math.isfinite(mm) and 5.0 <= mm <= 20_000.0):
        raise PatternError(
            f"a side of {mm:g} mm gives no scale", field="reference", hint="5 mm to 20 m"
        )
    return mm


def _unknown(said: str) -> PatternError:
    return PatternError(
        f"{said!r} is nothing that gives a picture its scale",
        field="reference",
        hint='A4, Letter and other sheets, "5 cm square", "20 x 30 cm", marks, "150 dpi"',
    )
