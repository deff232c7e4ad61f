"""Sizes drawn into one another: told apart by layer, or by a key of colours and dashes."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from nesting.pattern.path import Line
from nesting.reading.pdf.ink import style_of
from nesting.reading.pdf.lettering import Word
from nesting.reading.pdf.page import Stroke

__all__ = ["Style", "size_style", "sizes_of"]

Style = tuple[str, str, str, tuple[float, ...]]
"""Layer, colour, kind of dash, and its lengths (mm): two sizes may both be dashed."""

_SIZE = re.compile(
    r"(?:size\s*)?((?:x{0,3}s|m|x{0,4}l|small|medium|large|\d{1,3}(?:\s*[/-]\s*\d{1,3})?))",
    re.IGNORECASE,
)
_SAMPLE = (4.0, 80.0)
"""Shortest and longest line (mm) of a key."""
_BESIDE = 10.0
"""How far (mm) its word may be from it."""


def size_style(stroke: Stroke) -> Style:
    """Return what sets the lines of one size apart from those of another."""
    return *style_of(stroke), tuple(round(length, 1) for length in stroke.dashes)


def sizes_of(
    strokes: Sequence[Stroke], words: Sequence[Word]
) -> tuple[dict[Style, str], frozenset[int]]:
    """Return the sizes by the style of their lines, and the ids of what is the key itself.

    Nothing where there are no two sizes.

    Layers called "S" and "M" or "size 38", else a key: short level lines, each in a style of
    its own, with such a word beside each.
    """
    by_layer = {
        size_style(stroke): match[1]
        for stroke in strokes
        if (match := _SIZE.fullmatch(stroke.layer.strip()))
    }
    if len(set(by_layer.values())) > 1:
        return by_layer, frozenset()
    key: dict[Style, str] = {}
    used: set[int] = set()
    for word in words:
        match = _SIZE.fullmatch(word.text.strip())
        sample = _sample(word, strokes) if match else None
        if match and sample is not None:
            if size_style(sample) in key:
                return {}, frozenset()
            key[size_style(sample)] = match[1]
            used |= {id(sample), id(word)}
    return (key, frozenset(used)) if len(set(key.values())) > 1 else ({}, frozenset())


def _sample(word: Word, strokes: Sequence[Stroke]) -> Stroke | None:
    """Return the short level line that stands beside a word."""
    near = []
    for k, stroke in enumerate(strokes):
        path = stroke.path
        if len(path.segments) != 1 or not isinstance(path.segments[0], Line):
            continue
        (x0, y0), (x1, y1) = sorted((path.start, path.end))
        level = abs(y1 - y0) < 0.1 and _SAMPLE[0] <= x1 - x0 <= _SAMPLE[1]
        before, behind = word.at[0] - x1, x0 - (word.at[0] + word.width)
        off = min(abs(gap) for gap in (before, behind))
        if level and off <= _BESIDE and abs(word.middle[1] - y0) <= word.size:
            near.append((math.hypot(off, word.middle[1] - y0), k))
    return strokes[min(near)[1]] if near else None
