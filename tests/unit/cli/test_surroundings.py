"""A full disk is one line; the temporary folder may lie anywhere."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

COMMAND = [sys.executable, "-m", "thriftlay"]
JOB = """
[job]
name = "made-up square"
[[piece]]
name = "square"
rectangle = ["10 cm", "10 cm"]

[[cloth]]
name = "lining"
width = "50 cm"
nap = "none"

[[cut]]
piece = "square"
material = "lining"
"""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full disk to write to")
def test_a_full_disk_is_one_line() -> None:
    with open("/dev/full", "w") as full:
        run = subprocess.run(
            [*COMMAND, "schema"], stdout=full, stderr=subprocess.PIPE, text=True, check=False
        )
    assert run.returncode == 2
    assert run.stderr == "thriftlay: no space left on device\n"


def test_a_temporary_folder_may_lie_deep_and_stays_empty(tmp_path: Path) -> None:
    deep = tmp_path / ("d" * 100)
    deep.mkdir()
    job = tmp_path / "job.toml"
    job.write_text(JOB)
    run = subprocess.run(
        [*COMMAND, "lay", str(job), "--out", str(tmp_path / "o"), "--rounds", "1"],
        env={**os.environ, "TMPDIR": str(deep)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    assert list(deep.iterdir()) == []
