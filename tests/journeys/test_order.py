"""Orders through the command: planned, interrupted, killed, gone on with, taken off the stock."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

JOB = """
[job]
name = "two bags"
currency = "EUR"
[table]
plies = 4
bags = 3
splice = "10 cm"
[[cloth]]
name = "canvas"
width = "60 cm"
price = 20
step = "10 cm"
rolls = ["1.2 m", "90 cm"]
[[cloth]]
name = "lining"
width = "70 cm"
price = 8
[[bag]]
name = "tote"
count = 5
  [[bag.piece]]
  name = "panel"
  rectangle = [300, 220]
  [[bag.piece]]
  name = "gusset"
  outline = "M 0,0 L 250,0 L 180,90 L 0,90 Z"
  [[bag.cut]]
  piece = "panel"
  material = ["canvas", "lining"]
  copies = 2
  [[bag.cut]]
  piece = "gusset"
  material = "canvas"
  pairs = true
  [[bag.notion]]
  name = "zip"
  quantity = 1
  price = 1.5
[[bag]]
name = "pouch"
count = 4
  [[bag.piece]]
  name = "front"
  rectangle = [200, 140]
  [[bag.cut]]
  piece = "front"
  material = ["canvas", "lining"]
  copies = 2
"""


def thriftlay(*arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "thriftlay", *map(str, arguments)],
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )


def started(*arguments: object) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "thriftlay", *map(str, arguments)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )


def wait_for(process: subprocess.Popen[str], sign: str) -> None:
    assert process.stderr is not None
    for line in process.stderr:
        if sign in line:
            return
    pytest.fail(f"ended without saying {sign!r}")


def read_csv(path: Path) -> list[dict[str, str]]:
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("order") / "order.toml"
    path.write_text(JOB)
    return path


@pytest.fixture(scope="module")
def planned(job: Path) -> Path:
    folder = job.parent / "out"
    run = thriftlay("order", job, "--out", folder, "--rounds", 1)
    assert run.returncode == 0, run.stderr
    assert "no plan below" in run.stdout
    return folder


def test_an_order_writes_the_sheet_for_the_table_and_the_lists(planned: Path) -> None:
    sheet = (planned / "work-sheet.html").read_text()
    assert "Each ply gives" in sheet
    assert "roll 1 (120 cm)" in sheet
    assert "Bundle and label" in sheet
    rows = {row["item"]: row for row in read_csv(planned / "buying.csv")}
    assert float(rows["canvas"]["from_stock"]) > 0.0
    assert float(rows["canvas"]["to_buy"]) == pytest.approx(
        float(rows["canvas"]["gross"]) - float(rows["canvas"]["from_stock"]), abs=0.1
    )
    assert float(rows["zip"]["to_buy"]) == 5.0
    costs = read_csv(planned / "costs.csv")
    total = sum(
        int(row["how_many"]) * float(row["cost_of_one_bag"])
        for row in costs
        if row["item"] == "sum"
    )
    assert total == pytest.approx(sum(float(row["cost"]) for row in rows.values()), abs=0.1)
    assert "No plan goes below" in (planned / "report.html").read_text()
    assert not (planned / ".unfinished").exists()


def test_a_plan_is_taken_off_the_stock_once(job: Path, planned: Path, tmp_path: Path) -> None:
    stock = tmp_path / "stock.toml"
    stock.write_text('[at_hand]\nlining = "5 m"\nzip = 7  # brass\n')
    out = tmp_path / "o"
    run = thriftlay("order", job, "--stock", stock, "--out", out, "--rounds", 1)
    assert run.returncode == 0, run.stderr
    assert thriftlay("done", out / "plan.json", "--stock", stock).returncode == 0
    after = stock.read_text()
    assert "zip = 2  # brass" in after
    assert 'lining = "5 m"' not in after
    again = thriftlay("done", out / "plan.json", "--stock", stock)
    assert again.returncode == 2
    assert "before" in again.stderr
    assert stock.read_text() == after
    # A plan made without the stock buys its zips, and takes none off.
    assert thriftlay("done", planned / "plan.json", "--stock", stock).returncode == 0
    assert "zip = 2  # brass" in stock.read_text()


def test_a_killed_plan_goes_on_where_it_stopped(job: Path, tmp_path: Path) -> None:
    arguments = ("order", job, "--out", tmp_path / "o", "--rounds", 4, "--workers", 1)
    process = started(*arguments)
    kept = tmp_path / "o" / ".unfinished"
    while not (kept.is_dir() and any(kept.glob("*.json"))):
        assert process.poll() is None, process.communicate()
        time.sleep(0.02)
    process.kill()
    process.communicate()
    assert not (tmp_path / "o" / "plan.json").exists()
    finished = {path.name: path.stat().st_mtime_ns for path in kept.glob("*.json")}
    process = started(*arguments)
    unchanged = True
    while process.poll() is None:
        for path in kept.glob("*.json"):
            try:
                unchanged &= finished.get(path.name, 0) in (0, path.stat().st_mtime_ns)
            except FileNotFoundError:
                break
        time.sleep(0.01)
    out, error = process.communicate()
    assert process.returncode == 0, error
    assert unchanged, "a finished lay was searched again"
    assert "canvas" in out
    assert not kept.exists()
    # The same plan as without the interruption.
    whole = thriftlay(*arguments[:3], tmp_path / "whole", *arguments[4:])
    assert whole.returncode == 0, whole.stderr
    first, second = (
        json.loads((tmp_path / folder / "plan.json").read_text())["plan"]["entries"]
        for folder in ("o", "whole")
    )
    assert [entry["marker"] for entry in first] == [entry["marker"] for entry in second]


def test_ctrl_c_ends_an_order_with_the_best_so_far(job: Path, tmp_path: Path) -> None:
    process = started("order", job, "--out", tmp_path / "o", "--time", "10m")
    wait_for(process, "%")
    time.sleep(0.5)
    os.killpg(process.pid, signal.SIGINT)  # as a terminal does: everyone in the group
    out, error = process.communicate(timeout=60)
    assert process.returncode == 3, error
    assert error.splitlines()[-1] == "thriftlay: interrupted; the best so far was saved"
    assert "no plan below" in out
    assert thriftlay("check", tmp_path / "o" / "plan.json").returncode == 0


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("bags = 3", 'length = "20 cm"'), "table of 20 cm is shorter"),
        (("plies = 4", 'spreading = "face to face"'), "come in twos"),
        (('width = "60 cm"', 'width = "15 cm"'), "fits no width of canvas"),
    ],
)
def test_an_order_that_cannot_be_met_is_one_line(
    change: tuple[str, str], says: str, tmp_path: Path
) -> None:
    job = tmp_path / "order.toml"
    job.write_text(JOB.replace(*change))
    run = thriftlay("order", job, "--out", tmp_path / "o", "--rounds", 1, "--only", "canvas")
    assert run.returncode == 2, run.stderr
    said = [line for line in run.stderr.splitlines() if "%" not in line]
    assert len(said) == 1
    assert says in said[0]
    assert not (tmp_path / "o" / "plan.json").exists()


def test_files_of_a_marker_are_named_in_order_and_none_of_another(tmp_path: Path) -> None:
    text = (
        '[job]\nname = "boards"\n[[piece]]\nname = "base"\nrectangle = [250, 150]\n'
        '[[sheet]]\nname = "board"\nsize = [260, 160]\n'
        '[[sheet]]\nname = "board thick"\nsize = [300, 200]\n'
        '[[cut]]\npiece = "base"\nmaterial = ["board", "board thick"]\n'
        '[[bag]]\nname = "case"\ncount = 11\n'
    )
    (tmp_path / "job.toml").write_text(text)
    done = thriftlay("order", tmp_path / "job.toml", "--out", tmp_path / "o", "--rounds", 1)
    assert done.returncode == 0, done.stderr
    sheet = (tmp_path / "o" / "work-sheet.html").read_text()
    assert "board-01-of-11.dxf to board-11-of-11.dxf" in sheet
    assert "board-thick-01-of-11.dxf to board-thick-11-of-11.dxf" in sheet
    assert "11 alike: 1 to 11" in sheet
