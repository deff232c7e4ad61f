"""Files for a machine, read back, and that what is wrong in them is seen."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from benchmarks.campaigns.trade.rules.judge import matched
from benchmarks.campaigns.trade.shown.machines import cut_wrong


@pytest.fixture(scope="module", params=["svg", "dxf", "dxf-r12", "hpgl"])
def cut(request, made) -> Path:
    folder = made.folder / f"cut {request.param}"
    words = ["cut", made.laid / "plan.json", "--machine", made.machine, "--out", folder]
    made.command(*words, "--safety-sheet-read", "--format", request.param)
    return folder


def test_a_machine_cuts_each_part_once(made, cut):
    assert list(cut_wrong(cut, made.machine, matched(made.entries, made.job))) == []


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ("kerf = 0.2", "kerf = 1.0", "is in no file"),
        ("length = 2000.0", "length = 120.0", "beyond the bed"),
    ],
)
def test_files_for_another_machine_are_seen(made, cut, tmp_path, was, now, said, seen):
    other = tmp_path / "other.toml"
    text = made.machine.read_text(encoding="utf-8")
    assert was in text
    other.write_text(text.replace(was, now), encoding="utf-8")
    assert seen(said, cut_wrong(cut, other, matched(made.entries, made.job)))


@pytest.mark.parametrize("change", ["moved", "lost"])
def test_files_of_another_plan_are_seen(made, cut, change):
    every = matched(getattr(made, change)(), made.job)
    assert list(cut_wrong(cut, made.machine, every))


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ("at = [110, 60]", "at = [112, 60]", "lacks a drill of flap"),
        ("at = [110, 60]", "at = [112, 60]", "has a drill at"),
        ("[[20, 90], [120, 90]]", "[[20, 91], [120, 90]]", "lacks a line of flap"),
        ("[[20, 90], [120, 90]]", "[[20, 91], [120, 90]]", "has a mark at"),
        ("at = [100, -10]", "at = [90, -10]", "lacks a notch of flap"),
        ("at = [100, -10]", "at = [90, -10]", "has a notch at"),
        ('kind = "line"', 'kind = "line"\nface = "wrong"', "has a mark at"),
    ],
)
def test_what_is_worked_elsewhere_is_seen(made, cut, was, now, said, seen):
    job = made.asked((was, now))
    assert seen(said, cut_wrong(cut, made.machine, matched(made.entries, job)))


@pytest.mark.parametrize("how", ["order", "lost", "twice", "corner"])
def test_a_spoilt_machine_file_is_seen(made, tmp_path, how, seen):
    folder = tmp_path / "cut"
    words = ["cut", made.laid / "plan.json", "--machine", made.machine, "--out", folder]
    made.command(*words, "--safety-sheet-read", "--only", "canvas")
    file, sheet = folder / "canvas.svg", folder / "canvas.txt"
    text = file.read_text(encoding="utf-8")
    paths = re.findall(r'<path id="cut-.*?/>', text)
    assert len(paths) == 8
    said = {"order": "is done too late", "lost": "is in no file", "twice": "which is no part"}
    if how == "order":
        text = text.replace("\n".join(paths), "\n".join(reversed(paths)))
    elif how == "lost":
        text = text.replace(paths[-1], "")
    elif how == "twice":
        text = text.replace(paths[0], f"{paths[0]}\n{paths[0]}")
    else:
        words_ = sheet.read_text(encoding="utf-8")
        sheet.write_text(re.sub(r"lies at x [\d.]+", "lies at x 7.000", words_), encoding="utf-8")
    file.write_text(text, encoding="utf-8")
    faults = list(cut_wrong(folder, made.machine, matched(made.entries, made.job)))
    assert seen(said.get(how, "cuts nothing of canvas where it lies"), faults)
