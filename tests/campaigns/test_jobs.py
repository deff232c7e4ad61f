"""A small run of the campaign of jobs, and that its judge sees what is wrong."""

from __future__ import annotations

import ast
import json
from pathlib import Path

import pytest

from benchmarks.campaigns import trade
from benchmarks.campaigns.jobs import one_job, run
from benchmarks.campaigns.trade.asked.cutting_list import Job, read
from benchmarks.campaigns.trade.rules.answer import entries_of
from benchmarks.campaigns.trade.rules.judge import broken, matched
from benchmarks.campaigns.trade.shown.drawings import drawn_wrong
from nesting import make_plan, read_job, write_plan

JOB = """
[job]
name = "Pouch"

[[piece]]
name = "flap"
points = [[0, 0], [200, 0], [160, 120], [0, 120]]
line = "sewing"
seam_allowance = { all = 10, 1 = 15 }
named_points = { a = [0, 0] }

[[piece.mark]]
kind = "drill"
at = [60, 60]
size = 3
copies = 1

[[piece]]
name = "front"
rectangle = [150, 120]
named_points = { b = [150, 0] }

[[cloth]]
name = "canvas"
width = 700
nap = "one-way"
spacing = 4
print = { along = 60, across = 50, origin = [0, 0] }

[[cut]]
piece = "flap"
material = "canvas"
pairs = true
matches = { point = "a", piece = "front", to = "b" }

[[cut]]
piece = "front"
material = "canvas"
centred = true
"""


def test_random_jobs_are_what_they_ask_for():
    tally = run(15, seed=5)
    assert tally.faults == []
    assert tally.tried["jobs"] > 8


def test_random_jobs_searched_for_longer_are_what_they_ask_for():
    tally = run(3, seed=6, rounds=12)
    assert tally.faults == []
    assert tally.tried["jobs"] == 3


def test_the_second_statement_uses_nothing_of_the_program():
    files = list(Path(trade.__file__).parent.rglob("*.py"))
    assert len(files) > 10
    for file in files:
        names = [
            (node.module or "") if isinstance(node, ast.ImportFrom) else alias.name
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
            if isinstance(node, ast.Import | ast.ImportFrom)
            for alias in node.names
        ]
        assert not [name for name in names if name.split(".")[0] == "nesting"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("job")
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    plan = make_plan(read_job(folder / "job.toml"), seconds=None, rounds=1, workers=1)
    write_plan(plan, folder / "laid", kinds=("svg", "dxf"))
    return folder


def judged(folder: Path, *, change=lambda plan: None, job: str = JOB) -> list[str]:
    (folder / "asked.toml").write_text(job, encoding="utf-8")
    asked: Job = read(folder / "asked.toml")
    plan = json.loads((folder / "laid" / "plan.json").read_text(encoding="utf-8"))
    change(plan)
    entries = entries_of(plan)
    return [*broken(entries, asked, ()), *drawn_wrong(folder / "laid", matched(entries, asked))]


def test_a_right_plan_has_nothing_broken(folder):
    assert judged(folder) == []


def moved(plan):
    plan["plan"]["entries"][0]["marker"]["placements"][0]["x"] += 3.0


def upside_down(plan):
    plan["plan"]["entries"][0]["marker"]["placements"][1]["angle"] = 180.0


def lost(plan):
    del plan["plan"]["entries"][0]["marker"]["placements"][2]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (moved, "print"),
        (moved, "otherwise than the plan"),
        (upside_down, "off its grain"),
        (lost, "is there 0 times"),
    ],
)
def test_a_changed_plan_is_seen(folder, change, said):
    assert any(said in line for line in judged(folder, change=change))


@pytest.mark.parametrize(
    ("was", "asked", "said"),
    [
        ("pairs = true", "reversed = true", "nobody asked for"),
        ("pairs = true", "copies = 2", "is a left one"),
        ("pairs = true", "pairs = true\ncopies = 2", "is there 0 times"),
        ("1 = 15", "1 = 16", "is not as it was asked for"),
        ("width = 700", "width = 700\nusable = 120", "beyond canvas"),
        ("spacing = 4", "spacing = 400", "apart, not 400"),
        ("origin = [0, 0]", "origin = [7, 0]", "off its middle"),
        ("copies = 1", "copies = 2", "should not carry"),
        ("at = [60, 60]", "at = [60, 61]", "has no drill"),
        ("[160, 120], [0, 120]", "[200, 120], [40, 120]", "is not as it was asked for"),
    ],
)
def test_a_plan_of_another_job_is_seen(folder, was, asked, said):
    assert any(said in line for line in judged(folder, job=JOB.replace(was, asked)))


def test_a_traceback_is_a_fault(tmp_path, monkeypatch):
    def fails(path, *, stock):
        raise RuntimeError("broken on purpose")

    monkeypatch.setattr("benchmarks.campaigns.jobs.read_job", fails)
    assert "broken on purpose" in one_job("5/0", tmp_path).faults[0]


HIDE = """
[job]
name = "Strap"

[[piece]]
name = "strap"
rectangle = [200, 30]

[[leather]]
name = "calf"
nap = "none"

[[leather.hide]]
name = "hide"
rectangle = [900, 900]

[[leather.hide.zone]]
grade = "A"
rectangle = [900, 900]
tight = 0
slack = 20

[[cut]]
piece = "strap"
material = "calf"
grain = "bias"
turn_slack = 10
"""


@pytest.mark.parametrize(("angle", "wrong"), [(0, False), (90, False), (45, True)])
def test_on_the_bias_either_diagonal_lies_along_the_tightness(tmp_path, angle, wrong):
    (tmp_path / "job.toml").write_text(HIDE, encoding="utf-8")
    plan = make_plan(read_job(tmp_path / "job.toml"), seconds=None, rounds=0, workers=1)
    write_plan(plan, tmp_path / "laid", kinds=("svg",))

    def turned(plan):
        place = plan["plan"]["entries"][0]["marker"]["placements"][0]
        place["x"], place["y"], place["angle"] = 450.0, 450.0, float(angle)

    said = judged(tmp_path, change=turned, job=HIDE)
    assert any("tight another way" in line for line in said) == wrong


@pytest.mark.parametrize("rough", [0, 6])
@pytest.mark.parametrize("seam", [0, 10])
def test_a_curve_runs_into_a_corner_as_its_end_does_not_as_a_chord(tmp_path, rough, seam):
    """Where the mitre of the corner at the left ends, from the curve's own direction there."""
    text = f"""
[job]
name = "Flap"

[[piece]]
name = "flap"
outline = "M 0,0 L 80,0 L 80,60 C 50,30 30,30 0,60 Z"
line = "sewing"
seam_allowance = {seam}

[[cloth]]
name = "canvas"
width = 700

[[cut]]
piece = "flap"
material = "canvas"
rough_margin = {rough}
"""
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    (asked,) = read(tmp_path / "job.toml").asked
    *_, top = asked.shape("right").cut.bounds
    # At 45° a mitre goes up by 1 + √2 times what is added on both sides.
    assert top == pytest.approx(60.0 + (1.0 + 2.0**0.5) * (seam + rough), abs=0.01)
