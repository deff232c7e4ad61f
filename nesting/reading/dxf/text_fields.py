"""The text fields of sewn-product DXF: "Identifier: value", in whatever spelling.

Which names there are: public notes on ASTM D6673 (style text, piece text); "size name" from
the same notes, where sizes are a nest of blocks.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

__all__ = ["PIECE_KEYS", "STYLE_KEYS", "field_of", "grade_rule", "key_of", "quantity", "value_of"]

_SAME = {
    "piece": "piecename",
    "size": "sizename",
    "qty": "quantity",
    "fabric": "material",
    "style": "stylename",
    "unit": "units",
    "basesize": "samplesize",
}

PIECE_KEYS = frozenset(
    {
        "piecename",
        "sizename",
        "quantity",
        "material",
        "rotation",
        "flip",
        "tilt",
        "fold",
        "category",
    }
)
STYLE_KEYS = frozenset(
    {
        "stylename",
        "creationdate",
        "creationtime",
        "author",
        "samplesize",
        "graderuletable",
        "units",
        "version",
        "curvetolerance",
    }
)

_FIELD = re.compile(r"\s*([^:]{1,40}?)\s*:\s*(.*?)\s*", re.DOTALL)
_PAIR = re.compile(r"\s*(\d{1,4})\s*[,;/]\s*(\d{1,4})\s*")
_WHOLE = re.compile(r"\s*(\d{1,4})(?:\.0*)?\s*")
_RULE = re.compile(r"\s*#\s*\d+\s*")


def key_of(identifier: str) -> str:
    """Return an identifier without spaces, capitals and points, synonyms made one."""
    key = re.sub(r"[\s_.\-]+", "", identifier).casefold()
    return _SAME.get(key, key)


def field_of(text: str) -> tuple[str, str] | None:
    """Return identifier and value of "Identifier: value", None if it is no field."""
    match = _FIELD.fullmatch(text)
    return (match[1], match[2]) if match else None


def value_of(fields: Iterable[tuple[str, str]], key: str) -> str:
    """Return the first value of a field by its key, or ""."""
    return next((value for name, value in fields if key_of(name) == key and value), "")


def quantity(text: str) -> tuple[int, int] | None:
    """Return how many right and how many left ones: "1,1" is a mirrored pair.

    A single whole number is so many right ones. Anything else, such as "1.5", is None.
    """
    if match := _PAIR.fullmatch(text):
        return int(match[1]), int(match[2])
    match = _WHOLE.fullmatch(text)
    return (int(match[1]), 0) if match else None


def grade_rule(text: str) -> bool:
    """Tell whether a text is "# n", the number of a grade rule at a point."""
    return bool(_RULE.fullmatch(text))
