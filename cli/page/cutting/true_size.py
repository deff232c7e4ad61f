"""A marker at true size for a projector: how large a pixel is, and window after window."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from nesting.errors import JobError
from nesting.writing.pages.live.marker import part_box
from nesting.writing.pages.projected import windows

from ...arguments import length
from ..hand import drawing

if TYPE_CHECKING:
    from ..work import Work

__all__ = ["ANSWERS"]

Json = dict[str, Any]

_LEAST, _MOST = 10.0, 10_000.0
"""What the sides of a square can measure (mm)."""


def measured(work: Work, asked: Json) -> Json:
    """Return how long the sides of the square are (mm) that she has measured."""
    sides = {
        name: length(str(asked.get(name) or ""), unit=work.job.unit) for name in ("wide", "high")
    }
    if not all(_LEAST <= side <= _MOST for side in sides.values()):
        raise JobError("a square on a table does not measure so", hint='write "20.4 cm"')
    return sides


def projected(work: Work, asked: Json) -> Json:
    """Draw one ground of a marker, with the windows that it is gone through in.

    `wide`, `high`: what the projection shows (mm); y is downwards here. `part`: the windows go
    round this one only.
    """
    drawn = drawing(work, asked)
    box: list[float] = drawn["box"]
    if asked.get("part") is not None:
        box = part_box(work.now(drawn["number"]), int(asked["part"]))
    x, y, wide, high = box
    seen = windows(
        (x, -y - high, x + wide, -y), wide=float(asked["wide"]), high=float(asked["high"])
    )
    return {**drawn, "windows": [asdict(window) for window in seen]}


ANSWERS = {
    "/true_size/measured": ("POST", measured),
    "/true_size": ("GET", projected),
}
"""What is answered here: how it is asked, and who answers."""
