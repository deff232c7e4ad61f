"""A print whose repeat may drift, where a strip ends between two motifs."""

from __future__ import annotations

from nesting import parse_job
from nesting.marker.check import check
from nesting.planning.lay.lays import lays
from nesting.search.result import Limits
from nesting.search.solve import search

JOB = """
[job]
name = "Case"
bags = 2
[[piece]]
name = "panel"
points = [[0, 0], [258, 0], [252, 207], [3, 207]]
line = "sewing"
seam_allowance = 6
[[cloth]]
name = "print"
width = 1369
print = { along = 108, across = 90, drop = 0.5, origin = [40, 60], off_centre = 2 }
spacing = 5
turn_slack = 20
wrong_side_up = true
[[cut]]
piece = "panel"
material = "print"
centred = true
"""


def test_the_tolerance_holds_at_the_end_of_the_strip() -> None:
    (lay,) = lays(parse_job(JOB))
    result = search(lay, limits=Limits(rounds=1, seconds=4.0), workers=1)
    assert not result.unplaced
    assert check(result.marker) == ()


BIAS = """
[job]
name = "Case"
[[piece]]
name = "panel"
rectangle = [148, 168]
line = "sewing"
seam_allowance = { all = 8.2, top = 13 }
grain = "across"
[[cloth]]
name = "print"
width = 1082
print = { along = 167.7, origin = [54.8, 46.8] }
spacing = 4.4
[[cut]]
piece = "panel"
material = "print"
copies = 3
pairs = true
grain = "bias"
centred = true
"""


def test_what_ends_at_the_last_motif_by_a_rounding_error_is_not_put_on_the_one_before() -> None:
    (lay,) = lays(parse_job(BIAS))
    result = search(lay, limits=Limits(rounds=0, seconds=4.0), workers=1)
    assert not result.unplaced
    assert check(result.marker) == ()
