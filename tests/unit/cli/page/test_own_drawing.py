"""A piece of a pattern file drawn in the job itself is the same piece; else it is refused."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from thriftlay.page.app import Page
from thriftlay.page.at_piece import at_piece
from thriftlay.page.job_file import JobFile
from thriftlay.page.making import dropped, edited

from nesting.errors import JobError
from nesting.job.by_hand.drawn import Drawn
from nesting.job.by_hand.own_drawing import same_piece
from nesting.pattern.polygon import polygon
from tests.unit.job.test_sizes import all_in_one

STARTERS = Path(__file__).resolve().parents[4] / "sample_markers" / "starters"


@pytest.fixture(params=["cm", "in"])
def file(request: pytest.FixtureRequest, tmp_path: Path) -> JobFile:
    job = tmp_path / "bag.toml"
    job.write_text(f'# hers\n[job]\nname = "Bag"\nunit = "{request.param}"\n')
    return JobFile(job)


def drawn(file: JobFile, name: str) -> Drawn:
    found = file.pieces[name]
    assert isinstance(found, Drawn), found
    return found


@pytest.mark.parametrize("name", ["starter_a4_mm.dxf", "starter_a4_mm.svg"])
def test_every_piece_of_a_file_is_the_same_in_the_job_and_its_points_move(
    file: JobFile, name: str
) -> None:
    shutil.copy(STARTERS / name, file.path.parent)
    dropped(file, file.path.parent / name, how={})
    names = list(file.pieces)
    assert names
    for piece in names:
        before = drawn(file, piece)
        said = file.text
        was = file.mark
        now = edited(file, {"what": "own", "piece": piece}, seen=was)
        after = drawn(file, piece)
        for line in ("cut", "sew"):
            one, other = getattr(before.piece, line), getattr(after.piece, line)
            assert (one is None) == (other is None)
            if one is not None:
                assert polygon(one).hausdorff_distance(polygon(other)) < 0.01
        assert len(after.piece.marks) == len(before.piece.marks)
        assert {m.kind for m in after.piece.marks} == {m.kind for m in before.piece.marks}
        assert after.piece.grain == pytest.approx(before.piece.grain)
        assert after.piece.up_known == before.piece.up_known
        assert len(after.piece.holes) == len(before.piece.holes)
        told = at_piece(file, {"piece": piece})
        assert (told["from"], told["reshaped"]) == ("", True)
        with pytest.raises(JobError, match="drawn in the job already"):
            edited(file, {"what": "own", "piece": piece})
        edited(file, {"what": "point", "piece": piece, "index": 0, "by": [-3.0, 3.0]}, seen=now)
        assert not polygon(drawn(file, piece).outline).equals(polygon(after.outline))
        file.back(now, seen=file.mark)
        file.back(was, seen=now)
        assert file.text == said


def test_a_piece_with_a_shape_in_each_size_stays_in_its_file(file: JobFile) -> None:
    page = Page(file.path.parent)
    page.making = file
    told = page.drop("bag.dxf", all_in_one().encode())["read"]
    dropped(file, file.path.parent / told["file"], how={"size": "M"}, asked={"all": True})
    before = file.path.read_bytes()
    with pytest.raises(JobError, match="another shape in each size"):
        edited(file, {"what": "own", "piece": "front"})
    assert file.path.read_bytes() == before


def test_a_mark_that_stands_elsewhere_makes_it_another_piece(file: JobFile) -> None:
    shutil.copy(STARTERS / "starter_a4_mm.svg", file.path.parent)
    dropped(file, file.path.parent / "starter_a4_mm.svg", how={})
    tried = 0
    for name in file.pieces:
        one = drawn(file, name)
        assert same_piece(one, one)
        for n, mark in enumerate(one.piece.marks):
            if mark.at is None:
                continue
            moved = replace(mark, at=(mark.at[0] + 0.5, mark.at[1]))
            marks = (*one.piece.marks[:n], moved, *one.piece.marks[n + 1 :])
            assert not same_piece(one, replace(one, piece=replace(one.piece, marks=marks)))
            tried += 1
    assert tried > 2
