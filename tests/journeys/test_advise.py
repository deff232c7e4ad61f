"""The command that says what would save."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from thriftlay.main import main

JOB = """
[job]
name = "Sling"
unit = "in"
currency = "USD"
[[cloth]]
name = "faux leather"
width = "12 in"
price = 20
[[piece]]
name = "strap"
rectangle = ["24 in", "1 1/4 in"]
[[piece]]
name = "panel"
rectangle = ["7 in", "5 1/2 in"]
[[cut]]
piece = "strap"
material = "faux leather"
[[cut]]
piece = "panel"
material = "faux leather"
copies = 2
"""
SEARCH = ("--rounds", "1", "--workers", "1")


def test_a_strap_that_costs_cloth_is_told_with_what_to_write(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "sling.toml"
    job.write_text(JOB)
    assert main(["advise", str(job), *SEARCH]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert "its length is held by strap, which reaches from one end to the other" in told.out
    first = told.out.partition("\n  1  ")[2].partition("\n  2  ")[0]
    assert first.startswith("faux leather: strap joined from shorter pieces")
    assert 'write in its [[cut]]: pieced = "3/8 in"' in first
    assert "yd less to buy" in first
    assert "USD" in first
    assert "mind: 1 seam more to sew" in first
    assert not re.search(r"\d (mm|cm)\b", told.out)
    written = job.read_text().replace(
        'piece = "strap"\nmat', 'piece = "strap"\npieced = "3/8 in"\nmat'
    )
    job.write_text(written)
    assert main(["advise", str(job), *SEARCH]) == 0
    assert "strap joined from shorter pieces" not in capsys.readouterr().out


def test_lay_tells_in_one_line_that_there_is_something_to_save(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, out = tmp_path / "sling.toml", tmp_path / "out"
    job.write_text(JOB)
    assert main(["advise", str(job), *SEARCH, "--out", str(out)]) == 0
    assert f"files are in {out}" in capsys.readouterr().out
    lay = ["lay", str(job), *SEARCH, "--out", str(out), "--write", "report", "--replace"]
    assert main(lay) == 0
    told = [line for line in capsys.readouterr().out.splitlines() if "would save" in line]
    assert len(told) == 1
    assert told[0].startswith("faux leather: strap joined from shorter pieces would save about")
    assert main(["advise", str(job), *SEARCH, "--out", str(out)]) == 2
    assert "exists already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--material", "silk"), 'no material is named "silk"'),
        (("--widths", "wide"), "wide"),
        (("--time", "soon"), "'soon' is no length of time"),
    ],
)
def test_bad_input_is_one_line(
    words: tuple[str, ...], says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "sling.toml"
    job.write_text(JOB)
    try:
        status = main(["advise", str(job), *words])
    except SystemExit as end:
        status = int(str(end.code))
    told = capsys.readouterr()
    assert (status, told.out) == (2, "")
    assert told.err.count("\n") == 1
    assert says in told.err
