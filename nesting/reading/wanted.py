"""What a pattern file says is cut of each of its pieces, as lines of a cutting list."""

from __future__ import annotations

import re
from dataclasses import dataclass

from nesting.reading.pattern_file import Found

__all__ = ["Wanted", "wanted"]

_SHARE = re.compile(r"(?P<count>\d{1,3})\s+(?P<of>\S.*)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """So many copies of a piece, for one bag, from a material in the file's own words.

    `pairs`: each copy is a right and a left one; `reversed`: it is the mirror image alone.
    `material`: "" if the file names none.
    """

    copies: int
    material: str = ""
    pairs: bool = False
    reversed: bool = False


def wanted(found: Found) -> tuple[Wanted, ...]:
    """Return what the file says is cut of a piece; nothing if it doesn't say how many.

    "cut 2 outer, 2 lining" are two of each, "cut 2 outer, mirrored" is one pair.
    """
    shares = [share.strip() for share in found.material.split(",") if share.strip()]
    counted = [_SHARE.fullmatch(share) for share in shares]
    right, left = found.right or 0, found.left or 0
    out: list[Wanted] = []
    for share, match in zip(shares, counted, strict=True):
        if match is not None:
            count = int(match["count"])
            half = count // 2 if left and right else 0
            out += _lines(count - half, half, match["of"])
        else:
            out += _lines(right, left, share)
    return tuple(out or _lines(right, left, ""))


def _lines(right: int, left: int, material: str) -> list[Wanted]:
    """Return the lines for so many right ones and so many left ones."""
    pairs = min(right, left)
    return [
        line
        for line in (
            Wanted(copies=pairs, material=material, pairs=True),
            Wanted(copies=right - pairs, material=material),
            Wanted(copies=left - pairs, material=material, reversed=True),
        )
        if line.copies
    ]
