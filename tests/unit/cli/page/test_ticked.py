"""Parts ticked off beside another program that does the same: nothing is overwritten silently."""

from __future__ import annotations

import json
import shutil
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from thriftlay.page.app import ANSWERS, Page
from thriftlay.page.cutting.ticked import TICKED_FILE, tick, ticked
from thriftlay.page.disk.keeping import StaleError
from thriftlay.page.disk.watching import Watch
from thriftlay.page.work import Work

from nesting.leftover import locked

SAMPLES = Path(__file__).resolve().parents[4] / "sample_markers"


@pytest.fixture
def two(tmp_path: Path) -> Iterator[tuple[Work, Work]]:
    """Give one plan, open twice."""
    shutil.copy(SAMPLES / "tool_roll" / "laid" / "plan.json", tmp_path)
    works = [Work(tmp_path / "plan.json", tell=lambda *_, **__: None) for _ in range(2)]
    yield works[0], works[1]
    for work in works:
        work.close()


def test_ticks_of_two_programs_are_all_kept(two: tuple[Work, Work]) -> None:
    one, other = two
    tick(one, {"marker": 0, "part": 0, "cut": True, "was": False})
    tick(other, {"marker": 0, "part": 1, "cut": True, "was": False})
    tick(one, {"marker": 1, "part": 0, "cut": True, "was": False})
    cut = ticked(other, {})["cut"]
    assert set(cut[0]) == {0, 1}
    assert cut[1] == [0]


def test_a_tick_that_says_what_is_not_so_any_more_is_refused(two: tuple[Work, Work]) -> None:
    one, other = two
    tick(one, {"marker": 0, "part": 0, "cut": True, "was": False})
    file = one.keeper.folder / TICKED_FILE
    before = file.read_bytes()
    with pytest.raises(StaleError, match="ticked elsewhere"):
        tick(other, {"marker": 0, "part": 0, "cut": True, "was": False})
    assert file.read_bytes() == before
    tick(other, {"marker": 0, "part": 0, "cut": False, "was": True})
    assert not any(json.loads(file.read_text()).values())


def test_who_writes_there_just_now_is_waited_for(two: tuple[Work, Work]) -> None:
    one, _ = two
    held = threading.Event()

    def hold() -> None:
        with locked(one.keeper.folder):
            held.set()
            time.sleep(0.3)

    other = threading.Thread(target=hold)
    other.start()
    held.wait(10.0)
    tick(one, {"marker": 0, "part": 0, "cut": True, "was": False})
    other.join()
    assert ticked(one, {})["cut"][0] == [0]


def test_a_change_of_a_file_is_told(tmp_path: Path) -> None:
    file, told = tmp_path / "cut.json", threading.Event()
    watch = Watch(lambda: [file], told.set)
    time.sleep(0.1)
    assert not told.is_set()
    file.write_text("{}")
    assert told.wait(30.0)
    watch.end()


def test_a_page_that_shows_an_older_job_changes_nothing(tmp_path: Path) -> None:
    for file in (SAMPLES / "foam").glob("*.toml"):
        shutil.copy(file, tmp_path)
    page = Page(tmp_path)
    page.making = None
    page.drop("bag.toml", b'[job]\nname = "bag"\n[[sheet]]\nname = "foam"\nsize = [500, 400]\n')
    _, making = ANSWERS["/making"]
    _, edit = ANSWERS["/making/edit"]
    seen = making(page, {})["seen"]
    board = {"what": "goods", "kind": "sheet", "name": "board", "size": "300 x 200"}
    again = edit(page, {**board, "seen": seen})["seen"]
    out = {"what": "ungoods", "kind": "sheet", "index": 0}
    with pytest.raises(StaleError, match="elsewhere"):
        edit(page, {**out, "seen": seen})
    assert [g["name"] for g in making(page, {})["goods"]] == ["foam", "board"]
    path = page.made().path
    path.write_text(path.read_text().replace('"foam"', '"cork"'))
    assert [g["name"] for g in making(page, {})["goods"]] == ["cork", "board"], "it is read again"
    with pytest.raises(StaleError, match="elsewhere"):
        edit(page, {**out, "seen": again})
    assert [g["name"] for g in making(page, {})["goods"]] == ["cork", "board"]
