"""What a plan leaves in a stock file, and that another rest is seen; stock made at random."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from pathlib import Path
from random import Random

import pytest

from benchmarks.campaigns.made.job import made_job
from benchmarks.campaigns.made.shelf import made_stock
from benchmarks.campaigns.made.shop import made_machine
from benchmarks.campaigns.more_files import asked_more, command
from benchmarks.campaigns.trade.asked.shelf import Shelf
from benchmarks.campaigns.trade.shown.left import left_wrong
from nesting.writing.machines.machine import read_machine


@pytest.fixture(scope="module")
def left(made):
    made.command("done", made.laid / "plan.json", "--stock", made.after)
    return made


def judged(made, text: str, tmp_path: Path) -> list[str]:
    file = tmp_path / "after.toml"
    file.write_text(text, encoding="utf-8")
    before, after = Shelf.read(made.stock), Shelf.read(file)
    return list(left_wrong(before, after, made.entries, made.job, made.lines))


def test_a_plan_is_taken_off_once(left, tmp_path):
    text = left.after.read_text(encoding="utf-8")
    assert judged(left, text, tmp_path) == []
    assert '"felt rest"' not in text
    status, said = command(["done", left.laid / "plan.json", "--stock", left.after])
    assert (status, "before" in said) == (2, True)
    assert left.after.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        (r"length = [\d.]+", "length = 90", "are lost"),
        (r"length = [\d.]+", "length = 90", "comes from nowhere"),
        (r'"41 cm"', '"40 cm"', "are lost"),
        (r"felt = 0", "felt = 1", "felt 1 were used"),
        (r"zip = 0", "zip = 1", "zip 1 were used"),
        (r"thread = 7", "thread = 6", "thread in the stock file"),
        (r'\ncut = \["', '\ncut = ["x", "', "the book says"),
        (r'name = "felt bit"', 'name = "felt lot"', "felt bit of felt was not used"),
        (r'name = "felt bit"', 'name = "felt rest"', "felt rest of felt was used"),
        (r'outline = "M 0', 'outline = "M -9', "is not left"),
    ],
)
def test_another_rest_is_seen(left, tmp_path, was, now, said, seen):
    text = left.after.read_text(encoding="utf-8")
    spoilt = re.sub(was, now, text, count=1)
    assert spoilt != text, text
    assert seen(said, judged(left, spoilt, tmp_path))


def test_made_stock_and_machines_are_read(tmp_path):
    kinds: Counter[str] = Counter()
    for number in range(40):
        files = made_job(Random(f"5/{number}"))
        stock = tmp_path / "stock.toml"
        stock.write_text(made_stock(Random(number), tomllib.loads(files["job.toml"])))
        kinds.update(key for key, value in Shelf.read(stock).table.items() if value)
        machine = tmp_path / "machine.toml"
        machine.write_text(made_machine(Random(number)))
        kinds[read_machine(machine).kind] += 1
    assert {"remnant", "hide", "at_hand", "laser", "plotter", "oscillating knife"} <= set(kinds)


def test_a_job_is_asked_for_the_same_again(made):
    files = {"job.toml": made.text}
    assert asked_more("5/1", files) == asked_more("5/1", files)
    asked = [asked_more(f"5/{k}", files) for k in range(60)]
    assert {one.print for one in asked} == {"", "markers", "templates"}
    assert {bool(one.machine) for one in asked} == {bool(one.stock) for one in asked}
