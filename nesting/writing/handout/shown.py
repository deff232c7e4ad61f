"""Drawings as a booklet shows them: in black and grey, as large as they fit, with their keys."""

from __future__ import annotations

import shapely

from nesting.pattern.path import Point
from nesting.writing.machines.contour import circle
from nesting.writing.neutral.drawing import Box, Drawing, Operation, Role, Stroke
from nesting.writing.neutral.lettering import text_box
from nesting.writing.paper.book import Book

__all__ = ["scale_of", "show", "written_box"]

_PENS = {
    Operation.CUT: (0.3, 0.0, ""),
    Operation.NOTCH: (0.25, 0.0, ""),
    Operation.MARK: (0.15, 0.0, "1.6 0.6 0.3 0.6"),
    Operation.SEW: (0.12, 0.3, "1 0.6"),
    Operation.MATCH: (0.2, 0.0, ""),
    Operation.TEXT: (0.15, 0.0, ""),
    Operation.EDGE: (0.15, 0.4, ""),
}
"""Width (mm of paper), grey and dashes of each operation's lines."""
_GROUND = {
    Role.CLOTH: (0.25, 0.0, ""),
    Role.SHEET: (0.25, 0.0, ""),
    Role.USABLE: (0.12, 0.35, "0.8 0.8"),
    Role.FOLD: (0.3, 0.0, "3 0.8 0.6 0.8"),
    Role.REPEAT: (0.08, 0.6, ""),
}
_FILL = 0.9
"""Grey of parts: lighter than any line, darker than cloth, on any printer."""


def scale_of(box: Box, *, width: float, height: float) -> float:
    """Return the mm of paper that 1 mm of a box takes where it fills a frame."""
    x0, y0, x1, y1 = box
    return min(width / max(x1 - x0, 1e-6), height / max(y1 - y0, 1e-6))


def written_box(drawing: Drawing) -> Box:
    """Return the box (mm) around a drawing and all that is written on it or beside it."""
    texts = [text_box(n.text, n.at, height=n.height, angle=n.angle) for n in drawing.labels]
    x0, y0, x1, y1 = shapely.union_all([shapely.box(*drawing.box), *texts]).bounds
    return (x0, y0, x1, y1)


def show(book: Book, drawing: Drawing, at: Point, *, scale: float, box: Box | None = None) -> None:
    """Draw what lies in a box of a drawing, its lower left corner at a point of the page.

    `box`: all of it if not given.
    """
    x0, y0, x1, y1 = box or drawing.box
    rim = 0.3 / scale
    with book.window(
        at[0] - 0.3,
        at[1] - 0.3,
        width=(x1 - x0) * scale + 0.6,
        height=(y1 - y0) * scale + 0.6,
        origin=(x0 - rim, y0 - rim),
        scale=scale,
    ):
        for stroke in drawing.strokes:
            if stroke.operation is Operation.CUT and stroke.path.closed and not stroke.inner:
                book.fill(stroke.path, grey=_FILL)
        for stroke in drawing.strokes:
            if stroke.inner:
                book.fill(stroke.path, grey=1.0)
        for stroke in drawing.strokes:
            width, grey, dash = _pen(stroke)
            book.pen(width / scale, grey=grey, dash=_scaled(dash, scale))
            book.stroke(stroke.path)
        for hole in drawing.holes:
            book.pen(0.15 / scale)
            book.stroke(circle(hole.at, max(hole.diameter, 0.6 / scale)))
        for label in drawing.labels:
            book.label(label)


def _pen(stroke: Stroke) -> tuple[float, float, str]:
    width, grey, dash = _PENS[stroke.operation]
    if stroke.operation is Operation.EDGE:
        width, grey, dash = _GROUND.get(stroke.role, (width, grey, dash))
    return (width, grey, "0.4 0.5") if stroke.under else (width, grey, dash)


def _scaled(dash: str, scale: float) -> str:
    return " ".join(f"{float(length) / scale:.6g}" for length in dash.split())
