"""Nothing that is written on the sample markers covers, or is covered by, anything else.

Boxes of text are reckoned with the widths of the font that is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path as FilePath

import pytest
from shapely import LineString, STRtree
from shapely.geometry.base import BaseGeometry

from nesting.marker.lay import Binding, Lattice, Part
from nesting.pattern.path import Path
from nesting.pattern.polygon import polygon
from nesting.planning.plan import Entry, Plan
from nesting.planning.plan_file import load_plan
from nesting.writing.neutral.draw import draw_entry, draw_grounds
from nesting.writing.neutral.drawing import Drawing, Label, Operation, Role
from nesting.writing.neutral.keys import job_keys
from nesting.writing.neutral.lettering import Lettering, text_box
from nesting.writing.pages.view import rows_for, screen_lettering

SAMPLES = FilePath(__file__).parents[3] / "sample_markers"
PLANS = ("rucksack", "tool_roll", "pouch")
_GROUND = (Role.FLAW, Role.SHEET, Role.USABLE)


@pytest.fixture(scope="module", params=PLANS)
def plan(request: pytest.FixtureRequest) -> Plan:
    return load_plan(SAMPLES / request.param / "laid" / "plan.json")


def true_size(entry: Entry) -> list[Lettering]:
    return [Lettering()] * len(draw_grounds(entry))


def small(entry: Entry) -> list[Lettering]:
    """As on a work sheet: 180 by 70 mm for each drawing."""
    return [
        screen_lettering(
            ground,
            across=180.0,
            high=70.0,
            rows=rows_for(ground, across=180.0, high=70.0),
        )
        for ground in draw_grounds(entry)
    ]


def line(path: Path) -> LineString:
    points = path.points(0.1)
    return LineString([*points, points[0]] if path.closed else points)


def box(label: Label) -> BaseGeometry:
    return text_box(label.text, label.at, height=label.height, angle=label.angle)


def written(drawing: Drawing) -> list[Label]:
    """All texts but those that a part bears because its pattern says so, where it says so."""
    own = {
        (mark.text, label.part)
        for label in drawing.labels
        if label.part is not None
        for mark in drawing.parts[label.part].piece.marks
        if mark.text == label.text
    }
    return [label for label in drawing.labels if (label.text, label.part) not in own]


def overlaps(drawing: Drawing) -> Iterator[str]:
    """Give what overlaps: text and text, outlines, cut-outs, notches, marks, arrows, flaws."""
    labels, every = written(drawing), list(drawing.labels)
    boxes = [box(label) for label in every]
    tree = STRtree(boxes)
    for label in labels:
        here = every.index(label)
        for i in tree.query(boxes[here], predicate="intersects"):
            if i != here and boxes[here].intersection(boxes[i]).area > 1e-6:
                yield f"{label.text} on {every[i].text}"
    kinds = {Operation.CUT, Operation.NOTCH, Operation.MARK, Operation.TEXT, Operation.MATCH}
    strokes = [s for s in drawing.strokes if s.operation in kinds or s.role in _GROUND]
    lines = [line(s.path) for s in strokes]
    sharp = STRtree(lines)
    for label in labels:
        for i in sharp.query(box(label).buffer(-1e-6), predicate="intersects"):
            yield f"{label.text} on {strokes[i].operation} {strokes[i].called}"
    parts = [polygon(s.path) for s in drawing.strokes if s.operation is Operation.CUT]
    whole = STRtree(parts)
    for label in labels:
        ground = label.part is None or led(drawing, label)
        on = whole.query(box(label), predicate="intersects" if ground else "contains")
        if ground and len(on):
            yield f"{label.text}, which is beside the parts, on one"
    borders = [line(s.path) for s in drawing.strokes if s.role is Role.BORDER]
    for label in labels:
        if label.part is None and any(box(label).intersects(border) for border in borders):
            yield f"{label.text} on a zone's border"


def led(drawing: Drawing, label: Label) -> bool:
    return any(
        s.role is Role.LEADER and s.part == label.part and line(s.path).distance(box(label)) < 1e-6
        for s in drawing.strokes
    )


@pytest.mark.parametrize("size", [true_size, small])
def test_nothing_written_overlaps_anything(plan: Plan, size: object) -> None:
    assert callable(size)
    found, texts = [], 0
    for entry in plan.entries:
        for drawing in draw_entry(entry, keys=job_keys(plan.job), lettering=size(entry)):
            texts += len(drawing.labels)
            found += [f"{drawing.name}: {text}" for text in overlaps(drawing)]
    assert texts > 30
    assert not found


@pytest.mark.parametrize("size", [true_size, small])
def test_every_part_is_named_in_letters_that_can_be_read(plan: Plan, size: object) -> None:
    assert callable(size)
    for entry in plan.entries:
        letterings = size(entry)
        drawings = draw_entry(entry, keys=job_keys(plan.job), lettering=letterings)
        for sheet, (drawing, lettering) in enumerate(zip(drawings, letterings, strict=True)):
            laid = {p.part for p in entry.marker.placements if p.sheet == sheet}
            assert laid <= {label.part for label in written(drawing)}
            for label in written(drawing):
                least = lettering.least if label.key or label.part is None else lettering.readable
                if label.operation is not Operation.MATCH:
                    assert label.height >= least - 1e-9, label


def test_an_arrow_with_one_head_is_on_every_part_that_has_a_right_way_up() -> None:
    plan = load_plan(SAMPLES / "rucksack" / "laid" / "plan.json")
    seen = 0
    for entry in plan.entries:
        (drawing, *_) = draw_entry(entry, keys=job_keys(plan.job), lettering=small(entry))
        for placement in entry.marker.placements:
            part = entry.marker.lay.parts[placement.part]
            arrow = [
                s for s in drawing.strokes if s.role is Role.GRAIN and s.part == placement.part
            ]
            if part.one_way and placement.sheet == 0:
                assert len(arrow) == 2, part.name
                seen += 1
    assert seen


def test_the_test_sees_what_overlaps(plan: Plan) -> None:
    """Put a label on its neighbour, and another on an outline: both are found."""
    drawing = draw_entry(plan.entries[0], keys=job_keys(plan.job))[0]
    first, second, *more = drawing.labels
    moved = replace(first, at=second.at)
    assert any("on " in text for text in overlaps(replace(drawing, labels=(moved, second, *more))))
    cut = next(s.path for s in drawing.strokes if s.operation is Operation.CUT)
    on_edge = replace(first, at=cut.start)
    found = list(overlaps(replace(drawing, labels=(on_edge, second, *more))))
    assert any("cut" in text for text in found)


def test_zone_names_stand_clear_of_the_parts() -> None:
    plan = load_plan(SAMPLES / "pouch" / "laid" / "plan.json")
    (entry,) = plan.entries
    for drawing in draw_entry(entry, lettering=small(entry)):
        zones = {s.name for s in drawing.strokes if s.role is Role.BORDER}
        assert zones
        named = [label.text for label in drawing.labels if label.operation is Operation.EDGE]
        for zone in zones:
            assert any(zone.startswith(text.split(",")[0]) for text in named), zone


def test_motif_and_points_stay_clear_of_the_name_at_any_size() -> None:
    plan = load_plan(SAMPLES / "rucksack" / "laid" / "plan.json")
    entry = plan.entries[0]
    lattice = Lattice(along=320.0, across=240.0)

    def bound(part: Part) -> Part:
        middle = polygon(part.piece.cut).centroid
        motif = (middle.x, middle.y)
        x, y = part.piece.cut.start
        points = (("corner", (0.6 * middle.x + 0.4 * x, 0.6 * middle.y + 0.4 * y)),)
        return replace(
            part,
            piece=replace(part.piece, motif=motif, points=points),
            binding=Binding(anchor=motif, lattice=lattice),
        )

    lay = replace(entry.marker.lay, parts=tuple(bound(part) for part in entry.marker.lay.parts))
    printed = replace(entry, marker=replace(entry.marker, lay=lay))
    for lettering in (true_size(printed), small(printed)):
        (drawing,) = draw_entry(printed, lettering=lettering)
        assert sum(s.role is Role.MOTIF and s.path.closed for s in drawing.strokes) == len(
            lay.parts
        )
        assert not list(overlaps(drawing))
        named = [label for label in drawing.labels if label.text == "corner"]
        assert len(named) >= 0.4 * len(lay.parts)  # small ones have no room at a small scale
        if lettering == true_size(printed):
            assert len(named) == len(lay.parts)
