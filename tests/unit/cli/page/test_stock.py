"""A plan that is cut, taken off the stock on the page: what the command does, once."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from thriftlay.main import main
from thriftlay.page.job_file import JobFile
from thriftlay.page.stock import taken_off

from nesting import load_plan, read_job
from nesting.errors import JobError
from nesting.planning.make import make_plan
from nesting.planning.plan_file import save_plan

JOB = """# mine
include = "stock.toml"
[job]
name = "Case"
unit = "cm"
[[sheet]]
name = "foam"
size = [60, 40]
[[piece]]
name = "side"
points = [[0, 0], [30, 0], [0, 25]]
[[cut]]
piece = "side"
material = "foam"
copies = 3
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "stock.toml").write_text('unit = "cm"\n[at_hand]\nfoam = 4  # on the shelf\n')
    (tmp_path / "case.toml").write_text(JOB)
    plan = make_plan(read_job(tmp_path / "case.toml"), seconds=1.0)
    save_plan(plan, tmp_path / "plan.json")
    return tmp_path / "case.toml"


def test_the_stock_is_brought_up_to_date_as_the_command_does_and_once(job: Path) -> None:
    stock, plan = job.with_name("stock.toml"), load_plan(job.with_name("plan.json"))
    other = job.with_name("as_the_command.toml")
    shutil.copy(stock, other)
    told = taken_off(JobFile(job), plan)
    assert main(["done", str(job.with_name("plan.json")), "--stock", str(other)]) == 0
    assert stock.read_text() == other.read_text()
    assert told["stock"] == "stock.toml"
    assert "foam = 3  # on the shelf" in stock.read_text()
    # What is left is kept as it lies: no rectangle.
    rests = read_job(job).materials[0].remnants
    assert rests
    assert any(len(rest.outline.segments) != 4 for rest in rests)
    before = stock.read_text()
    with pytest.raises(JobError, match="taken off the stock before"):
        taken_off(JobFile(job), plan)
    assert stock.read_text() == before


def test_a_stock_file_is_begun_for_what_is_left(job: Path) -> None:
    job.write_text(JOB.replace('include = "stock.toml"\n', ""))
    plan = make_plan(read_job(job), seconds=1.0)
    told = taken_off(JobFile(job), plan)
    assert told["stock"] == "case-stock.toml"
    assert told["changes"]
    assert "# mine" in job.read_text()
    assert read_job(job).materials[0].remnants
    with pytest.raises(JobError, match="taken off the stock before"):
        taken_off(JobFile(job), plan)


def test_of_several_stock_files_each_takes_its_own_as_the_command_does(job: Path) -> None:
    more, stock = job.with_name("more.toml"), job.with_name("stock.toml")
    more.write_text("[at_hand]\nfelt = 1  # of the neighbour\n")
    job.write_text(JOB.replace('include = "stock.toml"', 'include = ["more.toml", "stock.toml"]'))
    plan = load_plan(job.with_name("plan.json"))
    copies = [shutil.copy(path, path.with_suffix(".copy")) for path in (more, stock)]
    told = taken_off(JobFile(job), plan)
    assert told["stock"] == "stock.toml"
    assert "foam = 3  # on the shelf" in stock.read_text()
    assert "felt = 1  # of the neighbour" in more.read_text()
    assert "remnant" not in more.read_text()
    command = ["done", str(job.with_name("plan.json")), "--stock", *map(str, copies)]
    assert main(command) == 0
    assert [path.read_text() for path in map(Path, copies)] == [more.read_text(), stock.read_text()]
    with pytest.raises(JobError, match="taken off the stock before"):
        taken_off(JobFile(job), plan)
    # Ended between the two: what is missing is done, and nothing twice.
    before, done = stock.read_text(), more.read_text()
    more.write_text("[at_hand]\nfelt = 1  # of the neighbour\n")
    taken_off(JobFile(job), plan)
    assert (stock.read_text(), more.read_text()) == (before, done)


def test_goods_in_two_stock_files_are_refused_by_name_and_nothing_is_taken(job: Path) -> None:
    shutil.copy(job.with_name("stock.toml"), job.with_name("more.toml"))
    job.write_text(JOB.replace('include = "stock.toml"', 'include = ["stock.toml", "more.toml"]'))
    plan = load_plan(job.with_name("plan.json"))
    before = job.with_name("stock.toml").read_text()
    with pytest.raises(
        JobError, match=r"foam stands in several stock files: stock.toml, more.toml"
    ):
        taken_off(JobFile(job), plan)
    assert job.with_name("stock.toml").read_text() == before
