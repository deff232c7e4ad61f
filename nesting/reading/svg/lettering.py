"""How texts of SVG are set: the size of their letters, and where on them their place is."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from nesting.errors import PatternError
from nesting.reading.svg.units import parse_length

__all__ = ["ANCHORS", "first_length", "font_size"]

ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}
"""Where on its width a text is anchored (SVG 1.1, section 10.9.1)."""

_SIZE = re.compile(r"[\d.]+(px|pt|pc|mm|cm|in|em|rem|ex|q|%)", re.IGNORECASE)


def first_length(text: str) -> float:
    """Return the first of some lengths (px), 0 if there is none: each letter may have its own."""
    words: Sequence[str] = text.replace(",", " ").split()
    return parse_length(words[0]).px(whole=0.0) or 0.0 if words else 0.0


def font_size(style: Mapping[str, str], default: float) -> float:
    """Return the size of the font: its own property's, or the one within `font`."""
    within = [word for word in style.get("font", "").split() if _SIZE.match(word)]
    said = style.get("font-size", within[0].split("/")[0] if within else "")
    try:
        return parse_length(said).px(whole=default) or default
    except PatternError:  # keywords such as "large"
        return default
