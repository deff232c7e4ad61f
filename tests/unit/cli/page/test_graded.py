"""Graded patterns on the page: one size taken, or all of them, and the job's sizes changed."""

from __future__ import annotations

from pathlib import Path

import pytest
from thriftlay.page.app import Page
from thriftlay.page.job_file import JobFile
from thriftlay.page.making import dropped, edited, making

from nesting.errors import JobError
from nesting.job.by_hand.drawn import Drawn
from nesting.pattern.measure import bounds
from tests.unit.job.test_sizes import SIDES, all_in_one


@pytest.fixture
def file(tmp_path: Path) -> JobFile:
    job = tmp_path / "bag.toml"
    job.write_text('# hers\n[job]\nname = "Bag"\nunit = "cm"\n')
    return JobFile(job)


def long(file: JobFile) -> float:
    drawn = file.pieces["front"]
    assert isinstance(drawn, Drawn)
    x0, _, x1, _ = bounds(drawn.piece.cut)
    return x1 - x0


def pattern(file: JobFile) -> Path:
    page = Page(file.path.parent)
    page.making = file
    told = page.drop("bag.dxf", all_in_one().encode())["read"]
    assert (told["asks"], told["sizes"]) == ("size", ["S", "M", "L"])
    assert making(file)["pieces"] == []
    return file.path.parent / str(told["file"])


def test_one_size_is_taken_and_another_one_instead(file: JobFile) -> None:
    path = pattern(file)
    for size, side in SIDES.items():
        assert dropped(file, path, how={"size": size})["trouble"] == ""
        assert long(file) == pytest.approx(side, abs=0.1)
        assert file.text.count("[[piece]]") == 1
        (read,) = making(file)["files"]
        assert (read["sizes"], read["size"]) == (["S", "M", "L"], size)
    said = dropped(file, path, how={"size": "XL"})
    assert "no size 'XL'" in said["trouble"]
    assert long(file) == pytest.approx(SIDES["L"], abs=0.1)


def test_all_sizes_become_the_jobs_and_another_one_is_made(file: JobFile) -> None:
    path = pattern(file)
    dropped(file, path, how={"size": "M"}, asked={"all": True})
    told = making(file)
    assert (told["sizes"], told["size"]) == ("S, M, L", "M")
    assert told["pieces"][0]["sized"]
    assert long(file) == pytest.approx(SIDES["M"], abs=0.1)
    edited(file, {"what": "sizes", "sizes": "S, M, L", "size": "L"})
    assert long(file) == pytest.approx(SIDES["L"], abs=0.1)
    # Read in another unit it stays in each size.
    dropped(file, path, how={"file_unit": "mm", "size": "L"})
    assert making(file)["pieces"][0]["sized"]
    assert long(file) == pytest.approx(SIDES["L"], abs=0.1)
    before = file.path.read_bytes()
    with pytest.raises(JobError, match="XL"):
        edited(file, {"what": "sizes", "sizes": "S, M, XL", "size": "XL"})
    with pytest.raises(JobError, match="two sizes have one name"):
        edited(file, {"what": "sizes", "sizes": "S, s", "size": "S"})
    assert file.path.read_bytes() == before
    assert "# hers" in file.text


def test_the_sizes_of_a_job_are_written_as_they_are_said_and_taken_out(file: JobFile) -> None:
    edited(file, {"what": "sizes", "sizes": " small,large ,, ", "size": ""})
    assert 'sizes = ["small", "large"]' in file.text
    assert making(file)["size"] == "small"
    edited(file, {"what": "sizes", "sizes": "small, large", "size": "large"})
    assert 'size = "large"' in file.text
    edited(file, {"what": "sizes", "sizes": "", "size": "large"})
    assert "size" not in file.text
