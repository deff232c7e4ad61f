"""What is taken from stock and the lists of what is bought, and that what is wrong is seen."""

from __future__ import annotations

import re

import pytest

from benchmarks.campaigns.more_files import told_of_plan
from benchmarks.campaigns.trade.asked.cutting_list import read
from benchmarks.campaigns.trade.rules.judge import broken
from benchmarks.campaigns.trade.shown.shopping import csv_wrong, report_wrong, told_wrong
from nesting import shopping_list
from nesting.writing.buying_csv import write_buying_csv


def test_the_plan_takes_what_is_at_hand(made):
    assert list(broken(made.entries, made.job, ())) == []
    assert any(entry.laid_from for entry in made.entries)
    assert [line.stock for line in made.lines if line.name == "felt"] == [1.0]
    assert [line.owned for line in made.lines if line.name == "felt"] == [("felt rest",)]


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ("length = 90, width = 70", "length = 9, width = 70", "are taken from a length of"),
        ("length = 90, width = 70", "length = 90, width = 80", "is taken from a length"),
        ("felt = 1", "felt = 0", "sheets of felt are at hand"),
        ('"280 mm", "200 mm"', '"240 mm", "200 mm"', "reaches beyond felt rest"),
    ],
)
def test_a_plan_that_takes_more_than_there_is_is_seen(made, tmp_path, was, now, said, seen):
    stock = tmp_path / "stock.toml"
    text = made.stock.read_text(encoding="utf-8")
    assert was in text
    stock.write_text(text.replace(was, now), encoding="utf-8")
    assert seen(said, broken(made.entries, read(made.file, stock=stock), ()))


@pytest.fixture
def told(made):
    return told_of_plan(made.plan, shopping_list(made.plan))


def test_the_list_that_is_told_is_right(made, told):
    assert list(told_wrong(told, made.lines, made.job)) == []


@pytest.mark.parametrize("key", ["net", "gross", "stock", "to_buy", "cost", "width"])
def test_a_wrong_figure_of_the_list_is_seen(made, told, key, seen):
    told["buying"][0][key] = (told["buying"][0][key] or 0.0) + 1.0
    assert seen(f"canvas: {key} is", told_wrong(told, made.lines, made.job))


@pytest.mark.parametrize("key", ["cost", "cost_per_bag"])
def test_a_wrong_sum_of_the_list_is_seen(made, told, key, seen):
    told[key] += 0.1
    assert seen(f"{key} is", told_wrong(told, made.lines, made.job))


@pytest.mark.parametrize("change", ["lost", "remnants", "bag_costs", "unpriced", "name"])
def test_a_list_that_lacks_something_is_seen(made, told, change):
    if change == "lost":
        del told["buying"][1]
    elif change == "remnants":
        told["buying"][1]["remnants"] = []
    elif change == "bag_costs":
        told["bag_costs"][0]["parts"].append(["zip", 3.0])
    elif change == "unpriced":
        told["unpriced"] = ["felt"]
    else:
        told["buying"][1]["name"] = "foam"
    assert list(told_wrong(told, made.lines, made.job))


def test_a_wrong_buying_csv_is_seen(made, tmp_path):
    file = tmp_path / "buying.csv"
    write_buying_csv(shopping_list(made.plan), file, amounts=made.plan.job.amounts)
    assert list(csv_wrong(file, made.lines, made.job)) == []
    head, *rows = file.read_text(encoding="utf-8").splitlines()
    fields = rows[1].split(",")
    for column, name in enumerate(head.split(",")):
        if name in ("width", "width_unit"):
            continue
        number = re.fullmatch(r"[\d.]+", fields[column])
        other = f"{float(fields[column]) + 0.5}" if number else fields[column] + "x"
        spoilt = [*fields[:column], other, *fields[column + 1 :]]
        text = "\n".join([head, rows[0], ",".join(spoilt), *rows[2:], ""])
        file.write_text(text, encoding="utf-8")
        assert list(csv_wrong(file, made.lines, made.job)), name


def test_a_wrong_report_is_seen(made, tmp_path):
    text = (made.laid / "report.html").read_text(encoding="utf-8")
    file = tmp_path / "report.html"
    file.write_text(text, encoding="utf-8")
    assert list(report_wrong(file, made.lines, made.job)) == []
    table = re.search(r"<section[^>]*\bid=.buy.[^>]*>.*?</section>", text, re.DOTALL)
    assert table is not None
    cells = [cell for cell in re.findall(r">([\d.]+[^<]*)</td>", table[0]) if cell]
    assert len(cells) > 8
    for cell in dict.fromkeys(cells):
        other = re.sub(r"^[\d.]+", lambda n: f"{float(n[0]) + 7:g}", cell)
        spoilt = table[0].replace(f">{cell}<", f">{other}<", 1)
        file.write_text(text.replace(table[0], spoilt), encoding="utf-8")
        assert list(report_wrong(file, made.lines, made.job)), cell
