"""Lays of printed cloth: motifs centred, parts matched."""

from __future__ import annotations

import math

import pytest

from nesting.job.file import parse_job
from nesting.marker.lay import Lay, Part, Turns
from nesting.pattern.path import Affine
from nesting.pattern.piece import Hand
from nesting.planning.lay.lays import lays
from tests.unit.planning.lay.jobs import lay

PRINT = "print = { along = 80, across = 60, drop = 0.5, origin = [7, 9], off_centre = 1 }"


def test_centred_motifs() -> None:
    (part,) = lay(cloth=PRINT, cut="centred = true").parts
    assert part.binding is not None
    assert part.binding.phase is None
    assert part.binding.anchor == pytest.approx((100.0, 50.0))
    lattice = part.binding.lattice
    assert (lattice.along, lattice.across, lattice.drop) == (80.0, 60.0, 0.5)
    assert (lattice.origin, lattice.tolerance) == ((7.0, 9.0), 1.0)
    assert part.turns == Turns()
    named = lay(cloth=PRINT, cut="centred = true", piece="motif = [60, 20]\ngrain = 90")
    assert named.parts[0].binding is not None
    assert named.parts[0].binding.anchor == pytest.approx((20.0, -60.0))


def test_uncentred_parts_of_printed_cloth_are_not_bound() -> None:
    assert lay(cloth=PRINT).parts[0].binding is None


MATCH = """
[job]
name = "Test"

[[piece]]
name = "front"
rectangle = [300, 200]
seam_allowance = 10
named_points = { seam = [10, 190] }

[[piece]]
name = "flap"
rectangle = [300, 120]
seam_allowance = 10
named_points = { seam = [10, 10] }
FLAP

[[cloth]]
name = "print"
width = 1400
nap = "NAP"
print = { along = 70, across = 45, drop = 0.5 }

[[cut]]
piece = "front"
material = "print"
FRONT

[[cut]]
piece = "flap"
material = "print"
matches = { point = "seam", piece = "front", to = "seam" }
CUT
"""


def matched(*, flap: str = "", front: str = "", cut: str = "", nap: str = "one-way") -> Lay:
    text = MATCH.replace("FLAP", flap).replace("FRONT", front).replace("CUT", cut)
    (found,) = lays(parse_job(text.replace("NAP", nap)))
    return found


def point_of(part: Part, name: str) -> tuple[float, float]:
    return dict(part.piece.points)[name]


@pytest.mark.parametrize("front", ["", "centred = true"])
@pytest.mark.parametrize("angle", [0.0, 180.0])
@pytest.mark.parametrize("flap", ["", "grain = 90", "grain = 180"])
def test_matched_parts_carry_the_print_across_the_seam(front: str, angle: float, flap: str) -> None:
    """With both anchors on the lattice, the points sewn together show the same print."""
    found = matched(front=front, nap="none", flap=flap)
    one, two = found.parts
    assert one.turn_group == two.turn_group is not None
    assert one.binding is not None
    assert two.binding is not None
    assert one.binding.phase == two.binding.phase
    assert (one.binding.phase is None) == bool(front)
    turn = Affine.turn(angle)
    lattice_points = [(70.0 * 3, 0.0), (70.0 * 8 + 35.0, 45.0 * 5)]
    shown = []
    for part, (x, y) in zip((one, two), lattice_points, strict=True):
        assert part.binding is not None
        ax, ay = turn(part.binding.anchor)
        px, py = turn(point_of(part, "seam"))
        shown.append((px + x - ax, py + y - ay))
    dx, dy = shown[0][0] - shown[1][0], shown[0][1] - shown[1][1]
    row = round(dy / 45.0)
    assert dy == pytest.approx(45.0 * row, abs=1e-9)
    assert math.remainder(dx - 35.0 * (row % 2), 70.0) == pytest.approx(0.0, abs=1e-9)


def test_matched_pairs_are_matched_hand_by_hand() -> None:
    found = matched(front="pairs = true", cut="pairs = true")
    phases: dict[Hand, set[str | None]] = {Hand.RIGHT: set(), Hand.LEFT: set()}
    for part in found.parts:
        assert part.binding is not None
        phases[part.hand].add(part.binding.phase)
    assert len(phases[Hand.RIGHT]) == len(phases[Hand.LEFT]) == 1
    assert phases[Hand.RIGHT] != phases[Hand.LEFT]


def test_copies_are_matched_one_by_one_where_there_are_as_many() -> None:
    found = matched(front="copies = 2", cut="copies = 2")
    assert len({part.binding.phase for part in found.parts if part.binding}) == 2
    single = matched(cut="copies = 2")
    assert len({part.binding.phase for part in single.parts if part.binding}) == 1
