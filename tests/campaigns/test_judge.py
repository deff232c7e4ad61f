"""A small run of the campaign of judges, and that it sees a judge that is wrong."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest
from shapely import Polygon

from benchmarks.campaigns import judge
from benchmarks.campaigns.exact import GRID, Shape, clearance, contact, snapped
from benchmarks.campaigns.judge import run
from nesting import check


def test_both_judges_agree():
    tally = run(60, seed=3)
    assert tally.faults == []
    assert tally.found["legal"] > 15
    assert tally.found["overlap"] + tally.found["gap"] + tally.found["outside"] > 3


@pytest.mark.parametrize("kind", ["overlap", "outside", "turn", "held"])
def test_a_judge_that_overlooks_something_is_caught(kind, monkeypatch):
    monkeypatch.setattr(
        judge, "check", lambda marker: tuple(f for f in check(marker) if f.kind != kind)
    )
    assert any(
        line.split(": ")[1].startswith(("false good", "told as")) for line in run(40, 3).faults
    )


def test_a_judge_that_is_too_strict_is_caught(monkeypatch):
    legal = run(1, seed=3).faults
    assert legal == []
    monkeypatch.setattr(judge, "check", strict)
    assert any("false fault" in line for line in run(30, seed=3).faults)


def strict(marker):
    """Judge with a spacing that is a little wider than asked for."""
    lay = replace(marker.lay, spacing=marker.lay.spacing + 0.01)
    return check(replace(marker, lay=lay))


@pytest.mark.parametrize("seed", range(20))
def test_exact_distances_are_those_of_another_library(seed):
    """Compare with shapely (GEOS), which counts in floats."""
    rng = Random(seed)

    def ring(x: float, y: float) -> list[tuple[float, float]]:
        w, h = rng.randint(5, 60), rng.randint(5, 60)
        return [(x, y), (x + w, y + rng.randint(0, 9)), (x + w, y + h), (x + 1, y + h)]

    first, second = ring(0, 0), ring(rng.uniform(-70, 70), rng.uniform(-70, 70))
    a, b = (Shape((tuple(snapped(*p) for p in r),)) for r in (first, second))
    lies = contact(a, b)
    assert lies.gap == pytest.approx(Polygon(first).distance(Polygon(second)), abs=1e-8)
    shared = Polygon(first).intersection(Polygon(second))
    assert (lies.deep > 1e-6) == (shared.area > 1e-6)
    assert Fraction(a.box[2], GRID) == max(p[0] for p in first)


@pytest.mark.parametrize("far", [(13, 9), (0, 9)])
def test_a_capsule_whose_middle_touches_the_edge_leaves_the_sheet(far):
    """A point on the edge is not outside, but what is grown by a radius reaches beyond it."""
    sheet = Shape((tuple(snapped(*p) for p in [(0, 0), (50, 0), (50, 40), (0, 40)]),))
    core = tuple(snapped(x, y + 15) for x, y in [(0, 0), far])
    inside, beyond = clearance(Shape((core,), radius=7 * GRID), sheet)
    assert (inside, beyond) == (0.0, 7.0)
