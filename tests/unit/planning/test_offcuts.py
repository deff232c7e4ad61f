"""Cloth's remnants are used before the roll."""

from __future__ import annotations

from pathlib import Path as FilePath

import pytest

from nesting import JobError, make_plan, parse_job, read_job, shopping_list
from nesting.material.material import Cloth, SheetGoods
from nesting.planning.buying.remnant_file import remnants_text
from nesting.planning.plan import Plan
from nesting.planning.plan_file import load_plan
from nesting.writing.write import write_plan

JOB = """
[job]
name = "Pouch"
[[piece]]
name = "panel"
rectangle = [260, 190]
[[piece]]
name = "flap"
points = [[0, 0], [180, 0], [140, 120], [40, 120]]
[[cloth]]
name = "canvas"
width = 1000
selvedge = 0
price = 10
CLOTH
[[cloth.remnant]]
name = "end of the roll"
rectangle = [300, 420]
REMNANT
[[cut]]
piece = "panel"
material = "canvas"
copies = 4
CUT
[[cut]]
piece = "flap"
material = "canvas"
copies = 2
"""


def text(*, cloth: str = "", remnant: str = "", cut: str = "") -> str:
    return JOB.replace("CLOTH", cloth).replace("REMNANT", remnant).replace("CUT", cut)


def laid(**more: str) -> Plan:
    return make_plan(parse_job(text(**more)), seconds=None, rounds=1, workers=1)


def names(plan: Plan) -> list[set[str]]:
    return [
        {entry.marker.lay.parts[p.part].piece.name for p in entry.marker.placements}
        for entry in plan.entries
    ]


def test_remnants_take_what_finds_room_and_the_roll_the_rest(tmp_path: FilePath) -> None:
    plan = laid()
    offcut, roll = plan.entries
    assert isinstance(offcut.material, SheetGoods)
    assert isinstance(roll.material, Cloth)
    assert offcut.good
    assert roll.good
    assert offcut.marker.lay.name == "canvas remnants"
    # two panels, 260 by 190 each, and no more go on 300 by 420 mm
    assert [part.piece.name for part in offcut.marker.lay.parts] == ["panel", "panel"]
    laid_there = {part.name for part in offcut.marker.lay.parts}
    laid_here = {part.name for part in roll.marker.lay.parts}
    assert not laid_there & laid_here
    assert len(laid_there | laid_here) == 6
    # only the roll is bought
    (line,) = shopping_list(plan).lines
    assert line.net.value == roll.buying.needed.value
    assert line.cost == roll.buying.cost
    # what is left of both is of the same cloth
    assert remnants_text(plan).count('material = "canvas"') >= 1
    write_plan(plan, tmp_path / "files")
    assert (tmp_path / "files" / "report.html").exists()
    again = load_plan(tmp_path / "files" / "plan.json")
    assert [entry.material for entry in again.entries] == [offcut.material, roll.material]


def test_a_job_may_be_cut_from_remnants_alone() -> None:
    plan = laid(remnant='[[cloth.remnant]]\nname = "more"\nrectangle = [900, 900]')
    (entry,) = plan.entries
    assert entry.good
    assert len(entry.marker.placements) == 6
    assert shopping_list(plan).cost in (None, 0.0)


def test_what_is_centred_stays_away_from_them() -> None:
    plan = laid(
        cloth="print = { along = 200, across = 200, origin = [100, 100] }", cut="centred = true"
    )
    assert names(plan)[0] == {"flap"}
    assert plan.entries[-1].unmatched is not None


def test_folded_cloth_has_no_use_for_them() -> None:
    with pytest.raises(JobError, match="laid folded") as caught:
        parse_job(text(cloth='fold = "folded"'))
    assert caught.value.field == "cloth.canvas.remnant.end of the roll"


def test_a_remnant_of_the_last_job_belongs_to_a_cloth(tmp_path: FilePath) -> None:
    (tmp_path / "remnants.toml").write_text(remnants_text(laid()), encoding="utf-8")
    job_file = tmp_path / "job.toml"
    job_file.write_text('include = "remnants.toml"\n' + text(), encoding="utf-8")
    (cloth,) = read_job(job_file).materials
    assert isinstance(cloth, Cloth)
    assert cloth.remnants[0].name == "end of the roll"
    assert len(cloth.remnants) > 1
