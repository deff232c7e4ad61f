"""Lays of sheets, remnants and hides: grades, tightness, flaws, mates."""

from __future__ import annotations

import pytest
import shapely

from nesting.errors import JobError
from nesting.job.file import parse_job
from nesting.marker.lay import Lay, Region, Sheets, Turns
from nesting.material.material import Cloth
from nesting.pattern.polygon import polygon
from nesting.planning.lay.lays import lays
from tests.unit.planning.lay.jobs import alike


def test_remnants_come_before_sheets() -> None:
    text = """
[job]
name = "Test"
[[piece]]
name = "pad"
rectangle = [100, 80]
[[sheet]]
name = "foam"
size = [600, 900]
count = 3
margin = 5
[[sheet.remnant]]
name = "rest"
rectangle = [300, 200]
[[cut]]
piece = "pad"
material = "foam"
"""
    (found,) = lays(parse_job(text))
    assert isinstance(found.stock, Sheets)
    assert [(s.name, s.count) for s in found.stock.sheets] == [("rest", 1), ("foam", 3)]
    assert polygon(found.stock.sheets[1].outline).bounds == (0, 0, 600, 900)
    assert found.stock.margin == 5.0
    only = text.replace("count = 3", "count = 0")
    (found,) = lays(parse_job(only))
    assert isinstance(found.stock, Sheets)
    assert [s.name for s in found.stock.sheets] == ["rest"]


LEATHER = """
[job]
name = "Test"

[[piece]]
name = "strap"
outline = "M 0,0 L 200,0 L 210,15 L 200,30 L 0,28 Z"

[[piece]]
name = "keeper"
rectangle = [60, 20]

[[leather]]
name = "calf"
GOODS

[[leather.hide]]
name = "hide 1"
rectangle = [900, 600]
backbone = BACKBONE
FLAWS

[[leather.hide.zone]]
grade = "A"
rectangle = [400, 300]
at = [100, 100]
tight = TIGHT
slack = 10

[[leather.hide.zone]]
grade = "B"
rectangle = [300, 300]
at = [500, 100]

[[cut]]
piece = "strap"
material = "calf"
CUT

[[cut]]
piece = "keeper"
material = "calf"
KEEPER
"""


def hides(
    cut: str = "",
    *,
    keeper: str = "",
    goods: str = "",
    flaws: str = "",
    backbone: str = "0",
    tight: str = "90",
) -> tuple[Lay, Sheets]:
    text = LEATHER.replace("CUT", cut).replace("KEEPER", keeper).replace("GOODS", goods)
    text = text.replace("FLAWS", flaws).replace("BACKBONE", backbone).replace("TIGHT", tight)
    (found,) = lays(parse_job(text))
    assert isinstance(found.stock, Sheets)
    return found, found.stock


def test_grades_are_regions_of_zones_at_least_so_good() -> None:
    found, stock = hides('grade = "B"', keeper='grade = "A"')
    strap, keeper = found.parts
    (sheet,) = stock.sheets
    areas = {
        part.name: sorted(
            polygon(outline).area
            for region in sheet.regions
            if region.name == part.region
            for outline in region.outlines
        )
        for part in found.parts
    }
    assert areas == {"strap": [90_000.0, 210_000.0], "keeper": [120_000.0]}
    assert strap.region != keeper.region
    # Zones that agree on a direction make one region, so that parts may reach across; where
    # only one of them allows it, a part lies in that one alone.
    turns = {region.turns for region in sheet.regions if region.name == strap.region}
    assert turns == {Turns(angles=(90.0, 270.0), slack=10.0), None}


def area_of(region: Region) -> float:
    rings = [polygon(path) for path in region.outlines]
    return rings[0].area - sum(ring.area for ring in rings[1:])


def test_the_poorest_grade_is_the_whole_hide_and_tightness_holds_there_too() -> None:
    """A cut that says no grade is bound by tightness like any other, unless it says otherwise."""
    for cut in ('grade = "D"', ""):
        found, stock = hides(cut, keeper="turn_slack = 180")
        strap, keeper = found.parts
        assert keeper.region is None
        regions = [r for r in stock.sheets[0].regions if r.name == strap.region]
        areas = {r.turns: area_of(r) for r in regions}
        assert areas == {
            Turns(angles=(90.0, 270.0), slack=10.0): pytest.approx(900 * 600),
            None: pytest.approx(900 * 600 - 400 * 300),
        }


def test_a_hide_without_zones_is_good_all_over() -> None:
    text = LEATHER.replace("CUT", 'grade = "A"').replace("KEEPER", "").replace("GOODS", "")
    text = text.replace("FLAWS", "").replace("BACKBONE", "0")
    zones = text.index("[[leather.hide.zone]]"), text.index("[[cut]]")
    job = parse_job(text[: zones[0]] + text[zones[1] :])
    (found,) = lays(job)
    assert isinstance(found.stock, Sheets)
    (region,) = found.stock.sheets[0].regions
    assert polygon(region.outlines[0]).area == pytest.approx(900 * 600)
    assert any("no zones are drawn" in sentence for sentence in job.assumptions)


def test_parts_with_a_nap_of_their_own_keep_to_the_backbone() -> None:
    found, stock = hides('grade = "A"\nnap = "one-way"', tight="8")
    (sheet,) = stock.sheets
    assert found.parts[0].turns == Turns()
    assert sheet.regions[0].turns is None


def test_zones_whose_tightness_runs_another_way_are_not_for_them() -> None:
    with pytest.raises(JobError, match="its direction"):
        hides('grade = "A"\nnap = "none"', tight="90")


def test_a_hide_is_turned_so_that_its_backbone_runs_along_x() -> None:
    _, stock = hides('grade = "A"', backbone="90")
    (sheet,) = stock.sheets
    assert polygon(sheet.outline).bounds == pytest.approx((0, -900, 600, 0))
    assert sheet.regions[0].turns == Turns(angles=(0.0, 180.0), slack=10.0)
    assert polygon(sheet.regions[0].outlines[0]).bounds == pytest.approx((100, -500, 400, -100))


def test_flaws_become_holes_however_they_overlap() -> None:
    def flaw(x: float, y: float, size: float) -> str:
        return f"[[leather.hide.flaw]]\ncircle = {size}\nat = [{x}, {y}]\n"

    cases = {
        "apart": flaw(200, 450, 40) + flaw(700, 450, 60),
        "overlapping": flaw(200, 450, 60) + flaw(220, 450, 60),
        "at the edge": flaw(0, 300, 80) + flaw(450, 600, 50),
        "one in another": flaw(300, 450, 100) + flaw(300, 450, 20),
    }
    for flaws in cases.values():
        _, stock = hides(flaws=flaws)
        (sheet,) = stock.sheets
        area = polygon(sheet.outline, sheet.holes)
        assert area.is_valid
        job = parse_job(
            LEATHER.replace("FLAWS", flaws)
            .replace("BACKBONE", "0")
            .replace("TIGHT", "0")
            .replace("CUT", "")
            .replace("KEEPER", "")
            .replace("GOODS", "")
        )
        (leather,) = job.materials
        assert not isinstance(leather, Cloth)
        drawn = shapely.union_all([polygon(f) for f in leather.hides[0].flaws])  # type: ignore[union-attr]
        assert alike(area, shapely.difference(shapely.box(0, 0, 900, 600), drawn))


def test_a_flaw_that_cuts_a_hide_apart_leaves_two_bits() -> None:
    _, stock = hides(flaws="[[leather.hide.flaw]]\nrectangle = [20, 700]\nat = [300, -50]\n")
    assert [s.name for s in stock.sheets] == ["hide 1 bit 1", "hide 1 bit 2"]
    assert [polygon(s.outline).area for s in stock.sheets] == pytest.approx([580 * 600, 300 * 600])


def test_mates_lie_together_and_turn_alike_on_leather() -> None:
    found, _ = hides("copies = 2\nmates = true", keeper='mates = "strap"')
    assert {part.mates for part in found.parts} == {"Test 1: strap"}
    assert {part.turn_group for part in found.parts if part.turns.slack} == {"Test 1: strap"}
