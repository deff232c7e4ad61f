"""On the page all of an advice is told, as the command prints it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from thriftlay.main import main
from thriftlay.page.advising import advice, begin
from thriftlay.page.work import Work

from nesting import read_job
from nesting.advice.advise import advise
from nesting.errors import JobError
from tests.journeys.test_advise import JOB


@pytest.fixture
def work(tmp_path: Path) -> Work:
    job = tmp_path / "sling.toml"
    job.write_text(JOB)
    return Work(job, tell=lambda *_, **__: None, seconds=1.0, workers=1)


def test_all_that_the_command_prints_is_told(
    work: Work, capsys: pytest.CaptureFixture[str]
) -> None:
    assert work.file is not None
    how = ["--rounds", "1", "--workers", "1"]
    assert main(["advise", str(work.file), *how]) == 0
    printed = re.sub(r"\s+", " ", capsys.readouterr().out)
    work.advising.found = advise(read_job(work.file), seconds=None, rounds=1, workers=1)
    told = advice(work, {})
    sure = [*told["best"], *told["open"]]
    rest = [*told["vain"], *told["left_out"], *told["untried"]]
    assert sure
    assert rest
    for what, saves, money, write, beware in sure:
        for word in (what, f"saves {saves}", money, f"write {write}", beware):
            assert word in printed
    for line in (*rest, *told["held"], told["certain"]):
        for sentence in line.split("; "):
            assert sentence in printed
    assert printed.count(" saves about ") == len(sure)


def test_widths_that_cannot_be_read_are_refused(work: Work) -> None:
    with pytest.raises(JobError, match="wide"):
        begin(work, {"widths": "wide"})
    assert not work.advising.running
