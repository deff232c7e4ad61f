"""The work that is open: what is held stays, what is saved is on disk, nothing is overwritten."""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from thriftlay.page.disk.keeping import StaleError
from thriftlay.page.work import Work, shares

from nesting.errors import JobError
from nesting.marker.figures import figures
from nesting.planning.by_hand import Change
from nesting.planning.plan import Plan
from nesting.planning.plan_file import load_plan

SAMPLES = Path(__file__).resolve().parents[4] / "sample_markers"


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    shutil.copy(SAMPLES / "tool_roll" / "laid" / "plan.json", tmp_path)
    return tmp_path / "plan.json"


@pytest.fixture
def work(plan: Path) -> Iterator[Work]:
    work = Work(plan, tell=lambda *_, **__: None, seconds=1.0, workers=1)
    yield work
    work.close()


def settle(work: Work) -> None:
    """Wait for the search and the disk."""
    until = time.monotonic() + 120.0
    while (work.searching or work.pending) and time.monotonic() < until:
        time.sleep(0.02)
    assert not work.searching
    assert not work.pending


def test_what_is_changed_by_hand_is_saved_with_its_findings(work: Work, plan: Path) -> None:
    hand = work.hand(0, work.versions[0])
    hand.change(0, Change(along=-20.0))
    version = work.touched(0)
    settle(work)
    assert work.unsaved == ""
    stored = load_plan(plan)
    assert stored.entries[0].marker == hand.marker
    assert not stored.entries[0].good
    assert stored.entries[1:] == work.laid().entries[1:]
    with pytest.raises(StaleError):
        work.hand(0, version - 1)


def test_the_rest_is_laid_round_what_is_held_as_one_step(work: Work, plan: Path) -> None:
    hand = work.hand(0, work.versions[0])
    hand.change(1, Change(along=300.0))
    hand.hold(1)
    where = hand.placement(1)
    work.touched(0)
    before, steps = hand.marker, hand.steps[0]
    work.search(work.now(0).material.name, rest=0)
    settle(work)
    assert work.trouble == ""
    assert hand.placement(1) == where
    assert figures(hand.marker).length <= figures(before).length
    assert hand.steps[0] in (steps, steps + 1)
    stored = load_plan(plan)
    assert stored.entries[0].marker == hand.marker
    assert stored.entries[0].marker.lay.parts[1].held is not None
    assert not work.outdated
    assert stored.entries[1:] == work.laid().entries[1:]


def test_a_search_leaves_alone_what_is_in_hand_and_offers_what_it_found(work: Work) -> None:
    hand = work.hand(0, work.versions[0])
    last = max(hand.marker.placements, key=lambda p: p.x).part
    hand.change(last, Change(along=400.0))
    work.touched(0)
    mine = hand.marker
    work.search()
    settle(work)
    assert work.trouble == ""
    assert work.now(0).marker == mine
    offered = work.offered(0)
    assert offered is not None
    assert figures(offered.marker).length < figures(mine).length


def test_what_another_program_wrote_is_kept_until_one_is_chosen(work: Work, plan: Path) -> None:
    stored = json.loads(plan.read_text())
    stored["plan"]["seconds"] = 77.0
    plan.write_text(json.dumps(stored))
    theirs = plan.read_bytes()
    hand = work.hand(0, work.versions[0])
    hand.change(0, Change(across=1.0))
    work.touched(0)
    settle(work)
    assert "another program" in work.unsaved
    assert plan.read_bytes() == theirs
    with pytest.raises(OSError, match="another program"):
        work.write(("report",), insist=True)
    assert plan.read_bytes() == theirs
    work.keep_theirs()
    assert work.laid().seconds == 77.0
    hand = work.hand(0, work.versions[0])
    hand.change(0, Change(across=1.0))
    work.touched(0)
    settle(work)
    assert work.unsaved == ""
    assert load_plan(plan).entries[0].marker == hand.marker


def test_a_folder_that_cannot_be_written_is_said_and_nothing_is_lost(
    work: Work, plan: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("nesting.write_plan", full)
    hand = work.hand(0, work.versions[0])
    hand.change(0, Change(across=1.0))
    work.touched(0)
    settle(work)
    assert "no space left" in work.unsaved
    monkeypatch.undo()
    work.touched(0)
    settle(work)
    assert work.unsaved == ""
    assert load_plan(plan).entries[0].marker == hand.marker


def test_one_search_at_a_time_and_of_what_there_is(work: Work) -> None:
    with pytest.raises(JobError, match="no material"):
        work.search("velvet")
    work.search()
    with pytest.raises(JobError, match="going on"):
        work.search()
    work.stop()
    settle(work)


def test_the_first_markers_wait_for_no_time_that_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("thriftlay.page.work.QUICK", 3600.0)
    sample = tmp_path / "tool_roll"
    shutil.copytree(SAMPLES / "tool_roll", sample, ignore=shutil.ignore_patterns("laid"))
    work = Work(sample / "tool_roll.toml", tell=lambda *_, **__: None, seconds=1.0, workers=1)
    try:
        work.search()
        settle(work)
        assert work.laid().entries
    finally:
        work.close()


def test_what_is_better_is_shown_and_on_disk_while_the_search_goes_on(
    plan: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[str] = []
    work = Work(plan, tell=lambda what, **_: told.append(what), seconds=100.0, workers=1)
    asked: list[float] = []

    def laid(only: str | None, seconds: float, start: Plan | None) -> Plan:
        assert start is not None
        assert told.count("markers") == len(asked)
        asked.append(seconds)
        return replace(start, seconds=seconds if len(asked) < 4 else 0.1)

    monkeypatch.setattr(work, "_laid", laid)
    try:
        work.search()
        settle(work)
    finally:
        work.close()
    assert asked == [2.0, 6.0, 18.0, 74.0]
    assert told.count("markers") == 4
    assert [*shares(1.0)] == [1.0]
    assert [*shares(30.0)] == [2.0, 6.0, 22.0]
    assert sum(shares(3600.0)) == 3600.0


def test_a_search_that_has_found_the_best_ends(work: Work, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[float] = []

    def laid(only: str | None, seconds: float, start: Plan | None) -> Plan:
        assert start is not None
        asked.append(seconds)
        return replace(start, seconds=0.2)

    monkeypatch.setattr(work, "_laid", laid)
    work.search(seconds=100.0)
    settle(work)
    assert asked == [2.0]


def test_a_plan_is_not_outdated_because_its_assumptions_are_said_in_other_words(work: Work) -> None:
    work.job = replace(work.job, assumptions=("said otherwise",), weighty=1)
    assert not work.outdated
    work.job = replace(work.job, name="another")
    assert work.outdated
