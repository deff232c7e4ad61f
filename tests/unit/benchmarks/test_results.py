"""What a benchmark says comes into RESULTS.md in its own place, and changes nothing else there."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from benchmarks.results import CAMPAIGNS, RESULTS, Section, replaced

THERE = "# What\n\nWritten.\n\n## One\n\n1\n\n## Two\n\n2\n\n## Campaigns\n\nmany\n"


def test_the_file_that_is_there_is_sections_of_lines() -> None:
    text = RESULTS.read_text(encoding="utf-8")
    assert CAMPAIGNS in text
    assert replaced(text, []) == text


def test_a_section_takes_the_place_of_its_namesake() -> None:
    assert replaced(THERE, ["## One", "", "new", ""]) == THERE.replace("\n1\n", "\nnew\n")


def test_a_new_section_comes_before_the_campaigns() -> None:
    new = replaced(THERE, ["## Three", "", "3"])
    assert new == THERE.replace("## Campaigns", "## Three\n\n3\n\n## Campaigns")


def test_a_heading_of_the_whole_takes_the_place_of_the_old_one() -> None:
    assert replaced(THERE, ["# What", "", "Again.", ""]) == THERE.replace("Written.", "Again.")


def test_what_is_said_is_printed_and_put_there_with_its_command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "RESULTS.md"
    file.write_text(THERE, encoding="utf-8")
    monkeypatch.setattr(sys, "argv", ["benchmarks/x.py", "/a/folder/case.json", "--seed", "1"])
    section = Section("Two", "Seconds.")
    section.say("| a |\n|---|")
    section.put(file)
    text = file.read_text(encoding="utf-8")
    assert capsys.readouterr().out == "| a |\n|---|\n"
    assert "case.json --seed 1`" in text
    assert "/a/folder" not in text
    assert text.count("## Two") == 1
    assert "Seconds." in text
    assert "| a |\n|---|\n\n## Campaigns" in text
