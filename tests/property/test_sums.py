"""What is needed, taken from stock and bought is the same wherever it is told, and adds up.

Random jobs with and without a stock file, and the samples, go through `lay`, `order` and
`compare`; tables of the report are parsed, rows of the terminal, the CSV, the JSON and the plan.
"""

from __future__ import annotations

import csv
import json
import math
import random
import re
from collections import Counter
from contextlib import nullcontext
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from thriftlay.main import main
from thriftlay.records import plan_result
from thriftlay.told import tell

import nesting
from nesting import Plan, load_plan, shopping_list
from nesting.planning.buying.stock import after_cutting, read_stock
from nesting.planning.lay.slots import slots_of
from nesting.planning.orders.bundles import bundles
from nesting.quantity import of_length
from nesting.writing.buying_csv import write_buying_csv
from nesting.writing.pages.wording import money, stock_said
from tests.unit.planning.orders.test_order import Here

SAMPLES = Path("sample_markers")


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Search in this process: the same, and sooner."""
    for module in ("running", "commands.compare"):
        monkeypatch.setattr(f"thriftlay.{module}.executor", lambda _: nullcontext(Here()))
    monkeypatch.setattr("nesting.planning.running.server.start_server", lambda: None)


def random_job(rng: random.Random, folder: Path) -> tuple[Path, Path]:
    """Write a job of one or two bags and a stock file for it."""
    cloths = [f"cloth {n}" for n in range(rng.randint(1, 2))]
    lines = ["[job]", 'name = "trial"', 'currency = "EUR"', f"bags = {rng.choice([1, 2, 3])}"]
    lines[3:3] = rng.choice([[], ['unit = "in"']])
    inches = 'unit = "in"' in lines
    size = (lambda mm: f"{mm / 25.4:.2f}") if inches else (lambda mm: f"{mm:.1f}")
    lines += ["[table]", f"plies = {rng.choice([1, 3])}", f"bags = {rng.choice([1, 2])}"]
    for n in range(3):
        a, b = rng.uniform(80, 400), rng.uniform(60, 300)
        cut = rng.uniform(0, 0.4) * a
        corners = [(0, 0), (a, 0), (a - cut, b), (0, b)]
        points = ", ".join(f"[{size(x)}, {size(y)}]" for x, y in corners)
        lines += ["[[piece]]", f'name = "part {n}"', f"points = [{points}]"]
    for name in cloths:
        wide = [
            f"{{ booked = {size(w)}, price = {rng.uniform(4, 30):.2f} }}"
            for w in rng.sample([900, 1120, 1400], rng.randint(1, 2))
        ]
        lines += ["[[cloth]]", f'name = "{name}"', f"widths = [{', '.join(wide)}]"]
        lines += rng.choice([[], ['shrinkage = "4 %"'], ["ends = 0"]])
    lines += ["[[sheet]]", 'name = "board"', f"size = [{size(620)}, {size(480)}]", "price = 3.3"]
    hide = "M 0 0 L 900 0 L 1000 700 L 100 800 Z"
    lines += ["[[leather]]", 'name = "calf"', "price = 70", "[[leather.hide]]", 'name = "one"']
    lines += [f'outline = "{hide}"', "[[leather.hide]]", 'name = "two"', f'outline = "{hide}"']
    for n in range(3):
        goods = ", ".join(f'"{m}"' for m in rng.sample([*cloths, "board", "calf"], 2))
        lines += ["[[cut]]", f'piece = "part {n}"', f"material = [{goods}]"]
        lines += [f"copies = {rng.randint(1, 4)}"]
    lines += ["[[notion]]", 'name = "zip"', f"quantity = {rng.randint(1, 3)}", "price = 0.8"]
    (folder / "job.toml").write_text("\n".join(lines) + "\n")
    stock = ["[at_hand]  # counted"]
    for name in cloths:
        long = [f'{{ length = "{rng.uniform(15, 300):.0f} cm", width = "112 cm" }}']
        long += [f'"{rng.uniform(15, 120):.0f} cm"']
        stock.append(f'"{name}" = [{", ".join(long[: rng.randint(1, 2)])}]')
    stock += [f"board = {rng.randint(0, 3)}", f"zip = {rng.randint(0, 9)}"]
    for n, goods in enumerate([*cloths, "board", "calf"]):
        a, b = rng.uniform(150, 500), rng.uniform(120, 400)
        stock += ["[[remnant]]", f'name = "bit {n}"', f'material = "{goods}"']
        stock += [f'outline = "M 0 0 L {a:.0f} 0 L {a:.0f} {b:.0f} L 0 {b:.0f} Z"']
    (folder / "stock.toml").write_text("\n".join(stock) + "\n")
    return folder / "job.toml", folder / "stock.toml"


class Tables(HTMLParser):
    """The tables of a page by their captions, the figures of its sections by their headings."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tables: dict[str, list[list[str]]] = {}
        self.sections: list[tuple[str, dict[str, str]]] = []
        self._text, self._caption, self._term = "", "", ""
        self._rows: list[list[str]] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag == "tr":
            self._rows.append([])
        if tag == "small" and self._term:
            self.sections[-1][1][self._term] = self._text.strip()
            self._term = ""
        self._text = "" if tag not in ("span", "br", "small") else self._text

    def handle_data(self, data: str) -> None:
        self._text += data

    def handle_endtag(self, tag: str) -> None:
        text = self._text.strip()
        if tag == "caption":
            self._caption, self._rows = text, []
        elif tag in ("td", "th"):
            self._rows[-1].append(text)
        elif tag == "table":
            self.tables[self._caption] = self._rows
        elif tag == "h2":
            self.sections.append((text, {}))
        elif tag == "dt":
            self._term = text
        elif tag == "dd" and self._term:
            self.sections[-1][1][self._term] = text
            self._term = ""


def run(
    capsys: pytest.CaptureFixture[str], command: str, job: Path, folder: Path, *more: str
) -> tuple[str, dict[str, Any]]:
    """Return what the terminal shows, and what machines are told of the same."""
    words = [command, str(job), "--rounds", "1", "--seed", "3", *more]
    capsys.readouterr()
    if command == "compare":
        assert main(words) == 0, capsys.readouterr().err
        shown = capsys.readouterr().out
        assert main([*words, "--json"]) == 0
        return shown, json.loads(capsys.readouterr().out)["result"]
    words += ["--write", "report"] if command == "lay" else []
    assert main([*words, "--out", str(folder)]) == 0, capsys.readouterr().err
    shown = capsys.readouterr().out
    plan = load_plan(folder / "plan.json")
    tell(command, plan_result(plan, shopping_list(plan), folder=str(folder)))
    return shown, json.loads(capsys.readouterr().out)["result"]


def cells(row: str) -> list[str]:
    return [cell for cell in re.split(r" {3,}", row.strip()) if cell]


def check_plan(plan: Plan, shown: str, told: dict[str, Any], folder: Path) -> None:
    """Hold everything that tells of a plan against its own sums."""
    bought, amounts, currency = shopping_list(plan), plan.job.amounts, plan.job.currency
    # JSON: the same numbers, and their sum.
    assert [line["name"] for line in told["buying"]] == [line.name for line in bought.lines]
    for line, one in zip(bought.lines, told["buying"], strict=True):
        for field in ("net", "gross", "stock", "to_buy", "cost", "width"):
            had = getattr(line, field)
            assert one[field] == getattr(had, "value", had), (line.name, field)
        assert one["unit"] == line.net.unit
        assert one["remnants"] == list(line.remnants)
    assert told["cost"] == bought.cost
    if bought.cost is not None:
        paid = math.fsum(line.cost or 0.0 for line in bought.lines)
        assert bought.cost == pytest.approx(paid, abs=0.005)
        each = sum(cost.each * cost.count for cost in bought.bag_costs)
        assert each == pytest.approx(bought.cost, abs=0.01)
    # What is needed is taken or bought, rounded up once.
    for line in bought.lines:
        short = line.gross.value - line.stock.value
        assert -1e-6 <= line.stock.value <= line.gross.value + 1e-6
        material = next((m for m in plan.job.materials if m.name == line.name), None)
        step = getattr(material, "step", 0.0) if line.net.unit == "mm" else 1.0
        assert short - 1e-3 <= line.to_buy.value <= short + max(step, 1e-3), line.name
    # CSV.
    path = folder / "buying.csv"
    if not path.exists():
        write_buying_csv(bought, path, amounts=amounts)
    with path.open(newline="") as file:
        rows = list(csv.DictReader(file))
    factor = {"m": 1000.0, "yd": 914.4, "dm²": 1e4, "ft²": 92903.04}
    for row, line in zip(rows, bought.lines, strict=True):
        # a notion's unit is the user's own word, and never turned into another
        size = factor.get(row["unit"], 1.0) if line.net.unit.startswith("mm") else 1.0
        for field, amount in (
            ("net", line.net.value),
            ("gross", line.gross.value),
            ("from_stock", line.stock.value),
            ("to_buy", line.to_buy.value),
        ):
            assert float(row[field]) == pytest.approx(amount / size, abs=6e-4), (line.name, field)
        assert row["cost"] == ("" if line.cost is None else f"{line.cost:.2f}")
        assert row["remnants"] == "; ".join(line.remnants)
    # The report's table on top, and the terminal's.
    page = Tables((folder / "report.html").read_text())
    top = page.tables["What to buy"][1:]
    on_terminal = [cells(row) for row in shown.splitlines()]
    for row, line in zip(top, bought.lines, strict=False):
        want = [
            amounts.said(line.gross),
            stock_said(line, amounts),
            amounts.said(line.to_buy),
            money(line.cost, currency),
        ]
        assert row[1:] == want
        assert [row[0], *filter(None, want)] in on_terminal or line.cost is None, row
    if bought.cost is not None:
        assert top[len(bought.lines)][-1] == money(bought.cost, currency)
        assert f"in all {bought.cost:.2f} {currency}".strip() in shown
    # Sections: one marker says what the line says; several add up to it.
    sections = [one for one in page.sections if "Parts" in one[1]]
    assert len(sections) == len(plan.entries)
    for (heading, figures), entry in zip(sections, plan.entries, strict=True):
        assert heading.startswith(entry.material.name)
        assert ("From stock" in figures) == (entry.buying.from_stock.value > 0.0)
    for line in bought.lines:
        of = [
            (e, figures)
            for e, (_, figures) in zip(plan.entries, sections, strict=True)
            if e.material.name == line.name and (line.net.unit != "mm" or e.width is not None)
        ]
        if line.net.unit in ("mm", "sheets"):
            assert sum(e.buying.from_stock.value for e, _ in of) == pytest.approx(line.stock.value)
        if len(of) == 1 and line.net.unit != "mm²":
            assert of[0][1]["To buy"] == amounts.said(line.to_buy)
            assert of[0][1]["Cost"] == money(line.cost, currency)
        elif of and line.net.unit == "mm":
            new = math.fsum(e.buying.to_buy.value for e, _ in of)
            assert new == pytest.approx(line.gross.value / (1.0 + plan.spare) - line.stock.value)
    # Every part is cut as often as it is asked for.
    cut: Counter[tuple[str, str]] = Counter()
    for entry in plan.entries:
        for plies in entry.spreads:
            for bundle in bundles(entry, plan.job, plies=plies):
                cut[entry.material.name, bundle.piece] += bundle.cut
    wanted = Counter(
        (material.name, slot.cut.piece)
        for material in plan.job.materials
        for slot in slots_of(plan.job, material)
    )
    assert cut == wanted


@pytest.mark.parametrize("command", ["lay", "order"])
@pytest.mark.parametrize("stocked", [True, False])
@pytest.mark.parametrize("seed", range(2))
def test_a_random_job_adds_up(
    command: str, stocked: bool, seed: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, stock = random_job(random.Random(seed), tmp_path)
    more = ["--stock", str(stock)] if stocked else []
    shown, told = run(capsys, command, job, tmp_path / "out", *more)
    plan = load_plan(tmp_path / "out" / "plan.json")
    check_plan(plan, shown, told, tmp_path / "out")
    if not stocked:
        return
    # Taken off the stock it is exactly what the plan says, and a second time nothing.
    before = read_stock(stock)
    taken = after_cutting(before, plan)
    lines = {line.name: line for line in shopping_list(plan).lines}
    for name, have in before.table.at_hand.items():
        if have.number is not None and name in lines:
            now = taken.stock.table.at_hand[name].number
            assert now == have.number - lines[name].stock.value
    gone = {one.name for one in before.table.remnant} - {
        one.name for one in taken.stock.table.remnant
    }
    assert gone == {one for line in lines.values() for one in line.remnants}
    assert taken.stock.text.startswith("[at_hand]  # counted\n")
    with pytest.raises(nesting.JobError, match="before"):
        after_cutting(taken.stock, plan)


@pytest.mark.parametrize("seed", range(2))
def test_widths_compared_add_up(
    seed: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, stock = random_job(random.Random(seed), tmp_path)
    shown, told = run(capsys, "compare", job, tmp_path, "--stock", str(stock))
    rows = [cells(row) for row in shown.splitlines()]
    read = nesting.read_job(job, stock=stock)
    amounts = read.amounts
    for trial in told["trials"]:
        tried = trial["tried"]
        own = [trial["material"], amounts.setting(trial["width"])]
        (row,) = (row for row in rows if row[:2] == own)
        if trial["why_not"]:
            assert row[2:] == [f"can't be used: {trial['why_not']}"]
            assert not trial["taken"]
            continue
        said = [amounts.needed(tried["needed"]), amounts.said(of_length(tried["to_buy"]))]
        said.append(f"{tried['cost']:.2f} {read.currency}")
        assert set(said) <= set(row)
        assert trial["area"] == pytest.approx(tried["to_buy"] * trial["width"])
    best = [trial["tried"]["cost"] for trial in told["trials"] if trial["cheapest"]]
    names = {trial["material"] for trial in told["trials"]}
    by_cloth = {
        name: min(
            t["tried"]["cost"] for t in told["trials"] if t["material"] == name and not t["why_not"]
        )
        for name in names
    }
    assert told["cost"] == pytest.approx(math.fsum(by_cloth.values()))
    assert set(best) == set(by_cloth.values())


@pytest.mark.parametrize(
    ("job", "command"),
    [
        (SAMPLES / "rucksack" / "rucksack.toml", "lay"),
        (SAMPLES / "pouch" / "pouch.toml", "lay"),
        (SAMPLES / "foam" / "foam.toml", "lay"),
        (SAMPLES / "order" / "order.toml", "order"),
    ],
    ids=lambda value: Path(value).stem,
)
def test_a_sample_adds_up(
    job: Path, command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shown, told = run(capsys, command, job, tmp_path / "out")
    check_plan(load_plan(tmp_path / "out" / "plan.json"), shown, told, tmp_path / "out")
