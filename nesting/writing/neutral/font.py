"""The font that is drawn, and how much room a line of text takes in it."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path as FilePath

import matplotlib
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from nesting.pattern.marks.capitals import CAPITALS

__all__ = ["DROP", "LEADING", "RISE", "font", "in_lines", "text_width"]

RISE, DROP = 0.05, 0.29
"""How far letters reach above the capitals and below the base line, in heights of capitals."""

LEADING = 1.5
"""From one line of text to the next, in heights of its capitals."""

_FONT = "DejaVuSans"
_SQUARE = 1.5
"""Width in heights of capitals of letters that fill a square, which the font has not."""


@lru_cache(maxsize=2)
def font(*, bold: bool = False) -> str:
    """Return the name of the font, made known to reportlab: the one matplotlib carries."""
    name = f"{_FONT}-Bold" if bold else _FONT
    file = FilePath(matplotlib.get_data_path()) / "fonts" / "ttf" / f"{name}.ttf"
    pdfmetrics.registerFont(TTFont(name, str(file)))
    return name


@lru_cache(maxsize=8192)
def text_width(text: str, *, bold: bool = False) -> float:
    """Return how wide a line runs, in heights of its capitals: by the font's own widths."""
    square = [c for c in text if unicodedata.east_asian_width(c) in "WF"]
    other = "".join(c for c in text if c not in square and not unicodedata.combining(c))
    own: float = pdfmetrics.stringWidth(other, font(bold=bold), 1.0) / CAPITALS
    return own + _SQUARE * len(square)


def in_lines(words: Sequence[str], *, most: float, between: str = " ") -> list[str]:
    """Put words in lines of at most `most` heights of capitals, as many on each as it takes."""
    lines: list[str] = []
    for word in words:
        longer = f"{lines[-1]}{between}{word}" if lines else word
        if lines and text_width(longer) <= most:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
