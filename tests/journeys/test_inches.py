"""A bag in inches goes through lay, compare and order without a metric unit in what is read."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from pypdf import PdfReader
from thriftlay.main import main

import nesting

JOB = """
[job]
name = "pouch"
unit = "in"
currency = "USD"

[[cloth]]
name = "canvas"
widths = [{ booked = 54, price = 12.0 }, { booked = 44, price = 9.0 }]
price_per = "yd"
nap = "none"

[[piece]]
name = "panel"
rectangle = [10, 8]
seam_allowance = "3/8"

[[piece]]
name = "handle"
strap = [20, 1]

[[cut]]
piece = "panel"
material = "canvas"
copies = 2

[[cut]]
piece = "handle"
material = "canvas"
copies = 2
"""

METRIC = re.compile(r"\d ?(mm|cm|m|dm|m²|cm²|dm²|mm²)(?!\w)")
"""A number with a metric unit."""

IMPERIAL = re.compile(r"\d ?(in(?! [a-z\d])|ft|yd|in²|ft²)(?![\w.])")
"""A number with a unit of inches, feet or yards."""

EVERYTHING = """
[job]
name = "kit"
{unit}
currency = "USD"
[table]
bed = [{bed}, {wide}]
[[cloth]]
name = "canvas"
width = {wide}
substance = "cotton"
[[sheet]]
name = "board"
size = [{wide}, {wide}]
spacing = {little}
price = 2
[[leather]]
name = "calf"
[[leather.hide]]
name = "one"
rectangle = [{wide}, {wide}]
[[piece]]
name = "panel"
points = [[0, 0], [{long}, 0], [{long}, {short}], [{little}, {long}]]
seam_allowance = {little}
[[cut]]
piece = "panel"
material = ["canvas", "board", "calf"]
copies = 3
mates = true
"""
"""Every kind of goods, a bed they are larger than, in the unit that is asked for."""

SIZES = {
    "in": {"bed": 30, "wide": 44, "long": 12, "short": 9, "little": 0.375, "unit": 'unit = "in"'},
    "mm": {"bed": 760, "wide": 1120, "long": 300, "short": 230, "little": 10, "unit": ""},
}
OTHER = {"in": METRIC, "mm": IMPERIAL}


def seen(page: str) -> str:
    """Return what a reader of an HTML or SVG file sees: no tags, no style."""
    page = re.sub(r"<style>.*?</style>", " ", page, flags=re.S)
    return re.sub(r"<[^>]+>", " ", page)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "pouch.toml"
    path.write_text(JOB)
    return path


SEARCH = ["--rounds", "2", "--workers", "1"]


@pytest.mark.parametrize("command", ["lay", "order"])
def test_files_and_tables_of_an_inch_job(
    command: str, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main([command, str(job), "--out", str(out), *SEARCH]) == 0
    told = capsys.readouterr()
    assert " yd" in told.out
    texts = {"terminal": told.out, "progress": told.err}
    for path in [*out.glob("*.html"), *out.glob("*.svg")]:
        texts[path.name] = seen(path.read_text())
    for path in out.glob("*.csv"):
        texts[path.name] = path.read_text().replace("_cm", "9 cm")
    assert {"report.html", "canvas.svg"} <= set(texts)
    metric = {name: METRIC.search(text) for name, text in texts.items()}
    assert not any(metric.values()), metric


def test_widths_of_an_inch_job_are_compared_in_inches(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", str(job), *SEARCH]) == 0
    told = capsys.readouterr()
    assert "54 in" in told.out
    assert "ft²" in told.out
    assert not METRIC.search(told.out + told.err)


def allowed(text: str) -> str:
    """Return a text without what both kinds of readers are told: squares to check a print by."""
    text = re.sub(r"100 mm and 4 in \(101\.6 mm\), to half a mm", "", text)
    text = re.sub(r"(?m)^(100 mm|4 in)$", "", text)
    text = text.replace("100 mm or 4 in", "")
    return re.sub(r"dm² \(\d+\.\d\d ft²\)", "dm²", text)  # by which many tanners sell


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_everything_that_is_told_of_a_job_is_in_its_own_units(
    unit: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, stock, out = tmp_path / "kit.toml", tmp_path / "stock.toml", tmp_path / "out"
    job.write_text(EVERYTHING.format(**SIZES[unit]))
    stock.write_text('[at_hand]\ncanvas = "1 yd"\nboard = 1\n')
    texts: dict[str, str] = {}

    def said(name: str, *words: str, status: int = 0) -> None:
        assert main([str(word) for word in words]) == status, capsys.readouterr().err
        told = capsys.readouterr()
        texts[name] = f"{told.out}\n{told.err}"

    for command in ("lay", "order"):
        said(command, command, job, "--out", out / command, "--stock", stock, *SEARCH)
    said("compare", "compare", job, *SEARCH, "--folds")
    plan = out / "lay" / "plan.json"
    said("check", "check", plan)
    shop = tmp_path / "shop.toml"
    shop.write_text(SHOP)
    said("cut", "cut", plan, "--machine", shop, "--out", out / "cut", "--only", "board")
    said("done", "done", plan, "--stock", stock)
    for what in ("markers", "templates", "labels"):
        file = out / f"{what}.pdf"
        said(what, "print", plan, "--out", file, "--what", what)
        pages = PdfReader(file).pages
        texts[file.name] = "\n".join(page.extract_text() for page in pages)
    # A judge that finds faults.
    stored = json.loads(plan.read_text())
    for entry in stored["plan"]["entries"]:
        for placement in entry["marker"]["placements"]:
            placement["x"] -= 40.0
            placement["y"] = 20.0
    plan.write_text(json.dumps(stored))
    said("faults", "check", plan, status=1)
    assert "overlap by" in texts["faults"]
    assert "beyond" in texts["faults"]
    for path in sorted(out.rglob("*")):
        if path.suffix in (".html", ".svg"):
            texts[str(path.relative_to(out))] = seen(path.read_text())
        elif path.suffix in (".csv", ".txt"):
            texts[str(path.relative_to(out))] = path.read_text().replace(",cm,", ",9 cm,")
    assert {"order/work-sheet.html", "lay/report.html", "order/buying.csv"} <= set(texts)
    assert any(name.startswith("cut/") and name.endswith(".txt") for name in texts)
    wrong = {n: OTHER[unit].findall(allowed(text)) for n, text in texts.items()}
    shown = {
        name: [line for line in allowed(texts[name]).splitlines() if OTHER[unit].search(line)][:3]
        for name, found in wrong.items()
        if found
    }
    assert shown == {}


SHOP = """
name = "drag knife"
kind = "drag knife"
blade_offset = 0.3
over_cut = 0.2
reads = ["hpgl"]
long_coordinates = true
[bed]
length = 1200
width = 1200
advances = true
[speed]
cutting = 200
travel = 400
[tools.cut]
tool = "knife"
pen = 1
"""


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ('seam_allowance = "3/8"', 'seam_allowance = "20 in"'),
        ("rectangle = [10, 8]", "rectangle = [10, 8]\ncorner_radius = 7"),
        ("rectangle = [10, 8]", "rectangle = [80, 60]"),
        ("rectangle = [10, 8]", "points = [[0, 0], [9, 0], [9, 9]]\nmarks = 3"),
        ('nap = "none"', 'nap = "none"\n[table]\nbed = [1, 1]'),
        ('nap = "none"', 'nap = "none"\nprint = { along = 0.001 }'),
    ],
)
def test_refusals_of_an_inch_job_are_in_inches(
    was: str, now: str, job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job.write_text(JOB.replace(was, now))
    assert main(["compare", str(job), *SEARCH]) in (1, 2)
    told = capsys.readouterr()
    assert not METRIC.search(told.out + told.err), told.err


def test_a_job_that_is_written_in_inches_is_told_in_inches(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    quoted = re.sub(r"(?<=[ \[])(\d+)(?=[,\]])(?!\.)", r'"\1 in"', JOB).replace('"3/8"', '"3/8 in"')
    job.write_text(quoted.replace('unit = "in"\n', ""))
    read = nesting.read_job(job)
    assert read.amounts.inches
    (said,) = [one for one in read.assumptions if "inches" in one]
    assert 'unit = "in"' in said
    # One cloth from abroad makes no job in inches, nor does what is written in cm.
    job.write_text(quoted.replace('unit = "in"\n', "").replace(' in"', ' cm"') + "\n")
    assert not nesting.read_job(job).amounts.inches
