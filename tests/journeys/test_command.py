"""The command end to end, as its user runs it."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import ezdxf
import pytest

SAMPLES = Path(__file__).resolve().parents[2] / "sample_markers"
TOOL_ROLL = SAMPLES / "tool_roll" / "tool_roll.toml"


def thriftlay(*arguments: object, timeout: float = 240) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "thriftlay", *map(str, arguments)],
        capture_output=True,
        text=True,
        timeout=timeout,
        check=False,
    )


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("laid") / "out"
    run = thriftlay("lay", TOOL_ROLL, "--out", folder, "--rounds", 2)
    assert run.returncode == 0, run.stderr
    return folder


def test_lay_writes_every_file_and_a_table(laid: Path) -> None:
    names = {path.name for path in laid.iterdir()}
    assert {"plan.json", "report.html"} <= names
    for suffix in (".dxf", ".svg", ".png"):
        assert sum(name.endswith(suffix) for name in names) >= 3
    for path in laid.glob("*.dxf"):
        document = ezdxf.readfile(path)
        assert document.units == ezdxf.units.MM
        assert not document.audit().errors


def test_the_same_seed_and_rounds_give_the_same_plan(laid: Path, tmp_path: Path) -> None:
    again = ("--out", tmp_path / "again", "--rounds", 2, "--write", "report", "--json")
    run = thriftlay("lay", TOOL_ROLL, *again)
    assert run.returncode == 0, run.stderr
    # JSON is all that stands on standard output.
    markers = json.loads(run.stdout)["result"]["markers"]
    assert markers
    assert all(marker["figures"]["good"] for marker in markers)
    first = json.loads((laid / "plan.json").read_text())
    second = json.loads((tmp_path / "again" / "plan.json").read_text())
    for one, other in zip(first["plan"]["entries"], second["plan"]["entries"], strict=True):
        assert one["marker"] == other["marker"]


def test_check_is_good_and_finds_a_moved_part(laid: Path, tmp_path: Path) -> None:
    assert thriftlay("check", laid / "plan.json").returncode == 0
    plan = json.loads((laid / "plan.json").read_text())
    plan["plan"]["entries"][0]["marker"]["placements"][0]["x"] -= 40.0
    moved = tmp_path / "plan.json"
    moved.write_text(json.dumps(plan))
    run = thriftlay("check", moved)
    assert run.returncode == 1
    assert "NOT GOOD" in run.stdout


def test_write_makes_the_files_again(laid: Path, tmp_path: Path) -> None:
    run = thriftlay("write", laid / "plan.json", "--write", "svg", "--out", tmp_path / "more")
    assert run.returncode == 0, run.stderr
    for again in (tmp_path / "more").glob("*.svg"):
        assert again.read_bytes() == (laid / again.name).read_bytes()


def test_compare_marks_one_width_as_best_and_says_how_sure(tmp_path: Path) -> None:
    chart = tmp_path / "widths.png"
    run = thriftlay(
        *("compare", TOOL_ROLL, "--only", "lining", "--rounds", 1, "--seeds", 3),
        *("--widths", "110 cm, 150 cm", "--chart", chart, "--json"),
    )
    assert run.returncode == 0, run.stderr
    trials = json.loads(run.stdout)["result"]["trials"]
    assert [trial["width"] for trial in trials] == [1100.0, 1500.0]
    areas = [trial["area"] for trial in trials]
    assert [trial["least"] for trial in trials] == [area == min(areas) for area in areas]
    for trial in trials:
        assert trial["seeds"] == 3
        assert trial["marker"]["figures"]["needed"] == min(trial["needed"])
        assert 0 <= trial["least_in"] <= 3
        assert trial["waste"] > 0.0
    assert sum(trial["least_in"] for trial in trials) >= 3
    assert chart.read_bytes().startswith(b"\x89PNG")


def test_lengths_for_instructions_are_rounded_up(tmp_path: Path) -> None:
    run = thriftlay("compare", TOOL_ROLL, "--only", "lining", "--rounds", 1, "--instructions")
    assert run.returncode == 0, run.stderr
    metric, yards = run.stdout.splitlines()
    assert re.fullmatch(r"lining: \d\.\d m at 150 cm, \d\.\d m at 112 cm", metric)
    assert re.fullmatch(r"lining: [\d/ ]+ yd at 59 in, [\d/ ]+ yd at 44 in", yards)


def test_a_folder_with_another_plan_is_left_alone(laid: Path) -> None:
    before = (laid / "plan.json").read_bytes()
    run = thriftlay("lay", TOOL_ROLL, "--out", laid, "--rounds", 1)
    assert run.returncode == 2
    assert run.stderr.count("\n") == 1
    assert (laid / "plan.json").read_bytes() == before


def test_interrupting_keeps_the_best_so_far(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [
            *(sys.executable, "-m", "thriftlay", "lay", str(TOOL_ROLL), "--time", "10m"),
            *("--out", str(tmp_path / "o"), "--only", "waxed canvas"),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
        start_new_session=True,
    )
    assert process.stderr is not None
    for line in process.stderr:
        if "%" in line:
            break
    time.sleep(1.0)
    os.killpg(process.pid, signal.SIGINT)  # as a terminal does: the workers get it, too
    out, error = process.communicate(timeout=60)
    assert process.returncode == 3
    assert error.splitlines()[-1] == "thriftlay: interrupted; the best so far was saved"
    assert "material" in out
    assert thriftlay("check", tmp_path / "o" / "plan.json").returncode == 0


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["lay", "missing.toml", "--out", "o"], "missing.toml"),
        (["lay", TOOL_ROLL, "--out", "o", "--time", "soon"], "soon"),
        (["lay", TOOL_ROLL, "--out", "o", "--only", "velvet"], "velvet"),
        (["lay", TOOL_ROLL, "--out", "/proc/nowhere"], "/proc/nowhere"),
        (["check", "missing.json"], "missing.json"),
        (["compare", TOOL_ROLL, "--widths", "12 parsecs"], "parsecs"),
        (["polish"], "polish"),
    ],
)
def test_bad_input_is_one_line_and_status_two(
    arguments: list[object], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    run = thriftlay(*arguments)
    assert run.returncode == 2
    assert says in run.stderr
    assert len(run.stderr.strip().splitlines()) == 1
    assert "Traceback" not in run.stderr
    assert run.stdout == ""
    assert list(tmp_path.iterdir()) == []


def test_the_schema_is_a_json_schema() -> None:
    run = thriftlay("schema")
    assert run.returncode == 0
    assert json.loads(run.stdout)["type"] == "object"
