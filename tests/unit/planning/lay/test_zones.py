"""Zones of a hide: where a part may lie, and which way round, beside what the judge says of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from nesting.errors import JobError
from nesting.job.file import parse_job
from nesting.marker.check import check
from nesting.marker.lay import Lay, Region, Sheet, Sheets
from nesting.marker.marker import Marker, Placement
from nesting.pattern.measure import counter_clockwise
from nesting.pattern.path import Affine
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import rectangle
from nesting.pattern.svg_path import parse_path
from nesting.planning.lay.lays import lays
from nesting.search.prepared.boards import areas_of

LEATHER = """
[job]
name = "Test"

[[piece]]
name = "strap"
outline = "M 0,0 L 200,0 L 210,15 L 200,30 L 0,28 Z"

[[leather]]
name = "calf"
margin = 0

[[leather.hide]]
name = "hide 1"
rectangle = [900, 600]
ZONES

[[cut]]
piece = "strap"
material = "calf"
CUT
"""


def area_of(region: Region) -> float:
    rings = [polygon(path) for path in region.outlines]
    return rings[0].area - sum(ring.area for ring in rings[1:])


ONE_BUTT = """
[[leather.hide.zone]]
name = "butt"
grade = "A"
outline = "M 0,0 L 900,0 L 900,300 L 0,300 Z"
tight = 0
slack = 20

[[leather.hide.zone]]
name = "flank"
grade = "C"
outline = "M 0,300 L 900,300 C 850,500 800,600 450,600 C 100,600 50,500 0,300 Z"
tight = 60
slack = 40
"""


def zoned(zones: str, cut: str = 'grade = "C"') -> tuple[Lay, Sheets]:
    (found,) = lays(parse_job(LEATHER.replace("ZONES", zones).replace("CUT", cut)))
    assert isinstance(found.stock, Sheets)
    return found, found.stock


def _judged(found: Lay, part: int, *, at: tuple[float, float], angle: float) -> list[str]:
    lone = replace(found, parts=(found.parts[part],))
    placement = Placement(part=0, x=at[0], y=at[1], angle=angle)
    return [f.kind for f in check(Marker(lay=lone, placements=(placement,), sheets=(0,)))]


def test_each_zone_keeps_its_own_freedom_beside_its_neighbour() -> None:
    """Butt 0 ± 20°, flank 60 ± 40°: straight in the butt, 60° in the flank, 20° across both."""
    found, _ = zoned(ONE_BUTT)
    assert _judged(found, 0, at=(50, 50), angle=0.0) == []
    assert _judged(found, 0, at=(50, 150), angle=-20.0) == []
    assert _judged(found, 0, at=(400, 350), angle=60.0) == []
    assert _judged(found, 0, at=(300, 280), angle=20.0) == []
    assert _judged(found, 0, at=(300, 280), angle=0.0) != []
    assert _judged(found, 0, at=(50, 50), angle=45.0) != []


def test_a_belt_crosses_the_straight_border_of_zones_that_are_curved_elsewhere() -> None:
    """The curve is at the other end of the flank; the border of the two is straight."""
    plain = ONE_BUTT.replace("tight = 0\nslack = 20", "").replace("tight = 60\nslack = 40", "")
    found, stock = zoned(plain)
    assert _judged(found, 0, at=(300, 250), angle=90.0) == []
    (areas,) = [a for name, a in areas_of(stock.sheets[0], margin=0.0).items() if name]
    assert [len(polygons) for polygons in (areas,)] == [1]
    assert areas[0].free == pytest.approx(area_of(stock.sheets[0].regions[0]), rel=2e-3)


def test_regions_that_share_a_curve_are_one_area_to_the_search() -> None:
    """Regions drawn with curves: their chords do not part what the curve joins."""
    low = parse_path("M 0,0 L 900,0 L 900,300 C 600,350 300,250 0,300 Z")[0]
    high = parse_path("M 0,600 L 0,300 C 300,250 600,350 900,300 L 900,600 Z")[0]
    region = Region(name="r", outlines=(counter_clockwise(low), counter_clockwise(high)))
    sheet = Sheet(name="s", outline=rectangle(900, 600), regions=(region,))
    (area,) = areas_of(sheet, margin=0.0)["r"]
    assert area.free == pytest.approx(900 * 600, rel=1e-3)
    # nothing within half a millimetre of the edge is barred, so nothing along the curve is
    assert all(np.ptp(block, axis=0).min() < 0.5 for block in area.blocks)
    inside = [b for b in area.blocks if 5 < b[:, 0].mean() < 895 and 5 < b[:, 1].mean() < 595]
    assert inside == []


def test_where_zones_overlap_the_better_one_holds() -> None:
    nested = """
[[leather.hide.zone]]
grade = "C"
rectangle = [900, 600]
tight = 90
slack = 10
[[leather.hide.zone]]
grade = "A"
rectangle = [500, 300]
at = [100, 100]
tight = 0
slack = 10
"""
    found, _ = zoned(nested)
    assert _judged(found, 0, at=(150, 150), angle=0.0) == []
    assert _judged(found, 0, at=(700, 150), angle=90.0) == []
    assert _judged(found, 0, at=(700, 150), angle=0.0) != []
    assert _judged(found, 0, at=(200, 150), angle=90.0) != []


@pytest.mark.parametrize(
    ("at", "angle", "good"),
    [
        ((300.0, 100.0), 0.0, True),
        ((300.0, 100.0), 20.0, True),
        ((300.0, 100.0), -20.0, True),
        ((300.0, 100.0), 24.0, False),
        ((300.0, 100.0), 180.0, False),
        ((300.0, 400.0), 0.0, False),
        ((300.0, 400.0), 24.0, True),
        ((300.0, 400.0), 26.0, False),
        ((300.0, 290.0), 20.0, True),
    ],
)
def test_with_a_nap_a_part_turns_from_the_backbone_as_far_as_zones_allow(
    at: tuple[float, float], angle: float, good: bool
) -> None:
    found, _ = zoned(ONE_BUTT, 'grade = "C"\nnap = "one-way"\nturn_slack = 25')
    assert (_judged(found, 0, at=at, angle=angle) == []) == good


@pytest.mark.parametrize(("angle", "good"), [(120, True), (60, True), (240, True), (239, False)])
def test_with_a_nap_a_part_may_turn_more_than_a_quarter(angle: float, good: bool) -> None:
    zone = '[[leather.hide.zone]]\ngrade = "A"\nrectangle = [900, 600]\ntight = 90\nslack = 30'
    found, _ = zoned(zone, 'grade = "A"\nnap = "one-way"\nturn_slack = 120')
    assert (_judged(found, 0, at=(450, 300), angle=angle) == []) == good


TWO_BUTTS = """
[[leather.hide.zone]]
grade = "A"
rectangle = [900, 300]
tight = 0
slack = 20

[[leather.hide.zone]]
grade = "A"
rectangle = [900, 300]
at = [0, 300]
tight = 60
slack = 10
"""


@pytest.mark.parametrize(
    ("nap", "at", "angle", "good"),
    [
        ("any", (450.0, 150.0), 0.0, True),
        ("any", (450.0, 150.0), 110.0, True),
        ("any", (450.0, 150.0), 115.0, False),
        ("any", (450.0, 450.0), 60.0, True),
        ("any", (450.0, 450.0), -40.0, True),
        ("any", (450.0, 450.0), 0.0, False),
        ("any", (450.0, 300.0), 90.0, False),
        ("none", (450.0, 150.0), 0.0, True),
        ("none", (450.0, 150.0), 90.0, True),
        ("none", (450.0, 150.0), 110.0, True),
        ("none", (450.0, 150.0), 115.0, False),
        ("none", (450.0, 450.0), -22.0, True),
        ("none", (450.0, 450.0), 68.0, True),
        ("none", (450.0, 450.0), 90.0, False),
        ("one-way", (450.0, 150.0), 20.0, True),
        ("one-way", (450.0, 150.0), 90.0, False),
        ("one-way", (450.0, 450.0), -22.0, True),
    ],
)
def test_on_the_bias_either_diagonal_lies_along_the_tightness(
    nap: str, at: tuple[float, float], angle: float, good: bool
) -> None:
    slack = "" if nap == "any" else "\nturn_slack = 25"
    found, _ = zoned(TWO_BUTTS, f'grade = "A"\ngrain = "bias"\nnap = "{nap}"{slack}')
    # The part lies with its middle there.
    middle = polygon(found.parts[0].piece.cut).centroid
    x, y = Affine.turn(angle)((middle.x, middle.y))
    assert (_judged(found, 0, at=(at[0] - x, at[1] - y), angle=angle) == []) == good


@pytest.mark.parametrize("tight", [0, 90])
def test_without_slack_on_the_bias_either_diagonal_lies_along_the_backbone(tight: int) -> None:
    zone = f'[[leather.hide.zone]]\ngrade = "A"\nrectangle = [900, 600]\ntight = {tight}'
    cut = 'grade = "A"\ngrain = "bias"\nnap = "none"'
    _, stock = zoned(zone, cut)
    assert stock.sheets[0].regions
    with pytest.raises(JobError, match="no zone is of the grade and allows its direction"):
        zoned(zone.replace(f"tight = {tight}", "tight = 45"), cut)
