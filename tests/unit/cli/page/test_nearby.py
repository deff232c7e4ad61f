"""What lies in a folder is named though another thread makes and removes files there."""

from __future__ import annotations

import threading
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from thriftlay.page.begin import beginnings
from thriftlay.page.cutting.machines import machines
from thriftlay.page.disk.nearby import lying
from thriftlay.page.making import kept_file

SHOPS = Path(__file__).resolve().parents[4] / "sample_markers" / "shops"


@pytest.fixture
def restless(tmp_path: Path) -> Any:
    """Give a folder in which folders come and go, as they do where files are written."""
    ended = threading.Event()

    def write() -> None:
        while not ended.is_set():
            for name in (".thriftlay-1.whole", "seen"):
                folder = tmp_path / name
                folder.mkdir()
                (folder / "one.toml").write_text("[job]")
                (folder / "one.toml").rename(tmp_path / "one.toml")
                (tmp_path / "one.toml").unlink()
                folder.rmdir()

    thread = threading.Thread(target=write)
    thread.start()
    yield tmp_path
    ended.set()
    thread.join()


def test_machines_and_jobs_are_named_while_files_are_written(restless: Path) -> None:
    shop = SHOPS / "pen_plotter.toml"
    mine = restless / "shop" / "mine.toml"
    mine.parent.mkdir()
    mine.write_text(shop.read_text())
    (restless / "shop" / "bag.toml").write_text('[job]\nname = "bag"\n')
    for _ in range(30):
        told = machines(SimpleNamespace(home=restless), {})  # type: ignore[arg-type]
        assert told["machines"][0]["key"] == "here/shop/mine.toml"
        here = [one["file"] for one in beginnings(restless)["here"]]
        assert "shop/bag.toml" in here
        assert set(here) <= {"shop/bag.toml", "one.toml", "seen/one.toml"}
        kept_file(restless, "bag.svg", b"<svg/>")
    assert [path.name for path in lying(restless, ".svg")] == ["bag.svg"]


def test_what_is_hidden_or_a_link_is_not_offered(tmp_path: Path) -> None:
    for name in ("b.toml", "a/c.toml", "a/d/e.toml", ".f/g.toml", ".h.toml", "i.svg"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("")
    (tmp_path / "j.toml").symlink_to(tmp_path / "b.toml")
    (tmp_path / "k").symlink_to(tmp_path / "a")
    found = [path.relative_to(tmp_path).as_posix() for path in lying(tmp_path, ".toml", deep=2)]
    assert found == ["b.toml", "a/c.toml"]
    assert [path.name for path in lying(tmp_path / "not here")] == []
