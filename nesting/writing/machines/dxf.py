"""DXF for a machine: entities in the order of cutting, on the layers the shop names.

R12 is written as bare as old controllers like it: entities only, no header and no
tables (a layer is there when it is first used), 7-bit text, six decimals. Comments
(group 999) come first and say what has to be said; readers skip them.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import StringIO
from textwrap import wrap

from ezdxf.addons.r12writer import R12FastStreamWriter

from nesting.pattern.path import Arc, Line, Path
from nesting.writing.dxf import add_label, add_path, bulges, dxf_text, new_document, plain_text
from nesting.writing.machines.contour import is_dot
from nesting.writing.machines.formats import Format
from nesting.writing.machines.machine import Machine, Tool
from nesting.writing.neutral.drawing import Drawing, Operation

__all__ = ["machine_dxf"]

_INDEX = {
    1: (255, 0, 0),
    2: (255, 255, 0),
    3: (0, 255, 0),
    4: (0, 255, 255),
    5: (0, 0, 255),
    6: (255, 0, 255),
    7: (0, 0, 0),
    8: (128, 128, 128),
    30: (255, 127, 0),
}
"""The main DXF colour numbers (DXF reference)."""


def machine_dxf(drawing: Drawing, machine: Machine, *, form: Format, said: Sequence[str]) -> str:
    """Return the text of a DXF file.

    Parameters
    ----------
    drawing
        Strokes in the order of cutting, all of operations the machine has tools for.
    machine
        Its layers, and whether it takes true curves.
    form
        R12 or later.
    said
        What the comments say, a line each.

    """
    old = form is Format.DXF_R12
    lines = [text for line in said for text in _comments(line, ascii_only=old)]
    comments = "".join(f"999\n{line}\n" for line in lines)
    return comments + (_r12(drawing, machine) if old else _later(drawing, machine))


def _comments(line: str, *, ascii_only: bool) -> list[str]:
    """Return a sentence as comments of a length that every reader takes."""
    text = plain_text(line)
    return wrap(_ascii(text) if ascii_only else text, 200)


def _ascii(text: str) -> str:
    return text.encode("ascii", "replace").decode("ascii")


def _tool(machine: Machine, operation: Operation) -> Tool:
    tool = machine.tool(operation)
    if tool is None:
        raise ValueError(f"the machine has no tool for {operation!s}")
    return tool


def _later(drawing: Drawing, machine: Machine) -> str:
    document = new_document()
    for tool in machine.tools:
        if tool.layer not in document.layers:
            document.layers.add(tool.layer, true_color=int(tool.colour[1:], 16))
    document.styles.add("LABEL", font="arial.ttf")
    space = document.modelspace()
    for stroke in drawing.strokes:
        layer = _tool(machine, stroke.operation).layer
        if is_dot(stroke.path):
            space.add_point(stroke.path.start, dxfattribs={"layer": layer})
        else:
            chord = None if machine.curves else machine.chord
            add_path(space, stroke.path, layer=layer, chord=chord)
    for label in drawing.labels:
        add_label(space, label, layer=_tool(machine, label.operation).layer)
    return dxf_text(document)


def _r12(drawing: Drawing, machine: Machine) -> str:
    text = StringIO()
    writer = R12FastStreamWriter(text)
    for stroke in drawing.strokes:
        tool, path = _tool(machine, stroke.operation), stroke.path
        colour = _nearest_index(tool.colour)
        if is_dot(path):
            writer.add_point(path.start, layer=tool.layer, color=colour)
            continue
        points = [(*p, 0.0) for p in path.points(machine.chord)]
        if machine.curves and _is_round(path):
            points = list(bulges(path))
        writer.add_polyline_2d(
            points, format="xyb", closed=path.closed, layer=tool.layer, color=colour
        )
    for label in drawing.labels:
        tool = _tool(machine, label.operation)
        writer.add_text(
            _ascii(plain_text(label.text)),
            insert=label.at,
            height=label.height,
            rotation=label.angle,
            align="MIDDLE_CENTER",
            layer=tool.layer,
            color=_nearest_index(tool.colour),
        )
    writer.close()
    return text.getvalue()


def _is_round(path: Path) -> bool:
    """Whether a path has lines and circular arcs only, which old polylines can express."""
    return all(
        isinstance(s, Line) or (isinstance(s, Arc) and s.radius is not None) for s in path.segments
    )


def _nearest_index(colour: str) -> int:
    """Return the number of the nearest main colour to ``#rrggbb``."""
    rgb = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
    return min(_INDEX, key=lambda k: sum((a - b) ** 2 for a, b in zip(rgb, _INDEX[k], strict=True)))
