"""Text as lines a tool can run: the outlines of its letters.

A pen or a laser knows no fonts, HP-GL is written without them, and live text in an SVG
is drawn with whatever font the shop's program has.
"""

from __future__ import annotations

import warnings
from functools import lru_cache

from matplotlib.font_manager import FontProperties
from matplotlib.path import Path as Outline
from matplotlib.textpath import text_to_path

from nesting.pattern.measure import bounds
from nesting.pattern.path import Affine, Bezier, Line, Path, Point, Segment
from nesting.writing.files import one_line
from nesting.writing.neutral.drawing import Label, Stroke

__all__ = ["lettered"]

_CAPITALS = 72.9
"""Height of capitals of the font (DejaVu Sans, which matplotlib carries) in its units here."""


def lettered(labels: tuple[Label, ...]) -> tuple[Stroke, ...]:
    """Return the outlines of the letters of lines of text, middle at each label's anchor.

    All strokes of one line have its number, and follow each other from left to right.
    """
    out: list[Stroke] = []
    for k, label in enumerate(labels):
        text = one_line(label.text)
        paths, wide = _outlines(text)
        size = label.height / _CAPITALS
        place = (
            Affine.move(*label.at)
            .after(Affine.turn(label.angle))
            .after(Affine.scale(size))
            .after(Affine.move(-wide / 2.0, -_CAPITALS / 2.0))
        )
        out += [
            Stroke(
                operation=label.operation,
                path=path.transformed(place),
                part=label.part,
                face=label.face,
                name=text,
                line=k + 1,
            )
            for path in paths
        ]
    return tuple(out)


@lru_cache(maxsize=4096)
def _outlines(text: str) -> tuple[tuple[Path, ...], float]:
    """Return the outlines of a line of text on a base line from 0, and how wide it is."""
    font = FontProperties(family="DejaVu Sans", size=100.0)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # letters the font lacks become boxes
        points, codes = text_to_path.get_text_path(font, text, ismath=False)
    if not len(points):
        return (), 0.0
    outline = Outline(points, codes)
    runs: list[list[Segment]] = []
    start = at = (0.0, 0.0)
    for values, code in outline.iter_segments(simplify=False):
        numbers = [float(value) for value in values]
        ends = list(zip(numbers[::2], numbers[1::2], strict=True))
        if code == Outline.MOVETO:
            runs.append([])
            start = at = ends[0]
            continue
        if code == Outline.CLOSEPOLY:
            ends = [start]
        if len(ends) == 2:
            runs[-1].append(_raised(at, *ends))
        elif ends[-1] != at:
            runs[-1].append(Line(at, ends[-1]))
        at = ends[-1]
    paths = tuple(Path(tuple(run)) for run in runs if run)
    return paths, max(bounds(path)[2] for path in paths) if paths else 0.0


def _raised(start: Point, middle: Point, end: Point) -> Bezier:
    """Return a quadratic curve as a cubic one (degree elevation)."""

    def third(p: Point) -> Point:
        return (p[0] + 2.0 * (middle[0] - p[0]) / 3.0, p[1] + 2.0 * (middle[1] - p[1]) / 3.0)

    return Bezier(start, third(start), third(end), end)
