"""Squares drawn to be measured on paper, known by what is written in them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from nesting.pattern.measure import bounds
from nesting.pattern.path import Line, Path
from nesting.reading.items import Item, Role

__all__ = ["check_squares", "square_side"]

LARGEST = 50.8
"""A square with nothing but a length in it is a check square up to so many mm; a larger one
can be a piece, and has to say what it is for. Usual ones are of 1 in, 2 in, 2 cm to 5 cm:
common practice, no source."""

_LENGTH = re.compile(
    r"""(?<![\w.,/])(\d{1,3}(?:[.,]\d{1,3})?|\d/\d)\s*-?(mm|cm|inch(?:es)?|in\b\.?|["″”]|'')""",
    re.IGNORECASE,
)
_SAYS = re.compile(r"\b(?:check|test|scale|calibration|reference|measures?|gauge)\b", re.IGNORECASE)
_FILLING = re.compile(r"\b(?:x|by|square|sq|box)\b|[×.,:()=\s]", re.IGNORECASE)
_SAME = 1e-3
"""Sides may differ by so large a share of their length: rounding of exported numbers."""


def check_squares(groups: Iterable[list[Item]]) -> int:
    """Make reference lines of the squares that say how large they are; return how many.

    The text stands in the square, or beside it by no more than half of its side.
    """
    every = list(groups)
    texts = [(item, said) for items in every for item in items if (said := _said(item.text))]
    found = 0
    for items in every:
        for i, item in enumerate(items):
            side = square_side(item)
            if side is None or item.path is None:
                continue
            said = _said(item.label) or _nearest(item.path, side, texts)
            if said is not None:
                label = f"check square {said:.6g} mm"
                items[i] = replace(item, role=Role.REFERENCE, label=label)
                found += 1
    return found


def square_side(item: Item) -> float | None:
    """Return the side of a thing that is drawn as a square, and not said to be another."""
    if item.role not in (Role.ANY, Role.CUT, Role.LINE) or not item.path or not item.path.closed:
        return None
    sides = item.path.segments
    if len(sides) != 4 or not all(isinstance(side, Line) for side in sides):
        return None
    corners = [side.start for side in sides]
    lengths = [math.dist(side.start, side.end) for side in sides]
    across = [math.dist(corners[0], corners[2]), math.dist(corners[1], corners[3])]
    side = sum(lengths) / 4.0
    even = all(abs(length - side) <= _SAME * side for length in lengths)
    right = all(abs(d - side * math.sqrt(2.0)) <= _SAME * side for d in across)
    return side if even and right else None


def _nearest(path: Path, side: float, texts: Sequence[tuple[Item, float]]) -> float | None:
    x0, y0, x1, y1 = bounds(path)
    near = [
        (math.dist(item.at, ((x0 + x1) / 2.0, (y0 + y1) / 2.0)), said)
        for item, said in texts
        if item.at is not None
        and x0 - side / 2.0 <= item.at[0] <= x1 + side / 2.0
        and y0 - side / 2.0 <= item.at[1] <= y1 + side / 2.0
    ]
    return min(near)[1] if near else None


def _said(text: str) -> float | None:
    """Return the length (mm) that a text gives a check square; None if it gives none."""
    if not text or len(text) > 200:
        return None
    lengths = {_mm(number, unit) for number, unit in _LENGTH.findall(text)}
    metric_and_inch = len(lengths) == 2 and max(lengths) < 1.03 * min(lengths)
    if len(lengths) != 1 and not metric_and_inch:
        return None
    rest = _FILLING.sub("", _LENGTH.sub("", text))
    length = min(lengths)
    if not length > 0.0 or not (_SAYS.search(text) or (not rest and length <= LARGEST)):
        return None
    return length


def _mm(number: str, unit: str) -> float:
    over, slash, under = number.partition("/")
    value = float(over.replace(",", "."))
    if slash:
        value = value / float(under) if float(under) else 0.0
    factor = {"mm": 1.0, "cm": 10.0}.get(unit.lower(), 25.4)
    return round(value * factor, 6)
