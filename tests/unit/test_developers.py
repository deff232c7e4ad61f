"""What DEVELOPERS.md names is there, and no file or folder is too large to look through."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
QUOTED = [word for quote in re.findall(r"`([^`\n]+)`", PAGE) for word in quote.split()]
NAMED = sorted(
    {word for word in QUOTED if re.fullmatch(r"\.?[\w./]*/[\w./]*|\w+\.(py|md|in)", word)}
)
ROOMS = ("nesting", "cli", "tests", "benchmarks")


@pytest.mark.parametrize("name", NAMED)
def test_what_it_names_is_there(name: str) -> None:
    beside = [ROOT / name, ROOT / "nesting" / name, ROOT / "benchmarks" / name]
    whole = any(path.exists() for path in beside) or name == "dist/"  # which a release makes
    short = "/" not in name and any(
        path for room in (*ROOMS, "sample_markers") for path in (ROOT / room).rglob(name)
    )
    assert whole or short, name


def test_it_names_enough_to_be_tried() -> None:
    assert len(NAMED) > 60
    assert {"search/disturb.py", "marker/rules.py", "job/marks.py"} <= {*NAMED}


def test_files_and_folders_can_be_looked_through() -> None:
    lines = {
        path: len(path.read_text(encoding="utf-8").splitlines())
        for room in ("nesting", "cli")
        for path in (ROOT / room).rglob("*.py")
    }
    assert max(lines.values()) <= 500, max(lines, key=lambda path: lines[path])
    folders = {path.parent for path in lines}
    crowd = {folder: sum(path.parent == folder for path in lines) for folder in folders}
    assert max(crowd.values()) <= 21, max(crowd, key=lambda folder: crowd[folder])
