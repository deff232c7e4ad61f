"""Small sketches (SVG) for the pages: parts laid by hand, drawn as the report draws them.

A sketch has paper of its own, so it can be read on light and on dark pages. What is added
to the drawing (measures, arrows, words) is placed in mm, in the drawing's own axes.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from html import escape

from nesting.job.file import parse_job
from nesting.marker.check import check
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Material
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon
from nesting.pattern.svg_path import format_path
from nesting.planning.lay.lays import lays
from nesting.writing.neutral.draw import Lettering, draw
from nesting.writing.neutral.drawing import Box, Drawing, Operation, Role
from nesting.writing.neutral.look import GRID, INK
from nesting.writing.pages.view import screen_svg

__all__ = ["Dash", "Dot", "Make", "Measure", "Scene", "Word", "beside", "scene", "sketch"]

_WIDE, _HIGH, _PAD, _TEXT = 600.0, 300.0, 14.0, 13.0  # px
_LETTER = 0.56 * _TEXT  # px that a letter takes
_KEPT = {Role.CLOTH, Role.USABLE, Role.SHEET, Role.FLAW, Role.REPEAT, Role.FOLD}
_PAPER = "#fffdf8"
_FONT = 'font-family="sans-serif" font-size="13"'


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """A marker laid by hand, on its material.

    `ground`: draw what it lies on as well; `names`: write the names of parts and zones;
    `arrows`: draw the grain.
    """

    marker: Marker
    material: Material
    ground: bool = True
    names: bool = True
    arrows: bool = True

    def drawing(self, lettering: Lettering) -> Drawing:
        """Return the drawing, its names as large as `lettering` says."""
        width = next(iter(self.material.widths), None)
        drawn = draw(self.marker, material=self.material, width=width, lettering=lettering)
        if not self.names:
            kept = tuple(
                replace(s, name="", role=s.role if s.role in _KEPT else Role.OTHER)
                for s in drawn.strokes
            )
            drawn = replace(drawn, labels=(), strokes=kept)
        if not self.arrows:
            kept = tuple(s for s in drawn.strokes if s.operation is not Operation.TEXT)
            drawn = replace(drawn, strokes=kept)
        if self.ground:
            return drawn
        kept = tuple(s for s in drawn.strokes if s.operation is not Operation.EDGE)
        points = [p for s in kept for p in s.path.points(0.5)]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        return replace(drawn, strokes=kept, frame=(min(xs), min(ys), max(xs), max(ys)))


def scene(
    text: str,
    *places: tuple[float, ...],
    of: str | None = None,
    ground: bool = True,
    upright: bool = False,
) -> Scene:
    """Lay a job's parts by hand: (x, y) or (x, y, turn) of each one's lower left corner, mm.

    `of`: which material, if not the first that something is cut from. `upright`: once judged,
    all of it is turned by 90°, so that the grain runs upwards.

    Raises
    ------
    ValueError
        If the judge finds fault with it.

    """
    job = parse_job(text)
    lay = lays(job, only=None if of is None else [of])[0]
    placements = []
    for index, place in enumerate(places):
        x, y, angle = (*place, 0.0)[:3]
        placements.append(_corner(lay.parts[index].piece, index, (x, y), angle))
    sheets = () if lay.stock.open_ended else (0,)
    marker = Marker(lay=lay, placements=tuple(placements), sheets=sheets)
    if places and (findings := check(marker)):
        raise ValueError("; ".join(str(finding) for finding in findings))
    if upright:
        placements = [
            _corner(lay.parts[p.part].piece, p.part, (0.0, 0.0), p.angle + 90.0) for p in placements
        ]
        marker = replace(marker, placements=tuple(placements))
    material = job.material(lay.name)
    assert material is not None
    return Scene(marker=marker, material=material, ground=ground)


def _corner(piece: Piece, index: int, at: Point, angle: float) -> Placement:
    x0, y0, *_ = piece_polygon(piece, by=Affine.turn(angle)).bounds
    return Placement(part=index, x=at[0] - x0, y=at[1] - y0, angle=angle)


@dataclass(frozen=True, slots=True)
class Measure:
    """A line with an arrowhead at each end (or at its end only), and a word in its middle."""

    start: Point
    end: Point
    word: str = ""
    one_way: bool = False


@dataclass(frozen=True, slots=True)
class Word:
    """A word with its middle at a point."""

    at: Point
    word: str


@dataclass(frozen=True, slots=True)
class Dot:
    """A dot, and a word to its right."""

    at: Point
    word: str = ""


@dataclass(frozen=True, slots=True)
class Dash:
    """A dashed line along a path."""

    path: Path


Extra = Measure | Word | Dot | Dash
Make = Callable[[], str]


def sketch(what: Scene, *extras: Extra, title: str, shrink: float = 1.0) -> str:
    """Return a sketch of one scene as an SVG document."""
    return beside((what, extras), title=title, shrink=shrink)


def beside(
    *scenes: tuple[Scene, Sequence[Extra]], title: str, shrink: float = 1.0, gap: float = 22.0
) -> str:
    """Return scenes beside each other, all at one scale (`gap` in px)."""
    boxes = [_box(what.drawing(Lettering()), extras) for what, extras in scenes]
    room = _WIDE - 2.0 * _PAD - gap * (len(boxes) - 1)
    high = max(y1 - y0 for _, y0, _, y1 in boxes)
    scale = shrink * min(room / sum(x1 - x0 for x0, _, x1, _ in boxes), (_HIGH - 2.0 * _PAD) / high)
    lettering = Lettering(tallest=10.0 / scale, readable=8.0 / scale)
    lines, left = [], _PAD
    for box, (what, extras) in zip(boxes, scenes, strict=True):
        before, after = _overhang(extras, box, scale)
        lines += _scene(what.drawing(lettering), extras, box, left=left + before, scale=scale)
        left += before + scale * (box[2] - box[0]) + after + gap
    wide, tall = left - gap + _PAD, scale * high + 2.0 * _PAD
    return _short(
        "\n".join(
            [
                f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{wide:.0f}" '
                f'height="{tall:.0f}" viewBox="0 0 {wide:.0f} {tall:.0f}">',
                f"<title>{escape(title)}</title>",
                f'<rect width="{wide:.0f}" height="{tall:.0f}" rx="6" fill="{_PAPER}"/>',
                *lines,
                "</svg>",
                "",
            ]
        )
    )


def _box(drawing: Drawing, extras: Sequence[Extra]) -> Box:
    x0, y0, x1, y1 = drawing.box
    points = [(x0, y0), (x1, y1)]
    for extra in extras:
        if isinstance(extra, Measure):
            points += [extra.start, extra.end]
        elif isinstance(extra, Dash):
            points += extra.path.points(0.5)
        else:
            points.append(extra.at)
    return (
        min(x for x, _ in points),
        min(y for _, y in points),
        max(x for x, _ in points),
        max(y for _, y in points),
    )


def _overhang(extras: Sequence[Extra], box: Box, scale: float) -> tuple[float, float]:
    """Return how far words reach beyond the box on the left and on the right (px)."""
    before = after = 0.0
    for extra in extras:
        if isinstance(extra, Dash) or not extra.word:
            continue
        at, half = 0.5 * _LETTER * len(extra.word), 0.5 * _LETTER * len(extra.word)
        x = 0.5 * (extra.start[0] + extra.end[0]) if isinstance(extra, Measure) else extra.at[0]
        if isinstance(extra, Dot):
            at, half = -8.0, 2.0 * half + 8.0
        before = max(before, at - scale * (x - box[0]))
        after = max(after, half - scale * (box[2] - x))
    return before, after


def _scene(
    drawing: Drawing, extras: Sequence[Extra], box: Box, *, left: float, scale: float
) -> list[str]:
    x0, y0, x1, y1 = box
    inner = str(screen_svg(replace(drawing, frame=box)))
    pad = 0.004 * max(x1 - x0, y1 - y0)  # that screen_svg adds
    wide, tall = scale * (x1 - x0 + 2.0 * pad), scale * (y1 - y0 + 2.0 * pad)
    place = (
        f'x="{left - scale * pad}" y="{_PAD - scale * pad}" width="{wide}" height="{tall}" '
        'overflow="visible"'
    )
    inner = inner.replace('<svg xmlns="http://www.w3.org/2000/svg" role="img"', f"<svg {place}", 1)
    into = Affine(scale, 0.0, 0.0, -scale, left - scale * x0, _PAD + scale * y1)
    return [inner, *(line for extra in extras for line in _extra(extra, into))]


def _extra(extra: Extra, into: Affine) -> list[str]:
    if isinstance(extra, Dash):
        path = format_path(extra.path.transformed(into))
        return [f'<path d="{path}" fill="none" stroke="{INK}" stroke-dasharray="5 3"/>']
    if isinstance(extra, Measure):
        return _measure(extra, into)
    x, y = into(extra.at)
    if isinstance(extra, Word):
        return [_word(x, y, extra.word)]
    dot = f'<circle cx="{x}" cy="{y}" r="4" fill="{INK}" stroke="{_PAPER}"/>'
    return [dot, *([_word(x + 8.0, y, extra.word, anchor="start")] if extra.word else [])]


def _measure(extra: Measure, into: Affine) -> list[str]:
    (xa, ya), (xb, yb) = into(extra.start), into(extra.end)
    ends = [((xa, ya), (xb, yb))] if extra.one_way else [((xa, ya), (xb, yb)), ((xb, yb), (xa, ya))]
    lines = [f'<path d="M{xa} {ya}L{xb} {yb}" fill="none" stroke="{GRID}" stroke-width="1.2"/>']
    lines += [_head(a, b) for a, b in ends]
    if extra.word:
        lines.append(_word((xa + xb) / 2.0, (ya + yb) / 2.0, extra.word))
    return lines


def _head(a: Point, b: Point) -> str:
    """Return the arrowhead at `b` of a line from `a` (px)."""
    turn = math.atan2(b[1] - a[1], b[0] - a[0])
    wings = [
        (b[0] - 8.0 * math.cos(turn + side), b[1] - 8.0 * math.sin(turn + side))
        for side in (-0.4, 0.4)
    ]
    points = " ".join(f"{x},{y}" for x, y in (b, *wings))
    return f'<polygon points="{points}" fill="{GRID}"/>'


def _word(x: float, y: float, word: str, *, anchor: str = "middle") -> str:
    return (
        f'<text x="{x}" y="{y + 0.36 * _TEXT}" {_FONT} text-anchor="{anchor}" fill="{INK}" '
        f'paint-order="stroke" stroke="{_PAPER}" stroke-width="4">{escape(word)}</text>'
    )


_LONG = re.compile(r"-?\d+\.\d{2,}(?:e-?\d+)?")
_VALUE = re.compile(r'(?<==")[^"]*')


def _short(text: str) -> str:
    """Round what is longer to a tenth of a unit (px or mm): small files, alike on all machines."""

    def short(found: re.Match[str]) -> str:
        value = f"{float(found[0]):.1f}".rstrip("0").rstrip(".")
        return "0" if value == "-0" else value

    return _VALUE.sub(lambda value: _LONG.sub(short, value[0]), text)
