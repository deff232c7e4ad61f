"""Names among other names: in a list that stays readable, and in the order people count in."""

from __future__ import annotations

import re
from collections.abc import Iterable

__all__ = ["counting_order", "listed"]

_DIGITS = re.compile(r"([0-9]+)")


def listed(names: Iterable[str]) -> str:
    """Return names in one line: with commas, or semicolons where a name has a comma itself."""
    found = list(names)
    return ("; " if any("," in name for name in found) else ", ").join(found)


def counting_order(name: str) -> tuple[tuple[str | int, ...], str]:
    """Return a key that sorts names as people count: ``foam-2`` before ``foam-10``."""
    # Texts and numbers take turns, so that like is compared with like.
    parts = _DIGITS.split(name.casefold())
    return tuple(int(part) if i % 2 else part for i, part in enumerate(parts)), name
