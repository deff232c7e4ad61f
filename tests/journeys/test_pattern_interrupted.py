"""``thriftlay pattern`` ended in the midst: by ^C while it searches, by force while it writes."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from thriftlay.main import main

from nesting.planning.handout import needed
from nesting.planning.handout.needed import Needs
from tests.journeys.test_pattern import JOB

WORDS = ("--paper", "a4", "--widths", "50 cm, 60 cm", "--workers", "1")
KILLED = """
import os, signal, sys
from thriftlay.main import main
from nesting.writing.handout import write
real = write.write_handout

def dying(*arguments, tell, **keywords):
    def told(name, number, of):
        tell(name, number, of)
        if number == int(sys.argv[1]):
            os.kill(os.getpid(), signal.SIGKILL)
    return real(*arguments, tell=told, **keywords)

write.write_handout = dying
main(sys.argv[2:])
"""


@pytest.fixture
def job(tmp_path: Path) -> str:
    (tmp_path / "job.toml").write_text(JOB)
    return str(tmp_path / "job.toml")


def killed(at: int, *words: str) -> None:
    run = subprocess.run(
        [sys.executable, "-c", KILLED, str(at), "pattern", *words], timeout=120, capture_output=True
    )
    assert run.returncode == -signal.SIGKILL, run.stderr


def whole(out: Path) -> None:
    """All files of the list are there, nothing else is, and the stored lays are good."""
    names = json.loads((out / "pattern.json").read_text())["files"]
    assert {file.name for file in out.iterdir()} == {*names}
    for file in out.glob("lay-*.json"):
        assert main(["check", str(file)]) == 0


def test_killed_while_it_writes_nothing_is_seen_of_it_and_it_begins_cleanly(
    job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    words = (job, "--out", str(out), *WORDS, "--rounds", "1")
    killed(3, *words)
    # What it had begun lies in one hidden folder, of which the next run knows that its owner died.
    assert [file.name for file in out.iterdir() if not file.name.startswith(".")] == []
    assert list(out.iterdir())
    assert main(["pattern", *words]) == 0
    whole(out)


def test_killed_while_it_replaces_the_old_files_are_untouched(
    job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    words = (job, "--out", str(out), *WORDS, "--rounds", "1")
    assert main(["pattern", *words]) == 0
    before = {file.name: file.read_bytes() for file in out.iterdir()}
    killed(5, *words, "--replace")
    seen = {f.name: f.read_bytes() for f in out.iterdir() if not f.name.startswith(".")}
    assert seen == before
    assert main(["pattern", *words, "--replace"]) == 0
    whole(out)


@pytest.mark.parametrize("laid", [False, True], ids=["at once", "when all is laid"])
def test_stopped_by_hand_it_writes_all_that_is_known(
    laid: bool,
    job: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    out, real = tmp_path / "out", needed.needs

    def stopped(*arguments: Any, **keywords: Any) -> Needs:
        if not laid:
            os.kill(os.getpid(), signal.SIGINT)
        found = real(*arguments, **keywords)
        if laid:
            os.kill(os.getpid(), signal.SIGINT)
        return found

    monkeypatch.setattr(needed, "needs", stopped)
    assert main(["pattern", job, "--out", str(out), *WORDS, "--rounds", "1"]) != 0
    assert "interrupted; the best so far was saved" in capsys.readouterr().err
    whole(out)
