"""A small run of the campaign of spoilt files, and that it sees what goes wrong."""

from __future__ import annotations

import pytest

from benchmarks.campaigns import hostile
from benchmarks.campaigns.hostile import run


def test_spoilt_files_are_refused_in_one_line_or_read():
    tally = run(20, seed=2)
    assert tally.faults == []
    assert tally.found["refused"] > 3


def fails(path):
    raise KeyError(path.name)


def takes_all(path):
    return bytearray(3 << 30)


@pytest.mark.parametrize(
    ("reader", "outcome"),
    [(fails, "traceback"), (takes_all, "over memory")],
)
def test_what_goes_wrong_is_seen(reader, outcome, monkeypatch, tmp_path):
    def only_spoilt(path):
        return reader(path) if path.name.startswith("spoilt") else None

    monkeypatch.setattr(hostile, "_READERS", (("job", "pouch/*.toml", only_spoilt),))
    monkeypatch.setattr(hostile, "read_stock", only_spoilt)
    tally = run(2, seed=1, keep=tmp_path)
    assert tally.found[outcome] == 2
    assert len(tally.faults) == 2
    assert len(list(tmp_path.glob("*.txt"))) == 2


def test_a_kind_of_which_no_sample_is_sound_is_told(monkeypatch):
    monkeypatch.setattr(hostile, "_READERS", (("job", "pouch/*.toml", fails),))
    assert run(2, seed=1).faults[0].startswith("job: no sample is accepted")
