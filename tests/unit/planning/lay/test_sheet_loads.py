"""Sheets and hides that are larger than the bed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting import JobError, check, make_plan, parse_job
from nesting.marker.lay import Lay, Part, Region, Sheet, Sheets
from nesting.marker.marker import Marker, Placement
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon
from nesting.pattern.shapes import rectangle
from nesting.planning.lay.lays import lays
from nesting.planning.lay.sheet_loads import sheet_loads
from nesting.planning.plan import Entry

JOB = """
[job]
name = "Liners"
bags = BAGS
[table]
bed = BED
[[piece]]
name = "base"
rectangle = [260, 190]
[[piece]]
name = "lid"
points = [[0, 0], [180, 0], [140, 120], [40, 120]]
GOODS
[[cut]]
piece = "base"
material = "stuff"
CUT
[[cut]]
piece = "lid"
material = "stuff"
copies = 2
CUT
"""

FOAM = """
[[sheet]]
name = "stuff"
size = [1200, 800]
spacing = 4
"""

LEATHER = """
[[leather]]
name = "stuff"
margin = 0
    [[leather.hide]]
    name = "side"
    points = [[30, 0], [1500, 40], [1400, 900], [100, 880], [0, 300]]
        [[leather.hide.zone]]
        name = "butt"
        grade = "A"
        rectangle = [900, 500]
        at = [120, 60]
        tight = 0
        slack = 20
        [[leather.hide.zone]]
        name = "belly"
        grade = "B"
        rectangle = [900, 280]
        at = [120, 580]
        tight = 90
        slack = 20
        [[leather.hide.flaw]]
        circle = 60
        at = [500, 300]
"""


def laid(goods: str, *, bed: str = "[900, 600]", cut: str = "", bags: int = 8) -> Entry:
    job = parse_job(text(goods, bed=bed, cut=cut, bags=bags))
    (entry,) = make_plan(job, seconds=None, rounds=1, workers=1).entries
    return entry


def text(goods: str, *, bed: str, cut: str = "", bags: int = 8) -> str:
    found = JOB.replace("GOODS", goods).replace("BED", bed).replace("CUT", cut)
    return found.replace("BAGS", str(bags))


def across(entry: Entry) -> list[str]:
    """Return the parts that lie in none of the loads that name them."""
    where = {name: load for load in entry.loads for name in load.parts}
    found = []
    for placement in entry.marker.placements:
        part = entry.marker.lay.parts[placement.part]
        x0, y0, x1, y1 = piece_polygon(part.piece, by=placement.affine).bounds
        load = where[part.name]
        inside = (
            placement.sheet == load.sheet
            and load.x - 1e-3 <= x0
            and x1 <= load.x + load.length + 1e-3
            and load.y - 1e-3 <= y0
            and y1 <= load.y + load.width + 1e-3
        )
        if not inside:
            found.append(part.name)
    return found


@pytest.mark.parametrize(
    ("goods", "cut", "bags"),
    [(FOAM, "", 8), (LEATHER, "", 8), (LEATHER, 'grade = "B"', 5)],
    ids=["sheets", "hide", "graded"],
)
def test_no_part_lies_across_a_border(goods: str, cut: str, bags: int) -> None:
    entry = laid(goods, cut=cut, bags=bags)
    assert entry.good
    assert not [f for f in check(entry.marker) if f.kind != "mates"]
    assert len(entry.loads) > 1
    assert across(entry) == []
    # the bed is 900 by 600, either way round
    assert all(min(load.length, load.width) <= 600.0 for load in entry.loads)
    assert all(max(load.length, load.width) <= 900.0 for load in entry.loads)


def test_the_judge_finds_a_part_across_a_border() -> None:
    entry = laid(FOAM)
    first, *rest = entry.marker.placements
    border = next(load.x + load.length for load in entry.loads if load.x == 0.0)
    moved = replace(first, x=border - 50.0, y=5.0, angle=0.0)
    kinds = {f.kind for f in check(replace(entry.marker, placements=(moved, *rest)))}
    assert "region" in kinds


def test_a_sheet_is_cut_from_one_end() -> None:
    entry = laid(FOAM.replace("spacing = 4", "spacing = 4\nmargin = 10"), bed="[500, 900]", bags=2)
    (load,) = entry.loads
    assert load.x == 0.0


def test_a_sheet_that_the_bed_takes_is_not_divided() -> None:
    for bed in ("[1200, 800]", "[800, 1200]", "[2000, 900]"):
        entry = laid(FOAM, bed=bed)
        assert entry.loads == ()
        assert {part.region for part in entry.marker.lay.parts} == {None}


def test_the_bed_lies_the_way_that_takes_fewer_loads() -> None:
    (found,) = lays(parse_job(text(FOAM, bed="[810, 600]")))
    assert isinstance(found.stock, Sheets)
    # 1200 × 800 is two times 600 × 800, but four times 800 × 600
    assert len(found.stock.sheets[0].regions) == 2


def test_a_piece_larger_than_a_load_is_named_or_put_together() -> None:
    with pytest.raises(JobError, match=r"base.* of stuff fits no load of the bed"):
        laid(FOAM, bed="[300, 180]")
    entry = laid(FOAM, bed="[300, 180]", cut="pieced = 5")
    assert entry.good
    assert sum("piece 1 of 2" in p.variant for p in entry.marker.lay.parts) == 8
    assert across(entry) == []


def test_a_zone_of_any_name_is_no_load() -> None:
    zone = Region(name="a load of the bed", outlines=(rectangle(300, 200),))
    sheet = Sheet(name="side", outline=rectangle(600, 400), regions=(zone,), count=1)
    part = Part(name="base", piece=Piece(name="base", cut=rectangle(100, 50)), region=zone.name)
    lay = Lay(name="stuff", parts=(part,), stock=Sheets(sheets=(sheet,)))
    laid_out = Marker(lay=lay, placements=(Placement(part=0, x=0, y=0),), sheets=(0,))
    assert sheet_loads(laid_out) == ()
