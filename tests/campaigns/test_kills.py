"""A small run of the campaign of kills, and that it sees what is left and what is broken."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from benchmarks.campaigns.kills import broken
from benchmarks.campaigns.runs import Run, alive

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.skipif(sys.platform != "linux", reason="asks /proc")
def test_what_is_killed_leaves_nothing_and_goes_on(tmp_path):
    """In a process of its own: it forks, and mounts file systems if it may."""
    told = tmp_path / "told.json"
    words = ["-m", "benchmarks.campaigns.kills", "--size", "6", "--seed", "5", "--json", told]
    done = subprocess.run(
        [sys.executable, *map(str, words)], cwd=ROOT, capture_output=True, text=True, check=False
    )
    tally = json.loads(told.read_text())
    assert tally["faults"] == []
    assert done.returncode == 0
    assert tally["tried"]["kills"] == 6
    assert tally["tried"]["interrupts"] == 1


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.dxf", "0\nSECTION\n"),
        ("a.svg", "<svg><g></svg>"),
        ("a.html", "<html>"),
        ("a.toml", "a = ["),
        ("a.pdf", "%PDF-1.4\n"),
        ("a.png", "\x89PNG"),
        ("plan.json", "{}"),
        ("a.csv", ""),
    ],
)
def test_a_file_that_is_not_whole_is_seen(name, text, tmp_path):
    file = tmp_path / name
    file.write_text(text, encoding="latin-1")
    assert broken(file)


def test_a_process_that_lives_on_is_seen(tmp_path):
    run = Run.begin(["schema"], tmp_path, forked=False)
    assert run.wait()
    assert run.status == 0
    assert alive(run, within=0.5) == []
    with subprocess.Popen(["sh", "-c", "sleep 60 &"], start_new_session=True) as parent:
        parent.wait()
        (sleeping,) = alive(Run(parent.pid, tmp_path), within=0.1)
        os.kill(sleeping, signal.SIGKILL)
