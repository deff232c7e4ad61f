"""Places that a page points at or writes, as the library has them."""

from __future__ import annotations

import math
import re
from typing import Any

from nesting.errors import JobError

__all__ = ["pair_of", "point_of"]


def pair_of(text: str) -> list[str]:
    """Return the two lengths of a field: ``3 cm x 5 cm``."""
    return re.split(r"\s*[x×;]\s*", text.strip())


def point_of(asked: Any) -> tuple[float, float]:
    """Return a place of the page (mm, y downwards) as the piece has it."""
    x, y = (float(one) for one in asked)
    if not (math.isfinite(x) and math.isfinite(y)) or max(abs(x), abs(y)) > 1e6:
        raise JobError("nothing lies so far away")
    return (x, -y)
