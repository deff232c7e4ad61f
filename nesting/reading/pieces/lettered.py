"""Where the middle of a drawn text is: files say where it begins, marks where its middle lies."""

from __future__ import annotations

import math

from reportlab.pdfbase import pdfmetrics

from nesting.pattern.marks.capitals import CAPITALS
from nesting.pattern.path import Point
from nesting.reading.items import Item

__all__ = ["middle_of", "places_of_text"]


def middle_of(
    text: str, at: Point, *, height: float, angle: float, along: float, up: float
) -> Point:
    """Return the middle of a line of text.

    `at` lies `along` of its width (0: where it begins, 1: where it ends) and `up` of its
    capitals' `height` above the base line. `angle`: its direction (degrees).
    """
    known = text.encode("latin-1", errors="replace").decode("latin-1")
    width = pdfmetrics.stringWidth(known, "Helvetica", height / CAPITALS)
    x, y = (0.5 - along) * width, (0.5 - up) * height
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return at[0] + c * x - s * y, at[1] + s * x + c * y


def places_of_text(item: Item) -> list[Point]:
    """Return where a text's place is and where its middle: on narrow pieces it begins beside."""
    if item.at is None:
        return []
    middle = middle_of(
        item.text,
        item.at,
        height=item.size,
        angle=item.angle or 0.0,
        along=item.along,
        up=item.up,
    )
    return [item.at, middle]
