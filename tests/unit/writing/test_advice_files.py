"""The files of an advice: a page, pictures with what holds a marker, and what is kept of it."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from xml.etree.ElementTree import fromstring

import pytest

from nesting.advice.advise import Advice, advise
from nesting.advice.kept import ADVICE_FILE, kept_in
from nesting.errors import WriteError
from nesting.job.job import Bag, Cut, Job
from nesting.material.material import Cloth, Width
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.planning.make import make_plan
from nesting.planning.plan import Plan
from nesting.writing.advice.files import write_advice
from nesting.writing.write import write_plan

CANVAS = Cloth(
    name="canvas <1>",
    widths=(Width(booked=300.0, usable=290.0, price=20.0),),
    spacing=4.0,
    ends=5.0,
    step=50.0,
)
BAG = Bag(
    name="sling",
    pieces=(
        Piece(name="strap", cut=rectangle(600.0, 30.0)),
        Piece(name="panel", cut=rectangle(180.0, 140.0)),
    ),
    cuts=(
        Cut(piece="strap", material="canvas <1>"),
        Cut(piece="panel", material="canvas <1>", nap=None),
    ),
)
JOB = Job(name="Sling & co", bags=(BAG,), materials=(CANVAS,), currency="EUR")
ROUNDS = {"seconds": None, "rounds": 1, "workers": 1}


@pytest.fixture(scope="module")
def advice() -> Advice:
    return advise(JOB, **ROUNDS)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_plan(JOB, **ROUNDS)  # type: ignore[arg-type]


def test_a_page_and_pictures_are_written_with_the_chain_across_the_parts(
    advice: Advice, tmp_path: Path
) -> None:
    written = write_advice(advice, tmp_path / "new")
    names = [file.name for file in written]
    assert names == ["advice.html", "canvas-1-held.svg", "canvas-1-held.png", ADVICE_FILE]
    assert sorted(names) == sorted(file.name for file in (tmp_path / "new").iterdir())
    drawn = fromstring(written[1].read_text())
    lines = [e for e in drawn.iter() if e.get("data-name") == "chain"]
    assert lines
    # From one end of the marker to the other: 600 mm, in the file's own axes.
    numbers = [float(n) for e in lines for n in re.findall(r"[ML] ?(-?[\d.]+)", e.get("d", ""))]
    assert max(numbers) - min(numbers) == pytest.approx(600.0, abs=0.01)
    page = written[0].read_text()
    assert "canvas &lt;1&gt;: strap joined from shorter pieces" in page
    assert "its length is held by strap" in page.replace("Its", "its")
    assert '#8f0f3a" stroke-width="4"' in page
    assert written[2].read_bytes().startswith(b"\x89PNG")


def test_what_is_there_stays_unless_it_is_to_be_replaced(advice: Advice, tmp_path: Path) -> None:
    (tmp_path / "advice.html").write_text("mine")
    with pytest.raises(WriteError, match="exists already"):
        write_advice(advice, tmp_path)
    assert [file.name for file in tmp_path.iterdir()] == ["advice.html"]
    write_advice(advice, tmp_path, overwrite=True)
    assert (tmp_path / "advice.html").read_text() != "mine"


def test_the_report_of_a_plan_of_the_same_job_tells_the_three_best(
    advice: Advice, plan: Plan, tmp_path: Path
) -> None:
    report = tmp_path / "report.html"
    write_plan(plan, tmp_path, kinds=["report"])
    before = report.read_text()
    assert "What would save" not in before
    files = write_advice(advice, tmp_path)
    assert report in files
    told = report.read_text()
    assert "What would save" in told
    assert told.count("Write") == 1
    write_plan(plan, tmp_path, kinds=["report"], overwrite=True)
    assert report.read_text() == told
    other = replace(plan, job=replace(JOB, bags=(replace(BAG, count=2),)))
    write_plan(other, tmp_path, kinds=["report"], overwrite=True)
    assert "What would save" not in report.read_text()


def test_kept_advice_is_of_its_job_wherever_that_lies_and_no_other(
    advice: Advice, tmp_path: Path
) -> None:
    write_advice(advice, tmp_path)
    found = kept_in(tmp_path, replace(JOB, file="elsewhere.toml", assumptions=("something",)))
    assert found is not None
    assert len(found.best) <= 3
    assert found.best[0].what == "strap joined from shorter pieces"
    assert found.more == max(0, len(advice.proposals) - 3)
    assert kept_in(tmp_path, replace(JOB, name="Other")) is None
    assert kept_in(tmp_path / "nowhere", JOB) is None
    file = tmp_path / ADVICE_FILE
    for spoilt in ("", "[]", file.read_text().replace('"more"', '"less"'), "\0"):
        file.write_text(spoilt)
        assert kept_in(tmp_path, JOB) is None
