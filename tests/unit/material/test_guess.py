"""Zones guessed from a hide's outline."""

from __future__ import annotations

import pytest
import shapely

from nesting import JobError, parse_job
from nesting.marker.lay import Sheets, Turns
from nesting.material.guess import guessed_zones
from nesting.material.material import Grade, Hides
from nesting.pattern.path import Affine, Path
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import ellipse, rectangle
from nesting.planning.lay.lays import lays

SKIN = ellipse(1400.0, 1000.0)


@pytest.mark.parametrize("backbone", [0.0, 90.0, 37.0, -120.0])
def test_zones_lie_apart_inside_the_hide_whatever_way_it_lies(backbone: float) -> None:
    hide = SKIN.transformed(Affine.turn(backbone))
    zones = guessed_zones(hide, backbone=backbone, side=False)
    areas = [polygon(zone.outline) for zone in zones]
    whole = polygon(hide)
    assert shapely.union_all(areas).difference(whole.buffer(0.2)).area == pytest.approx(0.0)
    overlap = sum(area.area for area in areas) - shapely.union_all(areas).area
    assert overlap == pytest.approx(0.0, abs=1.0)
    assert {zone.name for zone in zones} == {"butt", "shoulder", "neck", "flank"}


def test_the_best_lies_at_the_tail_beside_the_backbone() -> None:
    zones = {zone.name: zone for zone in guessed_zones(SKIN, backbone=0.0, side=False)}
    assert zones["butt"].grade is Grade.A
    assert zones["shoulder"].grade is Grade.B
    assert polygon(zones["butt"].outline).contains(shapely.Point(400.0, 500.0))
    assert polygon(zones["neck"].outline).contains(shapely.Point(1350.0, 500.0))


def test_the_back_of_a_side_is_its_straight_edge() -> None:
    low = Path.polyline([(0, 0), (1800, 0), (1700, 600), (900, 900), (200, 700)], closed=True)
    up = low.transformed(Affine.mirror()).reversed()
    for side, way in ((low, 1.0), (up, -1.0)):
        butt = next(z for z in guessed_zones(side, backbone=0.0, side=True) if z.name == "butt")
        assert polygon(butt.outline).contains(shapely.Point(500.0, way * 50.0))
        assert not polygon(butt.outline).contains(shapely.Point(500.0, way * 700.0))


JOB = """
[job]
name = "Case"
[[piece]]
name = "panel"
rectangle = [200, 100]
[[leather]]
name = "calf"
    [[leather.hide]]
    name = "skin"
    rectangle = [1400, 1000]
    guess_zones = "hide"
    ZONE
[[cut]]
piece = "panel"
material = "calf"
grade = "A"
"""


def test_a_guess_is_marked_as_one() -> None:
    job = parse_job(JOB.replace("ZONE", ""))
    (leather,) = job.materials
    assert isinstance(leather, Hides)
    assert leather.hides[0].guessed
    said = next(text for text in job.assumptions if "guessed from the outline" in text)
    assert "tightest along the backbone" in said


def test_nothing_is_guessed_beside_drawn_zones() -> None:
    zone = '[[leather.hide.zone]]\ngrade = "A"\nrectangle = [500, 500]\n'
    with pytest.raises(JobError, match="nothing to guess"):
        parse_job(JOB.replace("ZONE", zone))


def test_a_rectangle_gives_the_shares() -> None:
    zones = guessed_zones(rectangle(1000.0, 500.0), backbone=0.0, side=False)
    butt = next(zone for zone in zones if zone.name == "butt")
    assert polygon(butt.outline).area == pytest.approx(1000.0 * 0.56 * 500.0 * 0.58)


@pytest.mark.parametrize("backbone", [0.0, 37.0])
def test_a_guess_is_tight_along_the_backbone_and_stricter_where_it_is_poorer(
    backbone: float,
) -> None:
    """Straps run along it (nayscustomleather.com), the rest is our own simplification."""
    hide = SKIN.transformed(Affine.turn(backbone))
    zones = guessed_zones(hide, backbone=backbone, side=False)
    assert {zone.tight for zone in zones} == {backbone}
    slack = {zone.name: zone.slack for zone in zones}
    assert slack["butt"] > slack["shoulder"] > slack["neck"] == slack["flank"] > 0.0


def test_a_piece_turns_as_far_as_the_guess_or_as_the_user_lets_it() -> None:
    for more, slack in (("", 45.0), ("turn_slack = 5", 5.0), ("turn_slack = 180", None)):
        job = parse_job(JOB.replace("ZONE", "") + more)
        (found,) = lays(job)
        assert isinstance(found.stock, Sheets)
        (region,) = found.stock.sheets[0].regions
        assert region.name == found.parts[0].region
        turns = None if slack is None else Turns(angles=(0.0, 180.0), slack=slack)
        assert region.turns == turns
