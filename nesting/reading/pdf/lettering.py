"""Texts of a page: bits that writers set one by one, put together to lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.pattern.path import Point

__all__ = ["Word", "lines_of"]

_GAP = 1.0
"""Bits nearer than so many letter heights on one line belong together."""
_SPACE = 0.12
"""A gap wider than so many letter heights is a space between words."""
_OFF = 0.25
"""How far off its line a bit may stand, in letter heights."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """A text on one line: where it begins, the size of its font and its width (mm), degrees."""

    text: str
    at: Point
    size: float
    angle: float
    width: float
    layer: str = ""

    @property
    def middle(self) -> Point:
        """Where the middle of the text is."""
        return self._along(self.width / 2.0)

    @property
    def end(self) -> Point:
        """Where the text ends, half as high as its letters."""
        return self._along(self.width)

    def _along(self, along: float) -> Point:
        up = 0.35 * self.size
        c, s = math.cos(math.radians(self.angle)), math.sin(math.radians(self.angle))
        return (self.at[0] + along * c - up * s, self.at[1] + along * s + up * c)


def lines_of(bits: Sequence[Word]) -> list[Word]:
    """Return the bits put together where one goes on with another, in the file's order."""
    out: list[Word] = []
    for bit in bits:
        joined = _joined(out[-1], bit) if out else None
        if joined is None:
            out.append(bit)
        else:
            out[-1] = joined
    return out


def _joined(one: Word, other: Word) -> Word | None:
    """Return two bits as one, if the second goes on where the first ends."""
    turn = (other.angle - one.angle + 180.0) % 360.0 - 180.0
    if abs(turn) > 1.0 or not 0.8 <= (other.size or 1.0) / (one.size or 1.0) <= 1.25:
        return None
    c, s = math.cos(math.radians(one.angle)), math.sin(math.radians(one.angle))
    dx, dy = other.at[0] - one.at[0], other.at[1] - one.at[1]
    along, up = dx * c + dy * s, dy * c - dx * s
    gap = along - one.width
    if abs(up) > _OFF * one.size or not -0.5 * one.size <= gap <= _GAP * one.size:
        return None
    space = " " if gap > _SPACE * one.size else ""
    return replace(one, text=one.text + space + other.text, width=along + other.width)
