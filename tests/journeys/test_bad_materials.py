"""Orders that can't be laid: one clear line each, before any search, and no file."""

from __future__ import annotations

from pathlib import Path

import pytest
from thriftlay.main import main

HEAD = """
[job]
name = "Bag"

[[piece]]
name = "front"
rectangle = [300, 400]
named_points = { left = [0, 200], right = [300, 200], low = [150, 0] }

[[piece]]
name = "pocket"
rectangle = [200, 150]
named_points = { left = [0, 70], right = [200, 70] }
"""

CLOTH = """
[[cloth]]
name = "canvas"
width = 1400
{}
"""

PRINT = "print = {{ along = {}, across = {}, origin = [100, 100] }}"

LEATHER = """
[[leather]]
name = "calf"
[[leather.hide]]
name = "skin"
outline = "M 0,0 L 900,0 L 900,500 L 0,500 Z"
{}
"""


def cut(piece: str, material: str, more: str = "") -> str:
    return f'\n[[cut]]\npiece = "{piece}"\nmaterial = "{material}"\n{more}\n'


def printed(along: float, across: float, more: str = "") -> str:
    return CLOTH.format(PRINT.format(along, across) + "\n" + more)


CASES = {
    "a repeat larger than the cloth": (
        printed(400, 1500) + cut("front", "canvas", "centred = true"),
        "repeat across",
        "larger than the usable cloth",
    ),
    "a repeat longer than the lay may be": (
        printed(2000, 400, "longest = 1500") + cut("front", "canvas", "centred = true"),
        "repeat along",
        "larger than the longest lay",
    ),
    "a motif that no window serves": (
        printed(400, 1370).replace("[100, 100]", "[100, 60]")
        + cut("front", "canvas", "centred = true"),
        "no motif of the print lies where the piece would be",
        "piece.front",
    ),
    "matches that contradict each other": (
        printed(320, 240)
        + cut("front", "canvas", 'matches = { point = "left", piece = "pocket", to = "right" }')
        + cut("pocket", "canvas", 'matches = { point = "left", piece = "front", to = "low" }'),
        "contradict each other",
        "move a named point",
    ),
    "a match to what is cut from other cloth": (
        printed(320, 240)
        + CLOTH.format("").replace("canvas", "lining")
        + cut("pocket", "canvas", 'matches = { point = "left", piece = "front", to = "left" }')
        + cut("front", "lining"),
        "not cut from canvas",
        "cut both from the same cloth",
    ),
    "a zone outside its hide": (
        LEATHER.format('[[leather.hide.zone]]\ngrade = "A"\nrectangle = [95, 100]\nat = [2000, 0]')
        + cut("pocket", "calf"),
        "the zone lies outside its hide",
        "that goes from (0 mm, 0 mm) to",
    ),
    "a flaw that leaves nothing": (
        LEATHER.format("[[leather.hide.flaw]]\nrectangle = [2000, 2000]\nat = [-500, -500]")
        + cut("pocket", "calf"),
        "leave nothing",
        "skin",
    ),
    "a mate that doesn't exist": (
        LEATHER.format("") + cut("pocket", "calf", 'mates = "handle"'),
        'no piece "handle" is cut from calf',
        "mate",
    ),
    "folded cloth with a one-way print": (
        printed(320, 240, 'fold = "folded"') + cut("front", "canvas"),
        "differently on the two plies",
        "fold_print = true",
    ),
    "a piece that fits no hide": (
        LEATHER.format("").replace("900,500 L 0,500", "900,250 L 0,250") + cut("front", "calf"),
        "front fits no hide",
        "largest space",
    ),
    "a grade that no zone has": (
        LEATHER.format('[[leather.hide.zone]]\ngrade = "C"\nrectangle = [800, 400]')
        + cut("pocket", "calf", 'grade = "A"'),
        "no zone is of the grade",
        "poorer grade",
    ),
    "interfacing narrower than the piece": (
        CLOTH.format("").replace("1400", "350") + cut("front", "canvas"),
        "fits no width",
        "needs a width of 40 cm",
    ),
    "a print larger than the bed": (
        printed(640, 640)
        + "\n[table]\nbed = [600, 900]\n"
        + cut("front", "canvas", "centred = true"),
        "repeats after 64 cm",
        "table.bed",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_bad_materials(case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text, *says = CASES[case]
    file, out = tmp_path / "bag.toml", tmp_path / "out"
    file.write_text(HEAD + text)
    assert main(["lay", str(file), "--out", str(out), "--time", "60s", "--workers", "1"]) == 2
    errors = [line for line in capsys.readouterr().err.splitlines() if "bag.toml" in line]
    assert len(errors) == 1
    for words in says:
        assert words in errors[0]
    assert not out.exists() or not any(out.iterdir())
