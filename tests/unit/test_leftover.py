"""What a dead run left is removed, a live one's is not, and a folder has one run at a time."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from nesting.errors import WriteError
from nesting.leftover import LOCK, locked, temporary_name
from nesting.whole import whole_file
from nesting.writing.folder import ready_folder

LEAVE = """
import os, sys
from pathlib import Path
from nesting.leftover import temporary_name
folder = Path(sys.argv[1])
(folder / temporary_name()).mkdir()
(folder / temporary_name(".pdf")).touch()
os._exit(9)
"""


@pytest.fixture
def littered(tmp_path: Path) -> Path:
    run = subprocess.run([sys.executable, "-c", LEAVE, str(tmp_path)], check=False)
    assert run.returncode == 9
    assert len(list(tmp_path.iterdir())) == 2
    return tmp_path


def test_what_a_dead_run_left_is_removed_at_the_next_start(littered: Path) -> None:
    theirs = littered / ".thriftlay-of-somebody"
    theirs.mkdir()
    ours = littered / temporary_name()
    ours.mkdir()
    ready_folder(littered)
    assert sorted(littered.iterdir()) == sorted([ours, theirs])


def test_a_single_file_clears_its_folder_too(littered: Path) -> None:
    with whole_file(littered / "a.txt") as waiting:
        waiting.write_text("whole")
    assert [path.name for path in littered.iterdir()] == ["a.txt"]


@pytest.mark.skipif(sys.platform == "win32", reason="no such locks there")
def test_a_second_run_is_refused_and_a_dead_one_s_lock_is_not_in_the_way(tmp_path: Path) -> None:
    (tmp_path / LOCK).touch()  # left by a run that was killed
    with locked(tmp_path), pytest.raises(WriteError, match="another run"), locked(tmp_path):
        pass
    assert list(tmp_path.iterdir()) == []
