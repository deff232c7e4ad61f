"""What a user calls a mark decides nothing: what a stroke is, its role says."""

from __future__ import annotations

import pytest

from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Cloth, Width
from nesting.pattern.path import Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.shapes import rectangle
from nesting.writing.machines.formats import Format
from nesting.writing.machines.load import prepare
from nesting.writing.machines.machine import RUN, Kind, Machine, Tool
from nesting.writing.machines.sheet import machine_sheet
from nesting.writing.machines.svg import machine_svg
from nesting.writing.neutral.draw import draw
from nesting.writing.neutral.drawing import Drawing, Operation, Role
from nesting.writing.pages.view import screen_svg

CLOTH = Cloth(name="canvas", widths=(Width(booked=1000.0, usable=960.0),))
PLOTTER = Machine(
    name="plotter",
    kind=Kind.PLOTTER,
    bed_length=2000.0,
    bed_width=1000.0,
    reads=(Format.SVG,),
    tools=tuple(Tool(operation=o, name="pen", layer="0", pen=1, colour="#000000") for o in RUN),
)
OURS = ["register", "motif", "common line", "leader", "flaw", "usable", "letters", "letters 1: Ada"]


def drawing(*names: str) -> Drawing:
    marks = tuple(
        Mark(
            kind=MarkKind.LINE,
            name=name,
            path=Path.polyline([(20.0 + 30.0 * k, 40.0), (40.0, 160.0)], closed=False),
        )
        for k, name in enumerate(names)
    )
    piece = Piece(name="panel", cut=rectangle(300.0, 200.0), marks=marks)
    lay = Lay(name="canvas", parts=(Part(name="panel", piece=piece),), stock=Strip(width=960.0))
    marker = Marker(lay=lay, placements=(Placement(part=0, x=0.0, y=0.0),))
    return draw(marker, material=CLOTH, width=CLOTH.widths[0])


def machine_files(of: Drawing) -> tuple[str, str]:
    ((load,), findings) = prepare(of, PLOTTER, form=Format.SVG)
    said = machine_sheet(load, PLOTTER, CLOTH, said=["plotter"], findings=findings)
    return said, machine_svg(load.sequence.drawing, PLOTTER, [])


@pytest.mark.parametrize("name", OURS)
def test_a_mark_by_the_name_of_a_stroke_of_ours_is_a_mark(name: str) -> None:
    """Two lines of one name, which could be letters of a line of text, or register marks."""
    ours, plain = drawing(name, name), drawing("loop", "loop")
    marks = [s for s in ours.strokes if s.operation is Operation.MARK]
    assert [(s.role, s.name, s.line) for s in marks] == [(Role.OTHER, name, None)] * 2
    assert screen_svg(ours) == screen_svg(plain)
    assert machine_files(ours) == machine_files(plain)


def test_letters_of_a_line_are_one_element_that_says_the_text() -> None:
    _, written = machine_files(drawing())
    assert 'aria-label="panel"' in written
