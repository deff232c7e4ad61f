"""What is seen of the strokes: cut to their windows, without grounds and without repeats."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from nesting.pattern.clip import clipped_runs
from nesting.pattern.measure import bounds, length
from nesting.pattern.path import Path
from nesting.reading.dashes import dash_name
from nesting.reading.pdf.page import Box, Page, Stroke
from nesting.reading.pdf.ribbons import as_lines

__all__ = [
    "all_styles",
    "cut_to",
    "cut_to_cell",
    "inked",
    "is_blot",
    "near_white",
    "style_of",
]

_WHITE = 250
"""Red, green and blue of at least so much of 255 are white."""
_ALL = 0.95
"""A ground that covers so large a share of the page both ways is the paper."""
_BLOT = 40.0
"""Longest side (mm) of a filled shape without a line that is no piece but a letter or a dot."""
_HAIR = 0.01
"""How far (mm) cells are moved to the right and up, so that a line on a border is on one side."""


def inked(pages: Sequence[Page]) -> list[list[Stroke]]:
    """Return what is seen of every page's strokes.

    Lines that were turned into filled shapes are lines again. White is paper, but where all is
    white: the drawing was made for a dark ground. Large filled shapes count where no closed line
    is drawn; a page of small ones is empty.
    """
    pages = [replace(page, strokes=tuple(as_lines(page.strokes))) for page in pages]
    dark = any(s.colour and not near_white(s.colour) for page in pages for s in page.strokes)
    seen = [list(_seen(page, white=not dark)) for page in pages]
    if any(stroke.colour and stroke.path.closed for ink in seen for stroke in ink):
        seen = [[s for s in ink if s.colour or is_blot(s)] for ink in seen]
    return [ink if any(not is_blot(s) for s in ink) else [] for ink in seen]


def _seen(page: Page, *, white: bool) -> Iterator[Stroke]:
    known: set[object] = set()
    for stroke in page.strokes:
        one = stroke
        if one.ground and (near_white(one.ground) or _covers(one.path, page.size)):
            one = replace(one, ground="")
        if one.colour and not white and near_white(one.colour):
            one = replace(one, colour="")
        if not (one.colour or one.ground):
            continue
        key = (_key(one.path), one.window)
        if key in known:
            continue
        known.add(key)
        if any(True for _ in cut_to(one.path, one.window)):
            yield one


def near_white(colour: str) -> bool:
    """Tell whether a colour is that of paper."""
    return all(int(colour[i : i + 2], 16) >= _WHITE for i in (1, 3, 5))


def _covers(path: Path, size: tuple[float, float]) -> bool:
    x0, y0, x1, y1 = bounds(path)
    return x1 - x0 >= _ALL * size[0] and y1 - y0 >= _ALL * size[1]


def _key(path: Path) -> object:
    ends = [segment.end for segment in path.segments]
    return tuple(sorted((round(x, 2), round(y, 2)) for x, y in ends)), round(length(path), 1)


def cut_to(path: Path, box: Box, *, slack: float = 1e-6) -> list[Path]:
    """Return what of a path lies in a box, whole if all does; exact on curves."""
    x0, y0, x1, y1 = box
    a0, b0, a1, b1 = bounds(path)
    x0, y0, x1, y1 = x0 - slack, y0 - slack, x1 + slack, y1 + slack
    if a0 >= x0 and b0 >= y0 and a1 <= x1 and b1 <= y1:
        return [path]
    if a1 <= x0 or b1 <= y0 or a0 >= x1 or b0 >= y1:
        return []
    sides = (
        ((x0, y0), (x0, y1)),
        ((x0, y1), (x1, y1)),
        ((x1, y1), (x1, y0)),
        ((x1, y0), (x0, y0)),
    )
    runs = [path]
    for side in sides:
        runs = [bit for run in runs for bit in clipped_runs(run, side)]
    return runs


def cut_to_cell(stroke: Stroke, cell: Box) -> list[Path]:
    """Return what is seen of a stroke in a cell, whose right and upper borders belong to it.

    A line that lies in the border between two cells is of one of them only.
    """
    x0, y0, x1, y1 = cell
    own = (x0 + _HAIR, y0 + _HAIR, x1 + _HAIR, y1 + _HAIR)
    seen = cut_to(stroke.path, stroke.window, slack=2.0 * _HAIR)
    return [bit for path in seen for bit in cut_to(path, own)]


def is_blot(stroke: Stroke) -> bool:
    """Tell whether a stroke is a filled shape without a line, too small for a piece."""
    x0, y0, x1, y1 = bounds(stroke.path)
    return not stroke.colour and math.hypot(x1 - x0, y1 - y0) < _BLOT


def style_of(stroke: Stroke) -> tuple[str, str, str]:
    """Return what sets strokes apart: layer, colour, and how they are dashed.

    A dot is no longer than twice its line is wide.
    """
    dashes = dash_name(stroke.dashes, 2.0 * max(stroke.width, 0.2))
    return stroke.layer, stroke.colour or stroke.ground, dashes


def all_styles(strokes: Iterable[Stroke]) -> list[tuple[str, str, str]]:
    """Return every style there is, the one with most lines first."""
    long: dict[tuple[str, str, str], float] = {}
    for stroke in strokes:
        style = style_of(stroke)
        long[style] = long.get(style, 0.0) + length(stroke.path)
    return sorted(long, key=lambda style: -long[style])
