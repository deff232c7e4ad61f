"""In which zones parts lie, beside the rule for each direction, place by place."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
import shapely

from nesting.job.file import parse_job
from nesting.marker.check import is_good
from nesting.marker.lay import Lay, Sheets
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Grade, Hides
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.planning.lay.lays import lays
from nesting.planning.lying import Lying, lying
from nesting.search.prepared.boards import areas_of

HIDE = """
[job]
name = "Test"
[[piece]]
name = "strap"
rectangle = [200, 30]
[[leather]]
name = "calf"
margin = 0
[[leather.hide]]
name = "hide 1"
rectangle = [900, 600]
backbone = BACKBONE
ZONES
[[cut]]
piece = "strap"
material = "calf"
CUT
"""

ZONES = """
[[leather.hide.zone]]
name = "flank"
grade = "C"
rectangle = [900, 600]
tight = 60
slack = 50
[[leather.hide.zone]]
name = "butt"
grade = "A"
outline = "M 0,0 L 500,0 C 560,150 440,250 500,400 L 0,400 Z"
tight = 0
slack = 20
[[leather.hide.zone]]
name = "shoulder"
grade = "B"
outline = "M 900,0 L 900,400 L 500,400 C 440,250 560,150 500,0 Z"
tight = 10
slack = 35
"""


def laid_on(zones: str, *, cut: str = "", backbone: int = 0) -> tuple[Lay, Hides]:
    text = HIDE.replace("ZONES", zones).replace("CUT", cut).replace("BACKBONE", str(backbone))
    job = parse_job(text)
    (lay,), (goods,) = lays(job), job.materials
    assert isinstance(goods, Hides)
    return lay, goods


def put(lay: Lay, x: float, y: float, angle: float = 0.0) -> Marker:
    return Marker(lay=lay, placements=(Placement(part=0, x=x, y=y, angle=angle),), sheets=(0,))


def names(found: Lying) -> list[str]:
    return [zone.name for zone in found.zones]


def test_the_zone_that_holds_is_named_and_not_the_one_below_it() -> None:
    lay, goods = laid_on(ZONES)
    (one,) = lying(put(lay, 50, 50), goods)
    assert (names(one), one.grade, one.unzoned) == (["butt"], Grade.A, False)
    (both,) = lying(put(lay, 350, 100), goods)
    assert (names(both), both.grade) == (["butt", "shoulder"], Grade.B)
    (low,) = lying(put(lay, 100, 450), goods)
    assert (names(low), low.grade) == (["flank"], Grade.C)


def test_what_is_in_no_zone_has_the_poorest_grade() -> None:
    lay, goods = laid_on(ZONES[ZONES.index("[[", 3) :])
    (out,) = lying(put(lay, 100, 450), goods)
    assert (names(out), out.grade, out.unzoned) == ([], Grade.D, True)
    (half,) = lying(put(lay, 100, 390), goods)
    assert (names(half), half.grade, half.unzoned) == (["butt"], Grade.D, True)


def test_a_hide_that_is_turned_for_its_backbone_names_the_same_zones() -> None:
    """Turned by −90°, the point (x, y) of the drawing lies at (y, −x)."""
    lay, goods = laid_on(ZONES, backbone=90)
    (one,) = lying(put(lay, 420, -700), goods)  # drawn: x 670…700, y 420…620
    assert names(one) == ["flank"]
    (one,) = lying(put(lay, 100, -700), goods)
    assert names(one) == ["shoulder"]


@pytest.mark.parametrize("grade", ["A", "B", "C", None])
def test_the_judge_agrees_with_the_rule_read_off_the_zones(grade: str | None) -> None:
    """The rule, place by place: every zone touched is good enough and allows the direction.

    Computed here from the zones alone (areas by shapely), without the planner's regions.
    """
    cut = "" if grade is None else f'grade = "{grade}"'
    lay, goods = laid_on(ZONES, cut=cut)
    assert isinstance(lay.stock, Sheets)
    (hide,) = goods.hides
    dice = random.Random(7)
    seen = {True: 0, False: 0}
    for _ in range(60):
        angle = dice.choice([0.0, 20.0, -25.0, 45.0, 60.0, 90.0, dice.uniform(0, 360)])
        marker = put(lay, dice.uniform(0, 900), dice.uniform(0, 600), angle)
        body = piece_polygon(lay.parts[0].piece, by=marker.placements[0].affine)
        if not polygon(hide.outline).contains(body):
            continue
        good = {True: True, False: True}
        for sure in (True, False):  # within a millimetre of a border either verdict will do
            shape = body.buffer(1.0 if sure else -1.0)
            for i, zone in enumerate(hide.zones):
                better = [
                    polygon(z.outline)
                    for j, z in enumerate(hide.zones)
                    if (z.grade, -j) < (zone.grade, -i)
                ]
                here = shapely.difference(polygon(zone.outline), shapely.union_all(better))
                here = here.buffer(-0.5).buffer(0.5)  # chords of a shared curve are no ground
                if shapely.intersection(shape, here).area == 0.0:
                    continue
                off = abs((angle - (zone.tight or 0.0) + 90.0) % 180.0 - 90.0)
                if zone.grade > Grade(grade or "D") or off > zone.slack + 1e-6:
                    good[sure] = False
        if good[True] == good[False]:
            assert is_good(marker) == good[True], (marker.placements[0], good)
            seen[good[True]] += 1
    assert min(seen.values()) > 2


def test_zones_drawn_a_hair_apart_over_a_third_may_be_crossed() -> None:
    """What is between two lines drawn by hand is no flank, for search and judge."""
    apart = ZONES.replace(
        "L 500,400 C 440,250 560,150 500,0 Z", "L 500.6,400 C 440.6,250 560.6,150 500.6,0 Z"
    )
    lay, goods = laid_on(apart, cut='grade = "B"')
    assert isinstance(lay.stock, Sheets)
    across = put(lay, 400, 100)
    assert is_good(across)
    assert names(lying(across, goods)[0]) == ["butt", "shoulder"]
    areas = areas_of(lay.stock.sheets[0], margin=0.0)[lay.parts[0].region]
    (both,) = [area for area in areas if area.free > 0.95 * 900 * 400]
    middles = [block.mean(axis=0) for block in both.blocks]
    assert [m for m in middles if 430 < m[0] < 570 and 5 < m[1] < 395] == []


def test_hides_without_zones_tell_none() -> None:
    lay, goods = laid_on("")
    assert lying(put(lay, 50, 50), goods) == ()
    assert lying(replace(put(lay, 50, 50), placements=()), goods) == ()
