"""Every refusal of the readers says what to do."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import nesting.reading

FILES = sorted(Path(nesting.reading.__file__).parent.rglob("*.py"))
REFUSALS = {"PatternError", "PicturesError", "SizesError", "JobError", "WriteError"}


def made_in(file: Path) -> list[ast.Call]:
    """Return where refusals are made, whether they are raised there or given back."""
    calls = [
        node
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and ast.unparse(node.func) in REFUSALS
    ]
    return [call for call in calls if call.args]


def test_there_are_refusals() -> None:
    assert sum(len(made_in(file)) for file in FILES) > 120


@pytest.mark.parametrize("file", [file for file in FILES if made_in(file)], ids=lambda f: f.stem)
def test_what_is_refused_comes_with_what_to_do(file: Path) -> None:
    without = [
        call.lineno
        for call in made_in(file)
        if not any(word.arg in ("hint", None) for word in call.keywords)
    ]
    assert without == []
