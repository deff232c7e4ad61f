"""`lay --from`: a stored plan is gone on from, what changed since is told."""

from __future__ import annotations

import json
from pathlib import Path

from tests.journeys.test_command import thriftlay

JOB = """
[job]
name = "Pouch"
unit = "cm"
[[piece]]
name = "flap"
points = [[0, 0], [20, 0], [16, 12], [0, 12]]
[[cloth]]
name = "canvas"
width = 60
[[cut]]
piece = "flap"
material = "canvas"
copies = 3
"""


def test_a_plan_is_gone_on_from_with_what_is_held(tmp_path: Path) -> None:
    job, first, second = tmp_path / "job.toml", tmp_path / "first", tmp_path / "second"
    job.write_text(JOB)
    lay = ("--rounds", 1, "--write", "svg")
    assert thriftlay("lay", job, "--out", first, *lay).returncode == 0
    file = first / "plan.json"
    plan = json.loads(file.read_text())
    (entry,) = plan["plan"]["entries"]
    part, place = entry["marker"]["lay"]["parts"][1], entry["marker"]["placements"][1]
    part["held"] = {key: place[key] for key in ("x", "y", "angle") if key in place}
    file.write_text(json.dumps(plan))
    job.write_text(JOB.replace("copies = 3", "copies = 4"))
    run = thriftlay("lay", job, "--from", file, "--out", second, *lay)
    assert run.returncode == 0, run.stderr
    assert "thriftlay: canvas: new: flap 4 of 4" in run.stderr
    again = json.loads((second / "plan.json").read_text())["plan"]
    (marker,) = (entry["marker"] for entry in again["entries"])
    kept = [p for p in marker["lay"]["parts"] if "held" in p]
    assert [p["name"] for p in kept] == ["flap 2 of 4"]
    (there,) = (p for p in marker["placements"] if p["part"] == 1)
    assert abs(there["x"] - place["x"]) + abs(there["y"] - place["y"]) < 1e-6
    assert again["job"]["held"][0]["copy"] == 2
    job.write_text(JOB.replace("width = 60", "width = 12"))
    run = thriftlay("lay", job, "--from", tmp_path / "none.json", "--out", second, *lay)
    assert run.returncode == 2
    assert "there is no such file" in run.stderr
