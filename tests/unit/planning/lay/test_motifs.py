"""Motif middles and named points of placed parts, checked by a turn and a move done by hand."""

from __future__ import annotations

import pytest

from nesting.job.file import parse_job
from nesting.marker.marker import Marker, Placement
from nesting.planning.lay.lays import lays
from nesting.planning.lay.motifs import print_points

JOB = """
[job]
name = "Tote"
[[piece]]
name = "front"
rectangle = [230, 170]
named_points = { side = [0, 80] }
[[piece]]
name = "back"
rectangle = [210, 170]
named_points = { side = [210, 60] }
[[piece]]
name = "pocket"
rectangle = [100, 50]
[[cloth]]
name = "canvas"
width = 900
print = { along = 200, across = 150, drop = 0.5, origin = [50, 60] }
[[cut]]
piece = "front"
material = "canvas"
centred = true
[[cut]]
piece = "back"
material = "canvas"
matches = { point = "side", piece = "front", to = "side" }
[[cut]]
piece = "pocket"
material = "canvas"
"""


def test_motif_and_named_points_lie_where_their_part_does() -> None:
    (lay,) = lays(parse_job(JOB))
    assert [part.piece.name for part in lay.parts] == ["front", "back", "pocket"]
    marker = Marker(
        lay=lay,
        placements=(
            Placement(part=1, x=500.0, y=300.0),
            Placement(part=2, x=0.0, y=0.0),
            Placement(part=0, x=400.0, y=200.0, angle=180.0),
        ),
    )
    back, front = print_points(marker)  # nothing binds the pocket
    assert (back.placement, back.motif) == (0, None)
    assert dict(back.points)["side"] == pytest.approx((500.0 + 210.0, 300.0 + 60.0))
    assert front.placement == 2
    assert front.motif == pytest.approx((400.0 - 115.0, 200.0 - 85.0))
    assert dict(front.points)["side"] == pytest.approx((400.0, 200.0 - 80.0))
