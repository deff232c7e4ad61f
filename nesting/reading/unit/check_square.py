"""Squares drawn to be measured on paper, known by what is written in them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from nesting.pattern.measure import bounds
from nesting.pattern.path import Line, Path, Point
from nesting.reading.items import Group, Item, Role

__all__ = ["beside_text", "check_squares", "in_inches", "square_side", "stated"]

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
_MAYBE = (Role.ANY, Role.CUT, Role.LINE, Role.REFERENCE)
_SAME = 1e-3
"""Sides may differ by so large a share of their length: rounding of exported numbers."""


def check_squares(groups: Iterable[Group]) -> int:
    """Make reference lines of the squares that say how large they are; return how many.

    The text stands in the square, or beside it by no more than half of its side; or it is
    the square's own label, or the name of a group that holds nothing else.
    """
    every = list(groups)
    texts = [(i, known) for group in every for i in group.items if (known := stated(i.text))]
    found = 0
    used: set[int] = set()
    for group in every:
        alone = sum(item.path is not None for item in group.items) == 1
        for i, item in enumerate(group.items):
            side = square_side(item)
            if side is None or item.path is None:
                continue
            labels = [item.label, item.layer, group.name if alone else ""]
            told = next(((label, known) for label in labels if (known := stated(label))), None)
            if told is None and (text := _nearest(item.path, side, texts)) is not None:
                told = (text.text, stated(text.text) or 0.0)
                used.add(id(text))
            if told is not None:
                label, known = told
                group.items[i] = replace(item, role=Role.REFERENCE, label=label, known=known)
                found += 1
    for group in every if used else ():
        group.items[:] = [item for item in group.items if id(item) not in used]
    return found


def in_inches(text: str) -> bool:
    """Tell whether the lengths that a check square states are in inches, and in nothing else."""
    units = [match[2].casefold() for match in _LENGTH.finditer(text)]
    return bool(units) and not {"mm", "cm"} & set(units)


def beside_text(items: Sequence[Item], text: str) -> Item | None:
    """Return the square or the straight line in or beside which a text stands, the nearest."""
    wanted = " ".join(text.split()).casefold()
    best: tuple[float, Item] | None = None
    for place in (i.at for i in items if i.at and " ".join(i.text.split()).casefold() == wanted):
        for item in items:
            side = square_side(item) or _bar(item)
            if side is None or item.path is None:
                continue
            off = _off(item.path, place)
            if off <= side / 2.0 and (best is None or (off, side) < (best[0], _size(best[1]))):
                best = (off, item)
    return best[1] if best else None


def _size(item: Item) -> float:
    return square_side(item) or _bar(item) or 0.0


def _bar(item: Item) -> float | None:
    """Return the length of a thing that is one straight line."""
    path = item.path
    if path is None or len(path.segments) != 1 or not isinstance(path.segments[0], Line):
        return None
    return math.dist(path.start, path.end)


def _off(path: Path, place: Point) -> float:
    """Return how far a place is outside of the box around a path."""
    x0, y0, x1, y1 = bounds(path)
    return math.hypot(
        max(x0 - place[0], 0.0, place[0] - x1), max(y0 - place[1], 0.0, place[1] - y1)
    )


def square_side(item: Item) -> float | None:
    """Return the side of a thing that is drawn as a square, and not said to be another."""
    if item.role not in _MAYBE or not item.path or not item.path.closed:
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


def _nearest(path: Path, side: float, texts: Sequence[tuple[Item, float]]) -> Item | None:
    x0, y0, x1, y1 = bounds(path)
    middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    near = [
        (math.dist(item.at, middle), known, item)
        for item, known in texts
        if item.at is not None
        and x0 - side / 2.0 <= item.at[0] <= x1 + side / 2.0
        and y0 - side / 2.0 <= item.at[1] <= y1 + side / 2.0
    ]
    return min(near, key=lambda one: one[:2])[2] if near else None


def stated(text: str) -> float | None:
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
