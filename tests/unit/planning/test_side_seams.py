"""Prints that run on across a seam on each side, with a point for each hand."""

from __future__ import annotations

import math

import pytest

from nesting import JobError, parse_job
from nesting.marker.lay import Part
from nesting.pattern.piece import Hand
from nesting.planning.lay.lays import lays

JOB = """
[job]
name = "Tote"
[[piece]]
name = "front"
rectangle = [300, 200]
seam_allowance = 10
named_points = { lower = [30, 10], upper = [55, 190] }
[[piece]]
name = "gusset"
rectangle = [300, 90]
seam_allowance = 10
named_points = { seam = [20, 80] }
[[cloth]]
name = "print"
width = 1400
nap = "one-way"
print = { along = 70, across = 45 }
[[cut]]
piece = "front"
material = "print"
[[cut]]
piece = "gusset"
material = "print"
PAIRS
matches = { point = "seam", piece = "front", to = "lower", LEFT }
"""


def parts(left: str, *, pairs: str = "pairs = true") -> tuple[Part, ...]:
    text = JOB.replace(", LEFT", f", {left}" if left else "").replace("PAIRS", pairs)
    (found,) = lays(parse_job(text))
    return found.parts


def off(front: Part, gusset: Part, point: str) -> tuple[float, float]:
    """Return how far the print misses where a point of the front is sewn to the gusset's.

    Both lie with their anchors on a point of the print.
    """
    assert front.binding is not None
    assert gusset.binding is not None
    (fx, fy), (gx, gy) = front.binding.anchor, gusset.binding.anchor
    (px, py), (qx, qy) = dict(front.piece.points)[point], dict(gusset.piece.points)["seam"]
    dx, dy = (px - fx) - (qx - gx), (py - fy) - (qy - gy)
    return math.remainder(dx, 70.0), math.remainder(dy, 45.0)


def test_each_hand_is_matched_at_its_own_point() -> None:
    front, *gussets = parts('left = "upper"')
    assert [gusset.hand for gusset in gussets] == [Hand.RIGHT, Hand.LEFT]
    for gusset in gussets:
        point = "upper" if gusset.hand is Hand.LEFT else "lower"
        assert off(front, gusset, point) == (pytest.approx(0.0), pytest.approx(0.0))
        other = "lower" if point == "upper" else "upper"
        assert max(map(abs, off(front, gusset, other))) > 1.0


def test_without_one_both_are_matched_at_the_same() -> None:
    front, *gussets = parts("")
    assert [gusset.hand for gusset in gussets] == [Hand.RIGHT, Hand.LEFT]
    for gusset in gussets:
        assert off(front, gusset, "lower") == (pytest.approx(0.0), pytest.approx(0.0))


def test_a_left_point_needs_pairs_and_has_to_be_there() -> None:
    with pytest.raises(JobError, match="is not cut in pairs"):
        parts('left = "upper"', pairs="")
    with pytest.raises(JobError, match="uper"):
        parts('left = "uper"')
