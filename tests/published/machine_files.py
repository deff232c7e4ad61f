"""A marker of a few shapes, and machines to write it for."""

import math
from pathlib import Path as FilePath

from nesting.marker.lay import Part
from nesting.material.material import SheetGoods
from nesting.pattern.measure import area, length
from nesting.pattern.path import Arc, Bezier, Line, Path
from nesting.pattern.piece import Piece
from nesting.writing.machines.contour import circle
from nesting.writing.machines.files import write_machine_file
from nesting.writing.machines.machine import Kind, Machine, Tool
from nesting.writing.neutral.drawing import Drawing, Hole, Label, Operation, Role, Stroke

SHOPS = FilePath(__file__).parents[2] / "sample_markers" / "shops"

COTTON = SheetGoods(name="invented canvas", substance="cotton", length=900.0, width=600.0)


def box(x, y, w, h):
    return Path.polyline([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], closed=True)


def shape(x, y):
    """Return an outline with every kind of segment."""
    return Path(
        (
            Line((x, y), (x + 80, y)),
            Arc((x + 80, y + 20), (20, 0), (0, 20), -math.pi / 2, math.pi / 2),
            Line((x + 100, y + 20), (x + 100, y + 50)),
            Bezier((x + 100, y + 50), (x + 90, y + 90), (x + 40, y + 50), (x + 30, y + 80)),
            Line((x + 30, y + 80), (x, y + 80)),
            Line((x, y + 80), (x, y)),
        )
    )


def marker(columns=3, rows=2, *, step=120.0):
    strokes, holes, labels, parts = [], [], [], []
    for index in range(columns * rows):
        x, y = 5.0 + step * (index % columns), 5.0 + 100.0 * (index // columns)
        outline, bore = shape(x, y), circle((x + 30, y + 30), 12.0)
        notch = Path((Line((x, y + 40), (x + 5, y + 40)),))
        line = Path.polyline([(x + 50, y + 10), (x + 70, y + 30)], closed=False)
        strokes += [
            Stroke(operation=Operation.CUT, path=bore, part=index, inner=True),
            Stroke(operation=Operation.NOTCH, path=notch, part=index),
            Stroke(operation=Operation.MARK, path=line, part=index, name="pocket"),
            Stroke(operation=Operation.CUT, path=outline, part=index),
        ]
        holes += [
            Hole(at=(x + 60, y + 40), diameter=3.0, part=index),
            Hole(at=(x + 10, y + 60), diameter=0.0, part=index),
        ]
        labels.append(Label(text=f"part & <{index}> 100 %%d", at=(x + 40, y + 50), height=5.0))
        parts.append(Part(name=f"part {index}", piece=Piece(name="shape", cut=outline)))
    wide, high = step * columns, 100.0 * rows
    edge = Stroke(operation=Operation.EDGE, path=box(0, 0, wide, high), role=Role.USABLE)
    return Drawing(
        name="invented <marker>",
        length=wide,
        width=high,
        strokes=(edge, *strokes),
        holes=tuple(holes),
        labels=tuple(labels),
        parts=tuple(parts),
        notes=("The cloth lies with its wrong side up.",),
    )


def machine(form, **more):
    colours = {"cut": "#ff0000", "notch": "#ff8800", "drill": "#00aa00", "mark": "#0000ff"}
    colours["text"] = "#00ffff"
    given = {
        "name": "invented",
        "kind": Kind.OSCILLATING_KNIFE,
        "reads": (form,),
        "bed_length": 2000.0,
        "bed_width": 1000.0,
        "tools": tuple(
            Tool(operation=Operation(op), name=op, layer=f"{i}-{op}", pen=i, colour=colour)
            for i, (op, colour) in enumerate(colours.items(), 1)
        ),
        "curves": True,
    }
    return Machine(**(given | more))


def write(drawing, shop, tmp_path, **more):
    path = tmp_path / f"marker{shop.reads[0].suffix}"
    return write_machine_file(drawing, shop, path, material=COTTON, **more)


def expected(drawing, operation):
    """Return lengths and areas of what has to come back, sorted."""
    paths = [s.path for s in drawing.strokes if s.operation is operation]
    if operation is Operation.DRILL:
        paths = [circle(h.at, h.diameter) for h in drawing.holes if h.diameter]
    return sorted((length(p), area(p) if p.closed else 0.0) for p in paths)
