"""What words on a piece say is understood in every format alike."""

from __future__ import annotations

from pathlib import Path

import pytest

from nesting.reading.read import read_pattern

SVG = """\
<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">
  <path class="cut" d="M20,20 H220 V180 H20 Z"/>
  {fold}
  <text x="25" y="100" font-size="5">{first}</text>
  <text x="60" y="120" font-size="5">{second}</text>
</svg>
"""
FOLD = '<path class="fold" d="M20,20 V180"/>'


def _found(folder: Path, *, first: str, second: str, fold: str = ""):
    file = folder / "drawn.svg"
    file.write_text(SVG.format(first=first, second=second, fold=fold), encoding="utf-8")
    pattern = read_pattern(file)
    (found,) = pattern.found
    return found, [f.text for f in pattern.findings if f.severity.value == "fault"]


@pytest.mark.parametrize("first", ["fold", "grain", "cut 2 outer", "place on fold"])
def test_such_words_are_no_name(tmp_path: Path, first: str) -> None:
    found, _ = _found(tmp_path, first=first, second="Flap", fold=FOLD)
    assert found.piece.name == "Flap"


def test_how_many_of_what(tmp_path: Path) -> None:
    found, faults = _found(tmp_path, first="Flap", second="cut 2 outer, 2 lining")
    assert (found.right, found.left, found.material) == (2, 0, "2 outer, 2 lining")
    assert faults == []
    assert [mark.text for mark in found.piece.marks] == ["Flap"]


def test_a_name_and_how_many_in_one_text(tmp_path: Path) -> None:
    found, _ = _found(tmp_path, first="Flap – cut 1 pair", second="")
    assert (found.piece.name, found.right, found.left) == ("Flap", 1, 1)


def test_a_half_without_a_fold_is_told(tmp_path: Path) -> None:
    found, faults = _found(tmp_path, first="Flap", second="cut 1 on fold")
    assert not found.opened
    assert len(faults) == 1
    assert "'cut 1 on fold', but no edge is marked as the one on the fold" in faults[0]
    found, faults = _found(tmp_path, first="Flap", second="cut 1 on fold", fold=FOLD)
    assert found.opened
    assert faults == []
