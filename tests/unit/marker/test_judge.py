"""The judge asked about one part says what the judge of all says about it."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from nesting.amounts import Amounts
from nesting.marker.check import check
from nesting.marker.judge import Judge
from nesting.marker.lay import Binding, Lattice, Sheets, Turns
from nesting.marker.marker import Marker, Placement
from nesting.planning.plan import Plan

KINDS = ("cloth", "print", "sheets", "hide")


@pytest.fixture
def markers(hand_laid_plan: Plan) -> dict[str, Marker]:
    """Return a marker on each kind of goods."""
    return {k: entry.marker for k, entry in zip(KINDS, hand_laid_plan.entries, strict=True)}


def ruled(marker: Marker) -> Marker:
    """Return a marker with rules of every kind that binds parts to each other."""
    grid = Lattice(along=120.0, across=90.0, drop=0.5)
    parts = list(marker.lay.parts)
    for i, part in enumerate(parts):
        parts[i] = replace(
            part,
            mates=f"set {i % 3}",
            turn_group="turned" if i % 2 else None,
            binding=Binding(anchor=(10.0, 10.0), lattice=grid, phase="match" if i % 4 else None),
            region="zone A" if isinstance(marker.lay.stock, Sheets) and i == 1 else None,
        )
    return replace(marker, lay=replace(marker.lay, parts=tuple(parts)))


def moved(marker: Marker, dice: random.Random) -> Placement:
    """Return a placement of any part, somewhere about."""
    here = dice.choice(marker.placements)
    reach = dice.choice([0.5, 30.0, 400.0])
    return replace(
        here,
        x=here.x + dice.uniform(-reach, reach),
        y=here.y + dice.uniform(-reach, reach),
        angle=dice.choice([here.angle, here.angle + 180.0, dice.uniform(0.0, 360.0)]),
        flipped=dice.random() < 0.2,
        sheet=dice.choice([here.sheet, here.sheet, 0, 1]),
    )


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("rules", [False, True])
def test_one_part_is_judged_as_all_are(
    kind: str, markers: dict[str, Marker], *, rules: bool
) -> None:
    """Thirty moves, one upon the other: each faulty in its own way."""
    dice = random.Random(f"{kind} {rules}")
    marker = ruled(markers[kind]) if rules else markers[kind]
    judge = Judge(marker)
    faults = 0
    for _ in range(30):
        placement = moved(judge.marker, dice)
        name = marker.lay.parts[placement.part].name
        at = [p.part for p in judge.marker.placements].index(placement.part)
        placements = list(judge.marker.placements)
        placements[at] = placement
        then = replace(judge.marker, placements=tuple(placements))
        wanted = [finding for finding in check(then) if name in finding.parts]
        found = judge.faults(placement)
        assert sorted(map(str, found)) == sorted(map(str, wanted))
        faults += len(found)
        if dice.random() < 0.5:
            judge.move(placement)
            assert judge.marker == then
    assert faults > 30


def test_a_part_that_does_not_lie_yet_is_judged_where_it_is_to_lie(
    markers: dict[str, Marker],
) -> None:
    whole = markers["cloth"]
    last = whole.placements[-1]
    judge = Judge(replace(whole, placements=whole.placements[:-1]))
    assert judge.faults(last) == ()
    assert [f.kind for f in judge.faults(replace(last, x=-50.0))] == ["outside"]
    judge.move(last)
    assert judge.marker == whole
    assert check(judge.marker) == ()


def test_a_place_that_is_no_place_is_told(markers: dict[str, Marker]) -> None:
    judge = Judge(markers["sheets"])
    here = judge.marker.placements[0]
    assert [f.kind for f in judge.faults(replace(here, x=float("nan")))] == ["number"]
    assert [f.kind for f in judge.faults(replace(here, sheet=7))] == ["sheet"]
    judge.move(replace(here, x=float("inf")))
    assert not any(
        judge.marker.lay.parts[here.part].name in f.parts
        for f in judge.faults(judge.marker.placements[1])
    )


def test_units_are_those_that_are_asked_for(markers: dict[str, Marker]) -> None:
    here = replace(markers["cloth"].placements[0], x=-25.4)
    (metric,) = Judge(markers["cloth"]).faults(here)
    (imperial,) = Judge(markers["cloth"], amounts=Amounts(unit="in")).faults(here)
    assert "25.400 mm" in metric.text
    assert "1.0000 in" in imperial.text


def test_turns_that_a_part_has_are_judged(markers: dict[str, Marker]) -> None:
    marker = markers["cloth"]
    parts = tuple(replace(part, turns=Turns(angles=(0.0,))) for part in marker.lay.parts)
    marker = replace(marker, lay=replace(marker.lay, parts=parts))
    odd = replace(marker.placements[0], angle=1.0)
    assert "turn" in [f.kind for f in Judge(marker).faults(odd)]
