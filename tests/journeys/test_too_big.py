"""A job that can't be laid leaves nothing behind."""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest

from nesting.errors import JobError, PlanError, WriteError
from nesting.writing.folder import UNFINISHED

plans_folder = importlib.import_module("thriftlay.running")._plans_folder
main = importlib.import_module("thriftlay.main").main

JOB = """
[job]
name = "Sail"
[[piece]]
name = "panel"
rectangle = [1600, 1500]
[[cloth]]
name = "canvas"
widths = [1400, 1100]
[[cut]]
piece = "panel"
material = "canvas"
"""


@pytest.mark.parametrize("there", [False, True])
def test_a_piece_wider_than_every_width_is_named(
    there: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, out = tmp_path / "sail.toml", tmp_path / "out"
    job.write_text(JOB, encoding="utf-8")
    if there:
        out.mkdir()
    assert main(["lay", str(job), "--out", str(out), "--rounds", "1"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert told.err.startswith(f"thriftlay: {job}:4: piece.panel: panel fits no width")
    assert out.exists() == there
    assert not there or not list(out.iterdir())


@pytest.mark.parametrize(
    ("error", "stays"),
    [(JobError("no"), False), (PlanError("no"), False), (WriteError("no"), True)],
)
def test_what_was_found_before_a_refusal_goes_what_a_full_disk_stopped_stays(
    error: Exception, stays: bool, tmp_path: Path
) -> None:
    out = tmp_path / "out"

    def laid_in_part() -> None:
        with plans_folder(out, overwrite=False):
            (out / UNFINISHED).mkdir()
            (out / UNFINISHED / "lay.json").touch()
            raise error

    with pytest.raises(type(error)):
        laid_in_part()
    assert out.exists() == stays


def test_a_refusal_keeps_what_an_interrupted_plan_goes_on_from(tmp_path: Path) -> None:
    kept = tmp_path / "out" / UNFINISHED
    kept.mkdir(parents=True)

    def refused() -> None:
        with plans_folder(kept.parent, overwrite=False):
            raise JobError("no")

    with pytest.raises(JobError):
        refused()
    assert kept.exists()
