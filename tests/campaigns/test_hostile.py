"""A small run of the campaign of spoilt files, and that it sees what goes wrong."""

from __future__ import annotations

import json
import os
import signal
import time
from pathlib import Path
from random import Random

import pytest

from benchmarks.campaigns.again import broken_rules
from benchmarks.campaigns.confined import Outcome, confined
from benchmarks.campaigns.hostile import run, wrong
from benchmarks.campaigns.spoil import spoilt

PLAN = Path(__file__).resolve().parents[2] / "sample_markers/tool_roll/laid/plan.json"


def test_spoilt_files_are_refused_in_one_line_or_used():
    tally = run(12, seed=2)
    assert tally.faults == []
    assert tally.found["refused"] > 3
    assert sum(tally.tried.values()) == 12


def fails():
    raise KeyError("name")


def takes_all():
    return len(bytearray(8 << 30))


def holds_too_much():
    taken = bytearray(5 << 28)
    for page in range(0, len(taken), 4096):
        taken[page] = 1
    return 0


def never_ends():
    while True:
        pass


def dies():
    os.kill(os.getpid(), signal.SIGKILL)


def says_and_refuses():
    print("a line")
    return 2


@pytest.mark.parametrize(
    ("command", "trouble", "status"),
    [
        (fails, "traceback", None),
        (takes_all, "over memory", None),
        (holds_too_much, "over memory", 0),
        (never_ends, "over time", None),
        (dies, "died", None),
        (says_and_refuses, "", 2),
    ],
)
def test_how_a_command_ends_is_told(command, trouble, status):
    outcome = confined(command, seconds=1 if command is never_ends else 10)
    assert (outcome.trouble, outcome.status) == (trouble, status)
    assert "KeyError" in outcome.trace or command is not fails
    assert outcome.out == ("a line\n" if status == 2 else "")


def test_time_is_the_processors():
    outcome = confined(lambda: time.sleep(1.5) or 0, seconds=1)
    assert (outcome.trouble, outcome.status) == ("", 0)


@pytest.mark.parametrize(
    ("outcome", "left", "told"),
    [
        (Outcome(status=2, err="thriftlay: a.toml: no\n"), (), ""),
        (Outcome(status=2, err=""), (), "0 lines of trouble"),
        (Outcome(status=2, err="thriftlay: a\nthriftlay: b\n"), (), "2 lines of trouble"),
        (Outcome(status=2, err="thriftlay: " + "x" * 5000), (), "a line of 5011"),
        (Outcome(status=2, err="thriftlay: no"), ("made.toml",), "refused, and left"),
        (Outcome(status=3), (), "exit status 3"),
        (Outcome(status=0, out="\x1b[2J"), (), "a terminal acts on"),
        (Outcome(status=0), ("made.svg",), "is no XML"),
        (Outcome(status=0), (".made.part",), "left .made.part"),
    ],
)
def test_what_is_wrong_is_told(tmp_path, outcome, left, told):
    for name in left:
        (tmp_path / name).write_text("<svg>")
    lines = list(wrong(outcome, ["pieces"], tmp_path))
    assert (told in lines[0]) if told else not lines


def edited(change: str, folder: Path) -> Path:
    tree = json.loads(PLAN.read_text())
    marker = tree["plan"]["entries"][0]["marker"]
    exec(change, {"m": marker, "p": marker["placements"]})
    file = folder / "plan.json"
    file.write_text(json.dumps(tree))
    return file


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("", ""),
        ("p[0]['y'] -= 5000", "beyond the goods"),
        ("p[0].update(x=p[1]['x'], y=p[1]['y'])", "overlap"),
        ("del p[0]", "missing"),
        ("p[0]['part'] = p[1]['part']", "laid 2 times"),
        ("p[0]['flipped'] = True", "flipped"),
        ("m['lay']['spacing'] = 80.0", "nearer than 80"),
    ],
)
def test_a_broken_rule_is_seen_without_the_judge(tmp_path, change, told):
    lines = list(broken_rules(edited(change, tmp_path)))
    assert any(told in line for line in lines) if told else lines == []


@pytest.mark.parametrize("kind", [".json", ".toml", ".dxf", ".svg"])
def test_files_are_spoilt_alike_for_a_seed(kind):
    data = {
        ".json": b'{"a": [1, 2.5, "M 0 0 L 3 4"], "b": {"c": true}}',
        ".toml": b'[a]\nb = [1, 2]\nc = "3 cm"\n',
        ".dxf": b"0\nSECTION\n2\nENTITIES\n0\nENDSEC\n0\nEOF\n",
        ".svg": b'<svg><g id="a"><rect width="3" height="4"/></g></svg>',
    }[kind]
    several = [spoilt(data, kind, Random(seed)) for seed in range(40)]
    assert several == [spoilt(data, kind, Random(seed)) for seed in range(40)]
    assert sum(one != data for one in several) > 25
    assert len(set(several)) > 20
