"""The marker as a coloured drawing for the screen and for the report (SVG within HTML)."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from markupsafe import Markup, escape

from nesting.names import listed
from nesting.pattern.path import Affine, Path
from nesting.pattern.svg_path import format_path
from nesting.writing.files import one_line
from nesting.writing.neutral.drawing import Box, Drawing, Label, Operation, Role, Stroke
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.neutral.look import (
    CHAIN,
    CLEAR,
    CLOTH,
    FLAW,
    GRID,
    INK,
    LOST,
    MARK,
    SHOWN,
    ZONE,
    piece_colour,
)
from nesting.writing.svg import number, shown_svg, svg_text

__all__ = ["in_rows", "rows_for", "screen_lettering", "screen_svg"]

_THIN = 'vector-effect="non-scaling-stroke"'
_EDGES = {
    Role.CLOTH: f'fill="{LOST}" stroke="{INK}" stroke-width="1"',
    Role.USABLE: f'fill="{CLOTH}" stroke="{INK}" stroke-width="0.5"',
    Role.SHEET: f'fill="{CLOTH}" stroke="{INK}" stroke-width="1"',
    Role.FLAW: f'fill="{FLAW}" stroke="{INK}" stroke-width="1"',
    Role.REPEAT: f'stroke="{GRID}" stroke-width="0.6"',
    Role.CHAIN: f'stroke="{CHAIN}" stroke-width="4" stroke-linecap="round"',
    Role.FOLD: f'stroke="{INK}" stroke-width="2" stroke-dasharray="8 3 2 3"',
}
_OVER = (Role.REPEAT, Role.LEADER, Role.CHAIN)
"""What of the ground is drawn over the parts."""
_FINE, _BOLD = 0.7, 2.2
_ZONE = f'stroke="{ZONE}" stroke-width="1" stroke-dasharray="5 3"'


def screen_lettering(
    drawing: Drawing,
    *,
    across: float,
    high: float = math.inf,
    rows: int = 1,
    readable: float = 1.7,
) -> Lettering:
    """Return lettering that can be read when the drawing fills `across` × `high` mm of paper.

    `rows`: into how many it is broken. `readable`: height of capitals on that paper (mm).
    """
    x0, y0, x1, y1 = drawing.box
    scale = min(across * rows / max(x1 - x0, 1.0), high / rows / max(y1 - y0, 1.0))
    breaks = [x0 + (x1 - x0) * i / rows for i in range(1, rows)]
    return Lettering.shown(scale, readable=readable, breaks=breaks)


def rows_for(drawing: Drawing, *, across: float, high: float) -> int:
    """Return in how many rows a drawing shows largest on `across` × `high` mm of paper."""
    x0, y0, x1, y1 = drawing.box
    wide, tall = max(x1 - x0, 1.0), max(y1 - y0, 1.0)
    return max(range(1, 7), key=lambda n: min(across * n / wide, high / n / tall))


def in_rows(drawing: Drawing, rows: int) -> tuple[Drawing, ...]:
    """Break a long drawing into windows of equal length, each with what lies in it."""
    if rows == 1:
        return (drawing,)
    x0, y0, x1, y1 = drawing.box
    step = (x1 - x0) / rows
    return tuple(
        replace(
            _window(drawing, (x0 + i * step, y0, x0 + (i + 1) * step, y1)),
            name=f"{drawing.name}, row {i + 1} of {rows}",
        )
        for i in range(rows)
    )


def _window(drawing: Drawing, frame: Box) -> Drawing:
    def meets(stroke: Stroke) -> bool:
        xs = [x for x, _ in stroke.path.points(1.0)]
        return max(xs) >= frame[0] and min(xs) <= frame[2]

    return replace(
        drawing,
        frame=frame,
        strokes=tuple(s for s in drawing.strokes if meets(s)),
        holes=tuple(h for h in drawing.holes if frame[0] <= h.at[0] <= frame[2]),
        labels=tuple(t for t in drawing.labels if frame[0] <= t.at[0] < frame[2]),
    )


def screen_svg(drawing: Drawing) -> Markup:
    """Return the drawing as an SVG element: parts filled, no size of its own, 1 unit 1 mm."""
    x0, y0, x1, y1 = drawing.box
    pad = 0.004 * max(x1 - x0, y1 - y0)
    into = Affine(1.0, 0.0, 0.0, -1.0, pad - x0, pad + y1)
    width, height = x1 - x0 + 2.0 * pad, y1 - y0 + 2.0 * pad
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" fill="none" '
        f'viewBox="0 0 {number(width)} {number(height)}" stroke-linejoin="round">',
        f"<title>{escape(one_line(_in_words(drawing)))}</title>",
        *_elements(drawing, into),
        "</svg>",
    ]
    return Markup("\n".join(lines))


def _in_words(drawing: Drawing) -> str:
    """Say what a drawing shows to those who don't see it: its name, and how many of each piece."""
    shown = Counter(
        drawing.parts[s.part].piece.name
        for s in drawing.strokes
        if s.operation is Operation.CUT and not s.inner and s.part is not None
    )
    parts = listed(f"{count} × {name}" for name, count in shown.items())
    return f"{drawing.name}: {parts}" if parts else drawing.name


def _elements(drawing: Drawing, into: Affine) -> Iterator[str]:
    """Give the elements from the ground upwards."""
    edges = [s for s in drawing.strokes if s.operation is Operation.EDGE]
    under = [s for s in edges if s.role not in _OVER]
    under.sort(key=lambda s: s.role is not Role.CLOTH)  # the cloth lies below what is usable of it
    for stroke in under:
        yield _path(stroke, into, _EDGES.get(stroke.role, _ZONE))
    yield from shown_svg(drawing, into, strength=SHOWN)
    if drawing.shown is not None:
        yield from (
            _path(stroke, into, f'stroke="{INK}" stroke-width="1"')
            for stroke in under
            if stroke.role in (Role.SHEET, Role.USABLE)
        )
        yield from (
            _path(stroke, into, _EDGES.get(stroke.role, _ZONE))
            for stroke in under
            if stroke.role not in (Role.SHEET, Role.USABLE, Role.CLOTH)
        )
    inner = drawing.cut_outs()
    for stroke in drawing.strokes:
        if stroke.operation is Operation.CUT and not stroke.inner:
            yield _part(drawing, stroke, inner[stroke.part], into)
    for stroke in edges:
        if stroke.role is Role.REPEAT:
            yield _path(stroke, into, _EDGES[Role.REPEAT])
    for stroke in edges:
        if stroke.role is Role.CHAIN:
            yield _path(stroke, into, _EDGES[Role.CHAIN])
    marks = [s for s in drawing.strokes if s.operation not in (Operation.CUT, Operation.EDGE)]
    marks += [s for s in edges if s.role is Role.LEADER]
    for stroke in marks:
        yield _path(stroke, into, _mark(stroke))
    for hole in drawing.holes:
        x, y = into(hole.at)
        radius = number(max(hole.diameter / 2.0, 1.0))
        yield (
            f'<circle cx="{number(x)}" cy="{number(y)}" r="{radius}" fill="#ffffff" '
            f'stroke="{INK}" stroke-width="0.8" {_THIN}/>'
        )
    for label in drawing.labels:
        yield _label(label, into)


def _path(stroke: Stroke, into: Affine, style: str) -> str:
    return f'<path {style} {_THIN} d="{format_path(stroke.path, into)}"/>'


def _part(drawing: Drawing, stroke: Stroke, inner: Sequence[Path], into: Affine) -> str:
    """Return a part as one path with its cut-outs, and its full name as a tooltip."""
    assert stroke.part is not None
    part = drawing.parts[stroke.part]
    colour = piece_colour(drawing.keys.place_of(part))
    data = " ".join(format_path(path, into) for path in (stroke.path, *inner))
    clear = f' fill-opacity="{CLEAR:g}"' if drawing.shown is not None else ""
    return (
        f'<path fill="{colour}"{clear} fill-rule="evenodd" stroke="{INK}" stroke-width="0.8" '
        f'{_THIN} d="{data}"><title>{escape(one_line(part.name))}</title></path>'
    )


def _mark(stroke: Stroke) -> str:
    colour = MARK if stroke.operation in (Operation.MARK, Operation.MATCH) else INK
    dashes = ' stroke-dasharray="2 2"' if stroke.under else ""
    if stroke.operation is Operation.SEW:
        return f'stroke="{INK}" stroke-width="0.5" stroke-dasharray="4 3"'
    wide = _BOLD if stroke.role is Role.MOTIF else _FINE
    return f'stroke="{colour}" stroke-width="{wide}"{dashes}'


def _label(label: Label, into: Affine) -> str:
    # The print's lines run behind the names, not through them.
    halo = f'paint-order="stroke" stroke="#ffffff" stroke-width="{number(0.25 * label.height)}"'
    colour = MARK if label.under or label.operation is Operation.MATCH else INK
    return svg_text(
        label, into, f'fill="{ZONE if label.operation is Operation.EDGE else colour}" {halo}'
    )
