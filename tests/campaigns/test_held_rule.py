"""The second statement sees a part that is not where its job holds it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from benchmarks.campaigns.jobs import Here
from benchmarks.campaigns.trade.asked.cutting_list import Job, read
from benchmarks.campaigns.trade.rules.answer import entries_of
from benchmarks.campaigns.trade.rules.judge import broken
from nesting import make_plan, read_job, write_plan

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
copies = 2
pairs = true
[[held]]
material = "canvas"
piece = "flap"
copy = 2
hand = "left"
at = [12.5, "30 mm"]
turn = 180
"""


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, object], Job]:
    folder = tmp_path_factory.mktemp("held")
    (folder / "job.toml").write_text(JOB)
    plan = make_plan(read_job(folder / "job.toml"), seconds=None, rounds=0, executor=Here())
    write_plan(plan, folder / "laid", kinds=("svg",))
    text = Path(folder / "laid" / "plan.json").read_text(encoding="utf-8")
    return json.loads(text), read(folder / "job.toml")


def test_it_lies_where_it_is_held(laid: tuple[dict[str, object], Job]) -> None:
    plan, job = laid
    assert list(broken(entries_of(plan), job, [])) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"x": 1.0}, "is held at 125, 30 mm and lies at 126, 30"),
        ({"angle": 180.0}, "is held at 180° and turned by"),
    ],
)
def test_it_is_seen_that_it_lies_elsewhere(
    laid: tuple[dict[str, object], Job], change: dict[str, float], said: str
) -> None:
    plan, job = json.loads(json.dumps(laid[0])), laid[1]
    (entry,) = plan["plan"]["entries"]
    kept = [i for i, part in enumerate(entry["marker"]["lay"]["parts"]) if "held" in part]
    (place,) = (p for p in entry["marker"]["placements"] if p["part"] in kept)
    for key, by in change.items():
        place[key] = place.get(key, 0.0) + by
    assert any(said in line for line in broken(entries_of(plan), job, []))
