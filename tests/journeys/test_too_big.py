"""A job that can't be laid leaves nothing behind."""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest

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
