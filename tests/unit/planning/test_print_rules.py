"""Drift, motifs off the middle, folds under a print, and what a print costs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cli.commands.lay import _asides
from nesting import JobError, make_plan, parse_job
from nesting.job.job import Job
from nesting.marker.lay import Lay
from nesting.planning.lay.lays import lays
from nesting.planning.lay.matching import unprinted
from nesting.planning.summary import judge_plan, summary

JOB = """
[job]
name = "Tote"
bags = BAGS
[[piece]]
name = "front"
rectangle = [200, 150]
named_points = { right = [200, 0], left = [0, 0] }
[[piece]]
name = "side"
rectangle = [200, 80]
named_points = { right = [200, 0], left = [0, 0] }
[[piece]]
name = "tab"
rectangle = [90, 70]
[[cloth]]
name = "print"
width = 900
spacing = 2
print = { along = 120, across = 100, PRINT }
MORE
[[cut]]
piece = "front"
material = "print"
copies = 2
FRONT
[[cut]]
piece = "side"
material = "print"
SIDE
[[cut]]
piece = "tab"
material = "print"
"""


def job(*, bags: int = 1, motif: str = "", front: str = "", side: str = "", more: str = "") -> Job:
    text = JOB.replace("BAGS", str(bags)).replace("PRINT", motif or "origin = [0, 0]")
    return parse_job(text.replace("FRONT", front).replace("SIDE", side).replace("MORE", more))


def lay(**more: str) -> Lay:
    (found,) = lays(job(**more))  # type: ignore[arg-type]
    return found


MATCHED = 'matches = { point = "left", piece = "front", to = "right" }'


def test_drift_is_room_and_no_leave_to_lie_off_the_middle() -> None:
    """Derived: each of two neighbours may be moved by 3 mm before it is cut."""
    found = lay(motif="drift = 3", front="centred = true")
    assert found.spacing == 2.0 + 2 * 3.0
    bindings = [part.binding for part in found.parts if part.binding is not None]
    assert {binding.lattice.tolerance for binding in bindings} == {0.0}
    assert lay(motif="drift = 3").spacing == 2.0  # nothing is bound
    told = " ".join(job(motif="drift = 3", front="centred = true").assumptions)
    assert "may miss by 6 mm" in told


def test_only_what_is_centred_alone_may_lie_off_the_middle() -> None:
    alone = lay(motif="off_centre = 4", front="centred = true")
    assert {p.binding.lattice.tolerance for p in alone.parts if p.binding} == {4.0}
    seam = lay(motif="off_centre = 4", front="centred = true", side=MATCHED)
    assert {p.binding.lattice.tolerance for p in seam.parts if p.binding} == {0.0}


@pytest.mark.parametrize("motif", ["", "drift = 2"])
def test_what_is_matched_is_drawn_together_for_no_more_cloth(motif: str) -> None:
    parts = {part.piece.name: part for part in lay(motif=motif, side=MATCHED).parts}
    assert parts["front"].match == parts["side"].match
    assert parts["front"].match is not None
    assert parts["tab"].match is None
    assert {part.mates for part in parts.values()} == {None}


def test_the_key_that_was_both_names_the_two() -> None:
    with pytest.raises(JobError, match="unknown key") as caught:
        job(motif="tolerance = 3")
    assert "drift" in str(caught.value)
    assert "off_centre" in str(caught.value)


FOLDED = 'fold = "folded"\nfold_print = true'


def test_folded_under_a_print_two_bags_still_share_what_is_not_bound() -> None:
    plain = lays(unprinted(job(bags=2, more=FOLDED, front="centred = true")))[0]
    bound = lays(job(bags=2, more=FOLDED, front="centred = true"))[0]
    names = {part.piece.name: 0 for part in bound.parts}
    for part in bound.parts:
        names[part.piece.name] += 1
    # both plies give two tabs and two sides: one outline for two bags
    assert names == {"front": 2, "side": 1, "tab": 1}
    assert len(plain.parts) == len(bound.parts)


def test_what_is_matched_is_not_shared_between_bags() -> None:
    bound = lays(job(bags=2, more=FOLDED, side=MATCHED))[0]
    assert sum(part.piece.name == "side" for part in bound.parts) == 2
    assert sum(part.piece.name == "tab" for part in bound.parts) == 1


def test_what_a_print_costs_is_told_against_the_same_cloth_without_it() -> None:
    case = job(bags=2, more=FOLDED, front="centred = true", side=MATCHED)
    (entry,) = make_plan(case, seconds=None, rounds=2, workers=1).entries
    (plain,) = make_plan(unprinted(case), seconds=None, rounds=2, workers=1).entries
    assert entry.unmatched == pytest.approx(plain.search.first_length, rel=0.2)
    assert len(plain.marker.placements) < len(entry.marker.placements)


def test_edges_that_face_the_same_way_are_said() -> None:
    wrong = 'matches = { point = "left", piece = "front", to = "left" }'
    assert any("face the same way" in said for said in job(side=wrong).assumptions)
    assert not any("face the same way" in said for said in job(side=MATCHED).assumptions)


def test_what_is_matched_turns_alike_though_only_one_may_turn_at_all() -> None:
    match = 'matches = { point = "left", piece = "front", to = "right" }'
    (found,) = lays(job(side=match + "\nturn_slack = 3"))
    turns = {part.piece.name: (part.turns, part.turn_group) for part in found.parts}
    assert turns["side"] == turns["front"]
    assert turns["side"][0].slack == 0.0
    (found,) = lays(job(side=match + "\nturn_slack = 3", front="turn_slack = 2"))
    bound = [part for part in found.parts if part.piece.name != "tab"]
    assert {part.turns.slack for part in bound} == {2.0}
    assert len({part.turn_group for part in bound}) == 1
    assert bound[0].turn_group is not None


def test_it_is_said_how_many_repeats_apart_matches_lie() -> None:
    plan = make_plan(job(side=MATCHED), seconds=None, rounds=1, workers=1)
    (entry,) = plan.entries
    assert summary(entry).match_apart == 0.0
    assert not any("prints match" in line for line in _asides([summary(entry)], plan.job.amounts))
    # The side is moved on by 20 repeats of 120 mm: that leaves a gap of more than 10.
    marker = entry.marker
    side = next(n for n, part in enumerate(marker.lay.parts) if part.piece.name == "side")
    moved = tuple(
        replace(p, x=p.x + 20 * 120.0) if p.part == side else p for p in marker.placements
    )
    far = judge_plan(
        replace(plan, entries=(replace(entry, marker=replace(marker, placements=moved)),))
    )
    assert far.entries[0].good
    found = summary(far.entries[0])
    assert 10.0 < found.match_apart <= 20.0
    (line,) = [said for said in _asides([found], plan.job.amounts) if "prints match" in said]
    assert f"lie up to {found.match_apart:.1f} repeats apart" in line
