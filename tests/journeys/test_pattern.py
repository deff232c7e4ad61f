"""``thriftlay pattern``: a folder of all that is handed out, or one line and nothing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from thriftlay.main import main

JOB = """
[job]
name = "Invented pouch"

[[cloth]]
name = "canvas"
width = "60 cm"

[[piece]]
name = "front"
outline = "M 0,0 L 260,0 L 230,150 L 60,180 Z"
line = "cutting"
grain = "along"

[[cut]]
piece = "front"
material = "canvas"
copies = 2
"""
QUICK = ("--rounds", "1", "--workers", "1")


def asked(*words: str) -> int:
    try:
        return main(["pattern", *words])
    except SystemExit as end:
        return int(end.code or 0)


@pytest.fixture
def job(tmp_path: Path) -> str:
    (tmp_path / "job.toml").write_text(JOB)
    return str(tmp_path / "job.toml")


def test_a_folder_to_hand_out(job, tmp_path, capsys) -> None:
    out = tmp_path / "out"
    words = (job, "--out", str(out), "--paper", "a4,roll", *QUICK)
    assert asked(*words, "--widths", "10 cm, 50 cm, 60 cm") == 0
    said = capsys.readouterr().out
    assert "can't be used: front" in said
    assert "5 % is added to each length" in said
    names = {file.name for file in out.iterdir()}
    assert {"booklet-a4.pdf", "pages-a4.pdf", "pages-roll.pdf", "labels-a4.pdf"} < names
    assert {"projector.pdf", "pattern.dxf", "pattern.svg", "pattern.json"} < names
    stored = [name for name in names if name.startswith("lay-")]
    assert len(stored) >= 2
    for name in stored:
        assert main(["check", str(out / name)]) == 0
    assert {*json.loads((out / "pattern.json").read_text())["files"]} == names


def test_what_was_handed_out_is_replaced_only_when_asked(job, tmp_path, capsys) -> None:
    out = tmp_path / "out"
    words = (job, "--out", str(out), "--paper", "a4", *QUICK)
    assert asked(*words, "--widths", "50 cm, 60 cm") == 0
    (out / "mine.txt").write_text("mine")
    before = {file.name: file.read_bytes() for file in out.iterdir()}
    capsys.readouterr()
    assert asked(*words) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "--replace" in told
    assert {file.name: file.read_bytes() for file in out.iterdir()} == before
    assert asked(*words, "--widths", "60 cm", "--replace") == 0
    after = {file.name for file in out.iterdir()}
    assert after < {*before}
    assert "mine.txt" in after


def test_what_fits_nowhere_has_no_table_and_names_the_piece(job, tmp_path, capsys) -> None:
    out = tmp_path / "out"
    words = (job, "--out", str(out), "--paper", "letter", "--widths", "10 cm", *QUICK, "--json")
    assert asked(*words) == 1
    said = capsys.readouterr()
    assert "no table of what to buy: front" in said.err
    result = json.loads(said.out)["result"]
    assert result["rows"] == []
    assert "front" in result["standing"][0]
    assert not list(out.glob("lay-*.json"))
    assert (out / "booklet-letter.pdf").exists()


def test_numbers_for_machines_name_their_lay(job, tmp_path, capsys) -> None:
    out = tmp_path / "out"
    assert (
        asked(job, "--out", str(out), "--paper", "a4", "--widths", "60 cm", *QUICK, "--json") == 0
    )
    result = json.loads(capsys.readouterr().out)["result"]
    assert result["margin"] == 0.05
    assert [row["one_way"] for row in result["rows"]] == [True, False]
    for row in result["rows"]:
        assert (out / row["lay"]).exists()
        assert row["metres"] >= 1.05 * row["needed"]
        eighths = row["yards"] / 114.3
        assert eighths == pytest.approx(round(eighths))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--paper", "b7"], "'b7' is none of a4,"),
        (["--paper", ","], "an empty list is none of"),
        (["--margin", "much"], "is no share"),
        (["--paper", "roll", "--roll", "3 cm"], "too narrow to print on"),
        (["--widths", "wide"], "wide"),
        (["--widths", "5 mm"], "nothing of canvas inside the selvedges"),
    ],
)
def test_bad_words_are_one_line_and_nothing_is_written(words, says, job, tmp_path, capsys) -> None:
    assert asked(job, "--out", str(tmp_path / "out"), *QUICK, *words) == 2
    told = capsys.readouterr().err
    assert says in told
    assert told.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_a_folder_that_is_a_file_is_refused_before_any_search(job, tmp_path, capsys) -> None:
    (tmp_path / "out").write_text("a file")
    assert asked(job, "--out", str(tmp_path / "out"), *QUICK) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert (tmp_path / "out").read_text() == "a file"
