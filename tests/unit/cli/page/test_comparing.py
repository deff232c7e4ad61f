"""What the page compares: what the command tells of it, it tells too."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from thriftlay.main import main
from thriftlay.page.comparing import bags, chart, compare, compared, stop
from thriftlay.page.work import Work

from nesting import load_plan, read_job
from nesting.errors import JobError
from nesting.planning.make import make_plan
from nesting.planning.plan_file import save_plan

JOB = """
[job]
name = "Case"
unit = "cm"

[[sheet]]
name = "foam"
size = [30, 20]
count = 2

[[cloth]]
name = "felt"
width = 60
selvedge = 0
ends = 0

[[piece]]
name = "side"
rectangle = [14, 19]

[[cut]]
piece = "side"
material = ["foam", "felt"]
"""


@pytest.fixture
def work(tmp_path: Path) -> Iterator[Work]:
    job, laid = tmp_path / "case.toml", tmp_path / "case-laid"
    job.write_text(JOB)
    laid.mkdir()
    save_plan(make_plan(read_job(job), seconds=1.0), laid / "plan.json")
    work = Work(job, tell=lambda *_, **__: None, seconds=1.0, workers=1)
    yield work
    work.close()


def ended(work: Work) -> dict[str, Any]:
    until = time.monotonic() + 120.0
    while work.comparison.running and time.monotonic() < until:
        time.sleep(0.02)
    return compared(work, {})


def test_whole_bags_are_counted_as_the_command_counts_them(
    work: Work, capsys: pytest.CaptureFixture[str]
) -> None:
    assert compared(work, {})["limited"] is True
    before = load_plan(work.keeper.file)
    bags(work, {})
    told = ended(work)
    # Two boards of 30 × 20 cm take two sides of 14 × 19 cm each, by hand.
    assert told["bags"] == "at hand is enough for 4 whole bags; the area would do for 4 at most"
    assert not told["rows"]
    job = str(work.home / "case.toml")
    capsys.readouterr()
    assert main(["compare", job, "--bags", "--time", "1s", "--workers", "1"]) == 0
    assert told["bags"] in capsys.readouterr().out
    assert load_plan(work.keeper.file) == before


def test_a_chart_and_lengths_for_instructions_are_those_of_the_command(
    work: Work, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(JobError, match="no widths were compared"):
        chart(work, {})
    compare(work, {"only": "felt", "widths": "60 cm, 40 cm"})
    told = ended(work)
    job, picture = str(work.home / "case.toml"), work.home / "widths.png"
    asked = ["compare", job, "--only", "felt", "--widths", "60 cm, 40 cm", "--workers", "1"]
    capsys.readouterr()
    assert main([*asked, "--instructions", "--time", "1s", "--chart", str(picture)]) == 0
    assert told["instructions"] == capsys.readouterr().out.splitlines()
    assert len(told["instructions"]) == 2
    drawn = chart(work, {})
    assert drawn.media_type == "image/png"
    assert drawn.body == picture.read_bytes()


def test_one_comparison_goes_on_at_a_time_and_what_went_wrong_is_said_where_it_began(
    work: Work,
) -> None:
    compare(work, {"only": "felt", "seeds": 20})
    with pytest.raises(JobError, match="going on already"):
        bags(work, {})
    stop(work, {})
    told = ended(work)
    assert not told["counting"]
    job = work.home / "case.toml"
    job.write_text(JOB.replace("count = 2", ""))
    bags(work, {})
    told = ended(work)
    assert told["counting"]
    assert "nothing of the job is at hand in a limited number" in told["trouble"]
    assert told["rows"], "what was compared before is still told"
