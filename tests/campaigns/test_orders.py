"""A small run of the campaign of orders, and that its judge sees what is wrong."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from benchmarks.campaigns.jobs import Here
from benchmarks.campaigns.orders import order_wrong, run
from benchmarks.campaigns.trade.asked.cutting_list import read
from nesting import make_order_plan, read_job, write_plan

ORDER = """
table = { plies = 4, bags = 3, splice = "10 cm" }
job = { name = "two bags" }

[[cloth]]
name = "canvas"
width = "60 cm"
rolls = ["1.2 m", "90 cm"]

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
material = "canvas"
copies = 2

[[bag.cut]]
piece = "gusset"
material = "canvas"
copies = 1

[[bag]]
name = "pouch"
count = 4

[[bag.piece]]
name = "front"
rectangle = [200, 140]

[[bag.cut]]
piece = "front"
material = "canvas"
copies = 2
"""


def test_random_orders_give_what_was_ordered():
    tally = run(8, seed=4)
    assert tally.faults == []
    assert tally.tried["orders"] >= 4


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("planned")
    (folder / "job.toml").write_text(ORDER)
    plan = make_order_plan(read_job(folder / "job.toml"), seconds=None, rounds=1, executor=Here())
    write_plan(plan, folder / "laid", kinds=("svg",))
    assert list(order_wrong(folder / "laid", read(folder / "job.toml"))) == []
    entries = json.loads((folder / "laid" / "plan.json").read_text())["plan"]["entries"]
    assert any(len(laid["rolls"]) == 2 for entry in entries for laid in entry["laid_from"])
    assert any(max(entry.get("spreads", [1])) > 1 for entry in entries)
    return folder


Change = Callable[[list[dict[str, Any]]], object]


def _many(entries: list[dict[str, Any]]) -> dict[str, Any]:
    return next(entry for entry in entries if max(entry.get("spreads", [1])) > 1)


def _spliced(entries: list[dict[str, Any]]) -> dict[str, Any]:
    return next(laid for e in entries for laid in e["laid_from"] if len(laid["rolls"]) == 2)


def _one_ply_less(entries: list[dict[str, Any]]) -> None:
    _many(entries)["spreads"][0] -= 1


def _one_part_less(entries: list[dict[str, Any]]) -> None:
    entries[0]["marker"]["placements"].pop()


def _a_bag_more_is_said(entries: list[dict[str, Any]]) -> None:
    entries[0]["bags"][0][1] += 1


def _a_ply_from_nowhere(entries: list[dict[str, Any]]) -> None:
    entries[0]["laid_from"][0]["plies"] += 1


def _spliced_within_parts(entries: list[dict[str, Any]]) -> None:
    laid = _spliced(entries)
    laid["splice"] = [laid["splice"][0] + 40.0, laid["splice"][0] + 60.0]


def _spliced_with_much(entries: list[dict[str, Any]]) -> None:
    laid = _spliced(entries)
    laid["splice"] = [laid["splice"][1] - 130.0, laid["splice"][1]]


def _less_is_new(entries: list[dict[str, Any]]) -> None:
    entries[0]["buying"]["to_buy"] += 5.0


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (_one_ply_less, "come off the table"),
        (_one_part_less, "come off the table"),
        (_a_bag_more_is_said, "outlines of"),
        (_a_ply_from_nowhere, "come from somewhere"),
        (_spliced_within_parts, "lies across the splice"),
        (_spliced_with_much, "mm of overlap"),
        (_less_is_new, "are new, told"),
    ],
)
def test_what_is_wrong_in_an_order_is_seen(
    planned: Path, tmp_path: Path, change: Change, said: str
):
    plan = json.loads((planned / "laid" / "plan.json").read_text())
    change(plan["plan"]["entries"])
    (tmp_path / "plan.json").write_text(json.dumps(plan))
    faults = list(order_wrong(tmp_path, read(planned / "job.toml")))
    assert any(said in fault for fault in faults), faults


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("plies = 4", "plies = 1", "plies of canvas are spread, 1 may be"),
        ("plies = 4", 'plies = 4, length = "50 cm"', "long, the table 50 cm"),
        ("plies = 4", 'plies = 4, bed = ["50 cm", "1 m"]', "long, the bed 50 cm"),
        ("plies = 4", 'plies = 4, bed = ["3 m", "50 cm"]', "wider than the bed"),
        ("bags = 3", "bags = 1", "bags, 1 may be"),
        ("plies = 4", 'plies = 4, height = "1 mm"', "plies of canvas are spread, 1 may be"),
        ("plies = 4", 'plies = 4, spreading = "face to face"', "is not its own mirror image"),
        ("1.2 m", "0.5 m", "are taken from a length of 500"),
        ("count = 5", "count = 7", "come off the table"),
        ("count = 5", "count = 3", "come off the table"),
    ],
)
def test_another_order_is_not_met_by_this_plan(
    planned: Path, tmp_path: Path, old: str, new: str, said: str
):
    assert old in ORDER
    text = ORDER.replace(old, new).replace('width = "60 cm"', 'width = "60 cm"\nthickness = 0.6')
    (tmp_path / "job.toml").write_text(text)
    faults = list(order_wrong(planned / "laid", read(tmp_path / "job.toml")))
    assert any(said in fault for fault in faults), faults
