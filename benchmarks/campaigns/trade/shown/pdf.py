"""What a PDF page shows, read by pypdfium2: its lines with their pens, and its words. mm."""

from __future__ import annotations

import ctypes
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import pypdfium2
import pypdfium2.raw as pdfium
import shapely
from shapely import Polygon

from ..asked.shapes import Pt, bezier_point

__all__ = ["Page", "Stroke", "pages"]

_MM = 25.4 / 72.0
"""Of a unit of a page (ISO 32000-1, 8.3.2.3)."""
_CHORDS = 48
"""Into how many a curve is parted."""

Matrix = tuple[float, float, float, float, float, float]


@dataclass(frozen=True)
class Stroke:
    """A line on a page, as it is printed: its points (mm), and its pen."""

    points: tuple[Pt, ...]
    closed: bool
    width: float
    dashed: bool

    @cached_property
    def area(self) -> Polygon:
        """What it goes round."""
        return Polygon(self.points)


@dataclass(frozen=True)
class Page:
    """A page (mm): its size, all lines, and (words, place) of all lines of text."""

    width: float
    height: float
    strokes: tuple[Stroke, ...]
    words: tuple[tuple[str, Pt], ...]

    @property
    def text(self) -> str:
        """All words."""
        return "\n".join(word for word, _ in self.words)


def pages(path: Path) -> list[Page]:
    """Return the pages of a PDF file."""
    document = pypdfium2.PdfDocument(path)
    found = []
    for page in document:
        text = page.get_textpage()
        objects = [pdfium.FPDFPage_GetObject(page, i) for i in range(_count(page))]
        kinds = [(pdfium.FPDFPageObj_GetType(one), one) for one in objects]
        found.append(
            Page(
                width=page.get_width() * _MM,
                height=page.get_height() * _MM,
                strokes=tuple(
                    stroke
                    for kind, one in kinds
                    if kind == pdfium.FPDF_PAGEOBJ_PATH
                    for stroke in _strokes(one)
                ),
                words=tuple(
                    (_words(one, text), _corner(one))
                    for kind, one in kinds
                    if kind == pdfium.FPDF_PAGEOBJ_TEXT
                ),
            )
        )
        text.close()
        page.close()
    document.close()
    return found


def _count(page: Any) -> int:
    return int(pdfium.FPDFPage_CountObjects(page))


def _matrix(one: Any) -> Matrix:
    matrix = pdfium.FS_MATRIX()
    pdfium.FPDFPageObj_GetMatrix(one, matrix)
    return matrix.a, matrix.b, matrix.c, matrix.d, matrix.e, matrix.f


def _placed(p: Pt, by: Matrix) -> Pt:
    a, b, c, d, e, f = by
    return (a * p[0] + c * p[1] + e) * _MM, (b * p[0] + d * p[1] + f) * _MM


def _corner(one: Any) -> Pt:
    return _placed((0.0, 0.0), _matrix(one))


def _strokes(one: Any) -> Iterator[Stroke]:
    """Yield the lines of a path that is drawn, not only filled."""
    fill, stroke, width = ctypes.c_int(), ctypes.c_int(), ctypes.c_float()
    pdfium.FPDFPath_GetDrawMode(one, fill, stroke)
    if not stroke.value:
        return
    by = _matrix(one)
    pdfium.FPDFPageObj_GetStrokeWidth(one, width)
    scale = math.sqrt(abs(by[0] * by[3] - by[1] * by[2]))
    dashed = pdfium.FPDFPageObj_GetDashCount(one) > 0
    for points, closed in _runs(one):
        placed = tuple(_placed(p, by) for p in points)
        yield Stroke(placed, closed, width.value * scale * _MM, dashed)


def _runs(one: Any) -> Iterator[tuple[list[Pt], bool]]:
    """Yield each run of a path: its points, curves as chords, and whether it is closed."""
    run: list[Pt] = []
    curve: list[Pt] = []
    closed = False
    for i in range(pdfium.FPDFPath_CountSegments(one)):
        segment = pdfium.FPDFPath_GetPathSegment(one, i)
        x, y = ctypes.c_float(), ctypes.c_float()
        pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        at, kind = (x.value, y.value), pdfium.FPDFPathSegment_GetType(segment)
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            if run:
                yield run, closed
            run, closed = [at], False
        elif kind == pdfium.FPDF_SEGMENT_LINETO:
            run.append(at)
        else:  # of a curve three points follow each other
            curve.append(at)
            if len(curve) == 3:
                p = [run[-1], *curve]
                run += [bezier_point(p, k / _CHORDS) for k in range(1, _CHORDS + 1)]
                curve = []
        closed = closed or bool(pdfium.FPDFPathSegment_GetClose(segment))
    if run:
        yield run, closed


def _words(one: Any, text: Any) -> str:
    size = pdfium.FPDFTextObj_GetText(one, text, None, 0)
    buffer = ctypes.create_string_buffer(size)
    pdfium.FPDFTextObj_GetText(
        one, text, ctypes.cast(buffer, ctypes.POINTER(ctypes.c_ushort)), size
    )
    return buffer.raw[:size].decode("utf-16-le").rstrip("\0")


def as_line(stroke: Stroke) -> shapely.LineString:
    """Return a stroke as a line, closed if it is."""
    first = stroke.points[:1] if stroke.closed else ()
    return shapely.LineString([*stroke.points, *first])
