"""Markers that the program wrote, read as patterns: the pieces are those that were laid."""

from __future__ import annotations

from pathlib import Path

import pytest

from nesting import load_plan, read_pattern
from nesting.marker.marker import Marker
from nesting.pattern.measure import area
from nesting.pattern.piece import MarkKind, Piece
from nesting.planning.plan import Plan
from nesting.reading.dxf.marker import marker_roles
from nesting.reading.items import Role
from nesting.writing.dxf import write_dxf
from nesting.writing.neutral.draw import draw_entry
from nesting.writing.neutral.drawing import Hole, Label, Operation, Stroke

SAMPLES = Path(__file__).parents[3] / "sample_markers"
PLANS = {name: SAMPLES / name / "laid" / "plan.json" for name in ("pouch", "tool_roll", "rucksack")}
MARKERS = [
    (name, number)
    for name, count in (("pouch", 1), ("tool_roll", 3), ("rucksack", 6))
    for number in range(count)
]


def net(piece: Piece) -> float:
    return abs(area(piece.cut)) - sum(abs(area(hole)) for hole in piece.holes)


def laid(marker: Marker, sheet: int) -> list[Piece]:
    return [marker.lay.parts[p.part].piece for p in marker.placements if p.sheet == sheet]


def test_every_marker_of_the_samples_is_tried() -> None:
    assert {(name, i) for name in PLANS for i in range(len(load_plan(PLANS[name]).entries))} == {
        *MARKERS
    }


@pytest.mark.parametrize(("name", "number"), MARKERS)
def test_what_was_laid_is_read_back(name: str, number: int, tmp_path: Path) -> None:
    plan: Plan = load_plan(PLANS[name])
    entry = plan.entries[number]
    for sheet, drawing in enumerate(draw_entry(entry)):
        file = tmp_path / f"{sheet}.dxf"
        write_dxf(drawing, file)
        pattern = read_pattern(file)
        assert not [f.text for f in pattern.findings if f.severity == "fault"]
        parts = laid(entry.marker, sheet)
        found = pattern.pieces
        assert sorted(map(net, found)) == pytest.approx(sorted(map(net, parts)), rel=1e-5)
        assert sum(len(p.holes) for p in found) == sum(len(p.holes) for p in parts)
        # Drill holes are drill marks, and what is to be drawn is drawn.
        drills = [m for p in found for m in p.marks if m.kind is MarkKind.DRILL]
        assert len(drills) == len(drawing.holes)
        lines = [s for s in drawing.strokes if s.operation is Operation.MARK]
        drawn = [m for p in found for m in p.marks if m.path is not None]
        assert len(drawn) == len(lines)


def test_the_layers_are_those_that_are_written() -> None:
    layers = {
        item.layer.upper()
        for operation in Operation
        for item in (
            Stroke(operation=operation, path=None),  # type: ignore[arg-type]
            Label(text="x", at=(0.0, 0.0), height=1.0, operation=operation),
        )
    } | {Hole(at=(0.0, 0.0), diameter=1.0).layer.upper(), "CUT-INNER", "MARK-UNDERSIDE"}
    roles = marker_roles(layers)
    assert set(roles) == {layer.casefold() for layer in layers}
    assert roles["edge"] is Role.IGNORE
    assert roles["cut-inner"] is Role.HOLE


def test_a_drawing_of_somebody_else_is_none() -> None:
    assert marker_roles(["CUT", "EDGE", "pocket"]) == {}
    assert marker_roles(["CUT", "MARK"]) == {}
    assert marker_roles(["EDGE"]) == {}
    assert marker_roles(["cut", "edge"]) == {}
