"""What a job does not say is assumed aloud: on the terminal as in the report."""

from __future__ import annotations

import html
from pathlib import Path

import pytest

from cli.main import main

CLOTH = """
[[cloth]]
name = "{name}"
width = 1000
price = 10
print = {{ along = 300 }}

[[cut]]
piece = "panel"
material = "{name}"
"""
PANEL = """
[job]
name = "pouch"

[[piece]]
name = "panel"
rectangle = [200, 150]
seam_allowance = 10
"""
SEARCH = ["--rounds", "1", "--workers", "1"]


@pytest.mark.parametrize("command", ["lay", "order"])
@pytest.mark.parametrize("cloths", [1, 8])
def test_assumptions_stand_on_the_terminal_and_those_on_prints_come_first(
    command: str, cloths: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, out = tmp_path / "pouch.toml", tmp_path / "out"
    job.write_text(PANEL + "".join(CLOTH.format(name=f"print {i}") for i in range(cloths)))
    assert main([command, str(job), "--out", str(out), *SEARCH]) == 0
    told = capsys.readouterr().out.splitlines()
    begin = told.index("assumed, as the job file does not say:") + 1
    lines = told[begin : told.index("", begin)]
    assert len(lines) <= 13
    first = " ".join(lines[:6])
    for weighty in ("no nap given", "true to size", "middle of a motif", "no grain given"):
        assert weighty in first, weighty
    assert not any("steps of" in line for line in lines[:5])
    report = html.unescape((out / "report.html").read_text())
    for line in lines:
        if not line.endswith(" more in the report"):
            assert line.strip() in report


def test_all_assumptions_are_told_where_no_report_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, out = tmp_path / "pouch.toml", tmp_path / "out"
    cloths = [
        CLOTH.format(name=name).replace("width", f"selvedge = {i}\nwidth")
        for i, name in enumerate("ab")
    ]
    job.write_text(PANEL + "".join(cloths))
    assert main(["lay", str(job), "--out", str(out), "--write", "svg", *SEARCH]) == 0
    told = capsys.readouterr().out
    assert "steps of" in told
    assert "more in the report" not in told


def test_of_many_pieces_the_first_and_the_count_are_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, out = tmp_path / "pouch.toml", tmp_path / "out"
    piece = '[[piece]]\nname = "p{i}"\nrectangle = [30, 20]\n'
    cut = '[[cut]]\npiece = "p{i}"\nmaterial = "canvas"\n'
    cloth = '[[cloth]]\nname = "canvas"\nwidth = 1000\n'
    every = "".join((piece + cut).format(i=i) for i in range(40))
    job.write_text('[job]\nname = "pouch"\n' + every + cloth)
    assert main(["lay", str(job), "--out", str(out), *SEARCH]) == 0
    told = capsys.readouterr().out
    assert "  p0, p1, p2, p3, p4 and 35 more, named in the report: no grain given" in told
    assert max(map(len, told.splitlines())) < 200
    assert "p38, p39: no grain given" in html.unescape((out / "report.html").read_text())
    assert main(["lay", str(job), "--out", str(out), "--replace", "--write", "svg", *SEARCH]) == 0
    assert "p38, p39: no grain given" in capsys.readouterr().out


def test_what_is_up_by_default_is_told_where_it_matters(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = []
    for nap, grain in (("one-way", ""), ("none", ""), ("one-way", "grain = 90\n")):
        job = tmp_path / "pouch.toml"
        cloth = CLOTH.format(name="canvas").replace("width", f'nap = "{nap}"\nwidth')
        job.write_text(PANEL.replace("seam_allowance", f"{grain}seam_allowance") + cloth)
        assert main(["lay", str(job), "--out", str(tmp_path / nap / grain[:5]), *SEARCH]) == 0
        told.append("what is right in the drawing is up on canvas" in capsys.readouterr().out)
    assert told == [True, False, False]
