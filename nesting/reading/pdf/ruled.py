"""Ruled ground: evenly spaced lines over a whole page, as squared paper has them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise

from nesting.pattern.measure import bounds
from nesting.pattern.path import Line
from nesting.reading.pdf.ink import style_of
from nesting.reading.pdf.page import Box, Page, Stroke

__all__ = ["without_ruling"]

_LEAST = 6
"""So many lines each way are a ruling: own choice."""
_WHOLE = 0.8
"""A ruling covers so large a share of the page both ways."""
_EVEN = 0.03
"""Its lines are apart by the same or a whole multiple, to this share of it."""
_AT_EDGE = 2.0
"""An outline that lies so near (mm) to its border all round is a quilted piece's."""


def without_ruling(page: Page, ink: Sequence[Stroke]) -> tuple[list[Stroke], int]:
    """Return a page's strokes without its ruled ground, and how many lines that has.

    Lines of one style are that if they run level and upright over most of the page, evenly apart,
    and are not the quilting of one piece, which ends at its outline.
    """
    by_style: dict[object, list[Stroke]] = defaultdict(list)
    for stroke in ink:
        if len(stroke.path.segments) == 1 and isinstance(stroke.path.segments[0], Line):
            by_style[style_of(stroke)].append(stroke)
    ruled: set[int] = set()
    for lines in by_style.values():
        found = [*_even(lines, page, level=True)], [*_even(lines, page, level=False)]
        if not all(len(some) >= _LEAST for some in found):
            continue
        own = {id(line) for some in found for line in some}
        rest = [stroke for stroke in ink if id(stroke) not in own]
        if not any(_frames(stroke, found, page) for stroke in rest):
            ruled |= own
    return [stroke for stroke in ink if id(stroke) not in ruled], len(ruled)


def _even(lines: Sequence[Stroke], page: Page, *, level: bool) -> list[Stroke]:
    """Return the lines of one way that run over most of the page, if they are evenly apart."""
    along, across = (0, 1) if level else (1, 0)
    some = []
    for line in lines:
        box = bounds(line.path)
        straight = box[across + 2] - box[across] < 0.05
        if straight and box[along + 2] - box[along] >= _WHOLE * page.size[along]:
            some.append((box[across], line))
    places = sorted({round(place, 1) for place, _ in some})
    gaps = [b - a for a, b in pairwise(places) if b - a > 0.5]
    if len(gaps) + 1 < _LEAST or places[-1] - places[0] < 0.7 * _WHOLE * page.size[across]:
        return []
    step = min(gaps)
    even = all(abs(gap / step - round(gap / step)) <= _EVEN * round(gap / step) for gap in gaps)
    return [line for _, line in some] if even else []


def _frames(stroke: Stroke, found: tuple[list[Stroke], list[Stroke]], page: Page) -> bool:
    """Tell whether a closed line runs around all lines at their ends, and not around the page."""
    if not stroke.path.closed:
        return False
    boxes = [bounds(line.path) for some in found for line in some]
    whole: Box = (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )
    own = bounds(stroke.path)
    near = all(abs(a - b) <= _AT_EDGE for a, b in zip(own, whole, strict=True))
    page_wide = own[2] - own[0] > 0.95 * page.size[0] and own[3] - own[1] > 0.95 * page.size[1]
    return near and not page_wide
