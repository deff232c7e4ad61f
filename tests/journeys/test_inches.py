"""A bag in inches goes through lay, compare and order without a metric unit in what is read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from thriftlay.main import main

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

METRIC = re.compile(r"\d ?(mm|cm|m|dm|m²|cm²|dm²|mm²)\b")
"""A number with a metric unit."""


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
