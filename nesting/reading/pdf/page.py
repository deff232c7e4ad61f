"""Pages of a PDF: their strokes with styles and clips, their texts with places (mm, y up).

PDFium (pypdfium2) reads them. Tried beside pdfminer.six on files of reportlab, cairo,
matplotlib (also drawn by ezdxf's add-on), Ghostscript and poppler: both give lines, curves,
dashes, colours, widths and maps of forms. Only PDFium gives clips, the optional content that a
thing is of, colours in forms, and turned texts in one go. It gives single precision (0.1 µm on
a page), and neither user units nor which layers are switched off: pypdf says those (`child.py`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shapely import Polygon
from shapely.errors import GEOSException

from nesting.pattern.path import Affine, Bezier, Line, Path, Point, Segment
from nesting.reading.items import clean
from nesting.reading.pdf.lettering import Word, lines_of

__all__ = ["Box", "Page", "Stroke", "page_of"]

POINT = 25.4 / 72.0
"""A unit of PDF in mm (ISO 32000-1, 8.3.2.3)."""
_SAME = 2e-3
"""Ends of a path nearer than this (mm) are one point: writers round to so much."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A path as painted: colours as "#rrggbb", "" where it has no line or no ground.

    `window`: the box (mm) through which it is seen. `dashes`: lengths in mm, on and off.
    """

    path: Path
    colour: str
    ground: str
    width: float
    dashes: tuple[float, ...]
    layer: str
    window: Box


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A page as it is shown: turned, cut to its crop box, from its lower left corner."""

    number: int
    size: tuple[float, float]
    strokes: tuple[Stroke, ...]
    words: tuple[Word, ...]
    pictures: int = 0
    unseen: int = 0


def page_of(told: Mapping[str, Any]) -> Page:
    """Return a page of what the child tells of it."""
    by, size = _upright(told["box"], told["turned"], POINT * told["unit"])
    grown = math.sqrt(abs(by.a * by.d - by.b * by.c))
    whole: Box = (0.0, 0.0, *size)
    clips = [_box_of(clip, by) for clip in told["clips"]]
    strokes = []
    for one in told["paths"]:
        window = _common([whole, *(clips[i] for i in one["clips"])])
        if window is None:
            continue
        strokes += [
            Stroke(
                path=path,
                colour=one["stroke"] or "",
                ground=one["fill"] or "",
                width=one["width"] * grown,
                dashes=tuple(dash * grown for dash in one["dash"]),
                layer=one["layer"],
                window=window,
            )
            for path in _paths(one["d"], by, closed=not one["stroke"])
        ]
    words = [
        word
        for one in told["texts"]
        if _seen(word := _word(one, by, grown), [whole, *(clips[i] for i in one["clips"])])
    ]
    return Page(
        number=told["number"],
        size=size,
        strokes=tuple(strokes),
        words=tuple(lines_of(words)),
        pictures=told["pictures"],
        unseen=told["unseen"],
    )


def _upright(box: Sequence[float], turned: int, unit: float) -> tuple[Affine, tuple[float, float]]:
    """Return the map to the page as shown, and its size (mm)."""
    left, low, right, high = box
    to_corner = Affine.scale(unit).after(Affine.move(-left, -low))
    width, height = (right - left) * unit, (high - low) * unit
    turn = Affine.turn(-turned)  # a page is turned clockwise (ISO 32000-1, table 30)
    if turned % 360 == 90:
        return Affine.move(0.0, width).after(turn.after(to_corner)), (height, width)
    if turned % 360 == 180:
        return Affine.move(width, height).after(turn.after(to_corner)), (width, height)
    if turned % 360 == 270:
        return Affine.move(height, 0.0).after(turn.after(to_corner)), (height, width)
    return to_corner, (width, height)


def _paths(steps: Sequence[Sequence[Any]], by: Affine, *, closed: bool) -> list[Path]:
    """Return the separate lines of a path; what is only filled is closed."""
    out: list[Path] = []
    run: list[Segment] = []
    at: Point = (0.0, 0.0)

    def end(shut: bool) -> None:
        if run and (path := clean(run)) is not None:
            out.append(_shut(path, force=shut))
        run.clear()

    for step in steps:
        points = [by((step[i], step[i + 1])) for i in range(1, len(step), 2)]
        if step[0] == "M":
            end(closed)
            at = points[0]
        elif step[0] == "L":
            run.append(Line(at, points[0]))
            at = points[0]
        elif step[0] == "C":
            run.append(Bezier(at, *points))
            at = points[2]
        elif run:
            at = run[0].start
            end(True)
    end(closed)
    return out


def _shut(path: Path, *, force: bool) -> Path:
    """Return a path closed exactly, if it is closed to what writers round to, or has to be."""
    gap = math.dist(path.start, path.end)
    if gap == 0.0 or len(path.segments) < 2 or not (force or gap <= _SAME):
        return path
    if gap > _SAME:
        return Path((*path.segments, Line(path.end, path.start)))
    last = path.segments[-1]
    if isinstance(last, Bezier):
        last = Bezier(last.start, last.first, last.second, path.start)
    else:
        last = Line(last.start, path.start)
    return clean([*path.segments[:-1], last]) or path


def _word(told: Mapping[str, Any], by: Affine, grown: float) -> Word:
    dx, dy = by.vector((told["way"][0], told["way"][1]))
    size = math.hypot(dx, dy) or 1.0
    ux, uy = dx / size, dy / size
    at = by((told["at"][0], told["at"][1]))
    corners = [by((x, y)) for x, y in told["corners"]]
    long = max((x - at[0]) * ux + (y - at[1]) * uy for x, y in corners)
    return Word(
        text=" ".join(told["text"].split()),
        at=at,
        size=told["size"] * grown,
        angle=math.degrees(math.atan2(uy, ux)) + 0.0,
        width=max(long, 0.0),
        layer=told["layer"],
    )


def _box_of(clip: Sequence[Sequence[Point]], by: Affine) -> Box:
    """Return the box around a clip; one without an area shows nothing."""
    box: Box | None = None
    for ring in clip:
        try:
            area = Polygon([by((x, y)) for x, y in ring]) if len(ring) > 2 else Polygon()
        except (ValueError, GEOSException):
            continue
        if not area.is_empty:
            x0, y0, x1, y1 = area.bounds
            old = box or (x0, y0, x1, y1)
            box = (min(old[0], x0), min(old[1], y0), max(old[2], x1), max(old[3], y1))
    return box or (0.0, 0.0, 0.0, 0.0)


def _common(boxes: Sequence[Box]) -> Box | None:
    x0, y0 = max(b[0] for b in boxes), max(b[1] for b in boxes)
    x1, y1 = min(b[2] for b in boxes), min(b[3] for b in boxes)
    return (x0, y0, x1, y1) if x0 < x1 and y0 < y1 else None


def _seen(word: Word, boxes: Sequence[Box]) -> bool:
    """Tell whether some of a text is seen: pages cut through texts, too."""
    box = _common(boxes)
    return box is not None and any(
        box[0] <= x <= box[2] and box[1] <= y <= box[3] for x, y in (word.at, word.middle, word.end)
    )
