"""A small run of the campaign of held parts, and that it sees what goes wrong."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchmarks.campaigns import holds
from benchmarks.campaigns.holds import run
from nesting import lay_parts, release


def test_what_is_held_stays_and_all_else_is_good():
    tally = run(12, seed=3)
    assert tally.faults == []
    assert min(tally.found["cloth"], tally.found["sheets"]) > 2


@pytest.mark.parametrize("nudge", [0.0, 1e-9])
def test_a_search_that_moves_what_is_held_is_caught(nudge, monkeypatch):
    def search(lay, **more):
        found = lay_parts(lay, **more)
        places = tuple(replace(p, x=p.x + nudge) for p in found.marker.placements)
        return replace(found, marker=replace(found.marker, placements=places))

    monkeypatch.setattr(holds, "lay_parts", search)
    assert any("was held and moved" in line for line in run(4, seed=3).faults) == (nudge > 0.0)


def test_a_search_that_lets_go_is_caught(monkeypatch):
    def search(lay, *, start, **more):
        loose = None if start is None else release(start)
        free = replace(lay, parts=tuple(replace(part, held=None) for part in lay.parts))
        found = lay_parts(free, start=loose, **more)
        return replace(found, marker=replace(found.marker, lay=lay))

    monkeypatch.setattr(holds, "lay_parts", search)
    assert any("was held and moved" in line for line in run(12, seed=3).faults)
