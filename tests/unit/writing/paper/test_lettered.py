"""Names on prints of several sheets: each is whole on one of them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from shapely import box

from nesting import load_plan, read_job
from nesting.writing.neutral.draw import draw_entry
from nesting.writing.neutral.drawing import Drawing, Label
from nesting.writing.neutral.lettering import Lettering, text_box
from nesting.writing.paper.lettered import lettered
from nesting.writing.paper.papers import PAPERS, roll
from nesting.writing.paper.templates import templates
from nesting.writing.paper.tiles import tiled

SAMPLES = Path(__file__).parents[4] / "sample_markers"
PLAN = SAMPLES / "rucksack" / "laid" / "plan.json"


def across(drawings: Sequence[Drawing], *, paper: str, overlap: float) -> list[str]:
    """Return the names that are on no sheet as a whole once the sheets are trimmed and joined.

    Texts that the pattern puts somewhere stay there.
    """
    found = []
    for drawing in drawings:
        own = {m.text for part in drawing.parts for m in part.piece.marks if m.text}
        tiling = tiled(drawing, PAPERS[paper], overlap=overlap)
        cells = [box(*tiling.cell(tile)) for tile in tiling.tiles]
        for label in drawing.labels:
            if label.text not in own and not any(cell.contains(ink(label)) for cell in cells):
                found.append(label.text)
    return found


def ink(label: Label) -> object:
    return text_box(label.text, label.at, height=label.height, angle=label.angle)


@pytest.mark.parametrize(("paper", "overlap"), [("a4", 10.0), ("letter", 0.0)])
def test_names_on_markers_lie_across_no_join(paper: str, overlap: float) -> None:
    entry = next(e for e in load_plan(PLAN).entries if e.material.name == "leather panel")
    usual = draw_entry(entry)
    assert across(usual, paper=paper, overlap=overlap)

    def make(lettering: Sequence[Lettering]) -> Sequence[Drawing]:
        return draw_entry(entry, lettering=lettering)

    drawings = lettered(make, count=len(usual), paper=PAPERS[paper], overlap=overlap)
    assert across(drawings, paper=paper, overlap=overlap) == []
    # What is cut is where it was, and every part has its name or its key.
    assert [d.strokes[-1].path for d in drawings] == [d.strokes[-1].path for d in usual]
    named = {label.part for drawing in drawings for label in drawing.labels}
    assert named >= {placement.part for placement in entry.marker.placements}


def test_words_on_templates_lie_across_no_join() -> None:
    job = read_job(SAMPLES / "rucksack" / "rucksack.toml")
    drawings = templates(job, paper=PAPERS["a4"], overlap=10.0)
    large = [d for d in drawings if len(tiled(d, PAPERS["a4"]).tiles) > 1]
    assert len(large) > 5
    assert across(drawings, paper="a4", overlap=10.0) == []
    for drawing in large:
        (part,) = drawing.parts
        assert any(label.text.startswith(part.piece.name) for label in drawing.labels)


def test_what_fits_on_one_sheet_is_lettered_as_ever() -> None:
    entry = next(e for e in load_plan(PLAN).entries if e.material.name == "leather panel")
    asked: list[Sequence[Lettering]] = []

    def make(lettering: Sequence[Lettering]) -> Sequence[Drawing]:
        asked.append(lettering)
        return draw_entry(entry, lettering=lettering)

    lettered(make, count=1, paper=roll(914.0), overlap=10.0)
    assert asked == [[Lettering()]]
