"""Objects of the model show themselves: in one line, and in a notebook."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path as FilePath
from xml.etree import ElementTree

import pytest

from nesting.job.job import Job
from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker, Placement
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.planning.plan import Plan
from nesting.planning.plan_file import load_plan

PLANS = sorted((FilePath(__file__).parents[2] / "sample_markers").glob("*/laid/plan.json"))


def objects_in(value: object) -> Iterator[object]:
    if isinstance(value, tuple):
        for one in value:
            yield from objects_in(one)
    elif dataclasses.is_dataclass(value):
        yield value
        for field in dataclasses.fields(value):
            yield from objects_in(getattr(value, field.name))


@pytest.mark.parametrize("file", PLANS, ids=lambda file: file.parents[1].name)
def test_whatever_a_plan_holds_is_a_line(file: FilePath) -> None:
    every = list(objects_in(load_plan(file)))
    assert {Plan, Job, Marker, Lay, Part, Piece} <= {type(one) for one in every}
    lines = [repr(one) for one in every]
    assert max(map(len, lines)) <= 300
    assert not any("\n" in line for line in lines)


def test_a_line_tells_what_is_not_as_usual() -> None:
    part = Part(name="flap", piece=Piece(name="flap", cut=rectangle(200, 90)), copies=2)
    lay = Lay(name="canvas", parts=(part,) * 5, stock=Strip(width=400.0), spacing=1 / 3)
    assert repr(part) == "Part(name='flap', piece=<Piece 'flap'>, copies=2)"
    assert repr(part.piece) == "Piece(name='flap', cut=Path(segments=<4>))"
    assert repr(lay) == (
        "Lay(name='canvas', parts=<5>, stock=Strip(width=400.0, longest=None), spacing=0.333333)"
    )
    assert repr(Marker(lay=lay, placements=())) == "Marker(lay=<Lay 'canvas'>, placements=())"


def elements(html: str, tag: str) -> list[ElementTree.Element]:
    root = ElementTree.fromstring(f"<div>{html}</div>")
    return [one for one in root.iter() if one.tag.rpartition("}")[2] == tag]


def cells(html: str) -> list[list[str]]:
    return [["".join(cell.itertext()) for cell in row] for row in elements(html, "tr")]


def test_a_notebook_shows_a_marker_with_its_figures(hand_laid_plan: Plan) -> None:
    marker = hand_laid_plan.entries[0].marker
    (picture,) = elements(marker._repr_svg_(), "svg")
    assert "Front panel" in "".join(picture.itertext())
    page = marker._repr_html_()
    assert len(elements(page, "svg")) == 1
    head, row = cells(page)
    assert head == ["marker", "parts laid", "taken", "efficiency"]
    number = len(marker.placements)
    assert row[:2] == [marker.lay.name, f"{number} of {number}"]


def test_a_notebook_shows_every_sheet(hand_laid_plan: Plan) -> None:
    marker = hand_laid_plan.entries[2].marker
    assert len(marker.sheets) > 1
    pictures = elements(marker._repr_html_(), "svg")
    assert len(pictures) == len(marker.sheets)
    assert "Base" in "".join(pictures[1].itertext())


def test_a_notebook_shows_a_plan(hand_laid_plan: Plan) -> None:
    first, *others = hand_laid_plan.entries
    marker = replace(first.marker, placements=first.marker.placements[1:])
    short = replace(first, marker=marker, unplaced=(("Front panel 1", "no room"),))
    page = replace(hand_laid_plan, entries=(short, *others))._repr_html_()
    head, *rows = cells(page)
    assert [row[0] for row in rows] == [entry.material.name for entry in hand_laid_plan.entries]
    judged = [row[head.index("judged")] for row in rows]
    assert judged == ["1 part not laid", *["good"] * len(others)]
    sheets = sum(max(1, len(entry.marker.sheets)) for entry in hand_laid_plan.entries)
    assert len(elements(page, "svg")) == sheets


def test_a_notebook_shows_names_as_they_are() -> None:
    name = "<script>alert('&')</script>"
    part = Part(name=name, piece=Piece(name=name, cut=rectangle(200, 90)))
    lay = Lay(name=name, parts=(part,), stock=Strip(width=400.0))
    marker = Marker(lay=lay, placements=(Placement(part=0, x=0.0, y=0.0),))
    page = marker._repr_html_()
    assert not elements(page, "script")
    assert cells(page)[1][0] == name


def test_an_empty_marker_is_shown() -> None:
    empty = Marker(lay=Lay(name="empty", parts=(), stock=Strip(width=400.0)), placements=())
    assert cells(empty._repr_html_())[1][:2] == ["empty", "0 of 0"]
