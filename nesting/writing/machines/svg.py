"""SVG for a machine: 1 unit 1 mm, a group for each operation, lines only."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from itertools import groupby

from nesting.pattern.path import Affine
from nesting.pattern.svg_path import format_path
from nesting.writing.files import one_line
from nesting.writing.machines.machine import RUN, Machine
from nesting.writing.machines.work import extent
from nesting.writing.neutral.drawing import Drawing, Stroke
from nesting.writing.svg import number, svg_path

__all__ = ["machine_svg"]


def machine_svg(drawing: Drawing, machine: Machine, said: Sequence[str]) -> str:
    """Return SVG text: the strokes of each operation in the order of cutting.

    There is no bar to measure in it: the machine would run it.
    """
    _, _, x1, y1 = extent(drawing)
    width, height = max(machine.bed_length, x1), max(machine.bed_width, y1)
    if machine.advances:
        width = max(drawing.length, x1)
    into = Affine(1.0, 0.0, 0.0, -1.0, 0.0, height)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width)}mm" '
        f'height="{number(height)}mm" viewBox="0 0 {number(width)} {number(height)}">',
        f"<title>{escape(one_line(drawing.name))}</title>",
        f"<desc>{escape(' '.join(said))}</desc>",
    ]
    for operation in RUN:
        tool = machine.tool(operation)
        strokes = [s for s in drawing.strokes if s.operation is operation]
        if tool is None or not strokes:
            continue
        lines.append(
            f'<g id="{operation}" data-layer="{tool.layer}" fill="none" stroke="{tool.colour}" '
            f'stroke-width="{number(machine.line_width)}" stroke-linecap="round">'
        )
        lines += _elements(strokes, drawing, into)
        lines.append("</g>")
    return "\n".join([*lines, "</svg>", ""])


def _together(numbered: tuple[int, Stroke]) -> tuple[int | None, int | None]:
    """Return what the letters of a line of text have in common, and nothing else has."""
    number, stroke = numbered
    return stroke.line, number if stroke.line is None else None


def _elements(strokes: Sequence[Stroke], drawing: Drawing, into: Affine) -> Iterator[str]:
    """Give an element for each stroke, and one for all letters of a line of text."""
    for k, (_, run) in enumerate(groupby(enumerate(strokes), _together), 1):
        (_, stroke), *more = run
        about = f'id="{stroke.operation}-{k}"'
        if stroke.part is not None and stroke.part < len(drawing.parts):
            about += f' data-part="{escape(one_line(drawing.parts[stroke.part].name))}"'
        if stroke.line is not None:
            about += f' aria-label="{escape(stroke.name)}"'
            data = " ".join(format_path(s.path.transformed(into)) for _, s in ((0, stroke), *more))
            yield f'<path {about} d="{data}"/>'
        else:
            yield svg_path(stroke.path, into, about)
