"""Names and texts that are safe in files, and files that are written whole."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection

from nesting.whole import whole_file, write_error

__all__ = ["file_name", "one_line", "whole_file", "write_error"]

# Names no file may have on some systems, whatever its suffix.
_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)$", re.IGNORECASE)
_LONGEST = 80


_ODD = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})


def one_line(text: str) -> str:
    """Return the text on one line, without control, format or half characters.

    Text of a job goes into files that end a value at a line break: a name must not
    be able to start a new one, and XML has no place for U+FFFE and U+FFFF (XML 1.0, 2.2).
    """
    plain = "".join(
        " " if unicodedata.category(c) in _ODD or ord(c) & 0xFFFE == 0xFFFE else c for c in text
    )
    return " ".join(plain.split())


def file_name(text: str, *, taken: Collection[str] = ()) -> str:
    """Return a stem for a file named after `text`: letters, digits, ``-``, ``_``; not in `taken`.

    Letters of any script stay. Names that differ only in case count as the same, as
    they are on many systems.
    """
    composed = unicodedata.normalize("NFC", one_line(text))
    stem = re.sub(r"[^\w-]+", "-", composed).strip("-_")[:_LONGEST].strip("-_") or "unnamed"
    if _RESERVED.match(stem):
        stem += "_"
    used = {name.casefold() for name in taken}
    number, unique = 1, stem
    while unique.casefold() in used:
        number += 1
        unique = f"{stem}-{number}"
    return unique
