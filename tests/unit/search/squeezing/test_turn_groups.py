"""Groups that keep one turn and lie on one sheet, where room for them has to be made."""

from __future__ import annotations

from dataclasses import replace

from nesting.errors import Severity
from nesting.marker.check import check
from nesting.marker.lay import (
    Binding,
    Lattice,
    Lay,
    Part,
    Region,
    Sheet,
    Sheets,
    Strip,
    Turns,
)
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.result import Limits
from nesting.search.solve import search


def _pair(name: str, ring: list[tuple[float, float]]) -> list[Part]:
    """Return a right and a left part that stretch alike."""
    mirrored = [(x, -y) for x, y in reversed(ring)]
    pieces = [Piece(name=name, cut=Path.polyline(r, closed=True)) for r in (ring, mirrored)]
    return [
        Part(
            name=f"{name} {hand}",
            piece=piece,
            turns=Turns(slack=180.0),
            region="good",
            turn_group=name,
            mates=name,
        )
        for hand, piece in zip("RL", pieces, strict=True)
    ]


def test_pairs_keep_their_turn_on_crowded_hides() -> None:
    ring = [(0.0, 0.0), (120.0, 0.0), (95.0, 60.0), (20.0, 70.0)]
    parts = [part for k in range(5) for part in _pair(f"pair {k}", ring)]
    region = Region(
        name="good", outlines=(rectangle(300.0, 290.0),), turns=Turns(angles=(0.0, 180.0), slack=20)
    )
    sheets = tuple(
        Sheet(
            name=f"hide {k}",
            outline=Path.polyline([(0, 0), (420, 0), (400, 300), (0, 300)], closed=True),
            regions=(region,),
            count=1,
        )
        for k in range(2)
    )
    lay = Lay(name="leather", parts=tuple(parts), stock=Sheets(sheets=sheets), spacing=3.0)
    result = search(lay, limits=Limits(rounds=3), workers=1)
    assert not result.unplaced
    assert not [f for f in check(result.marker) if f.severity is Severity.FAULT]


def test_the_larger_of_two_alternative_regions_is_used() -> None:
    body = Path.polyline([(0, 0), (400, 0), (400, 200), (0, 200)], closed=True)
    regions = (
        Region(name="good", outlines=(rectangle(300.0, 200.0),), turns=Turns(slack=10)),
        Region(name="good", outlines=(rectangle(90.0, 200.0, at=(310.0, 0.0)),)),
    )
    sheet = Sheet(name="hide", outline=body, regions=regions, count=1)
    piece = Piece(name="panel", cut=rectangle(200.0, 100.0))
    lay = Lay(
        name="leather",
        parts=(Part(name="panel", piece=piece, region="good"),),
        stock=Sheets(sheets=(sheet,)),
    )
    result = search(lay, limits=Limits(rounds=1), workers=1)
    assert not result.unplaced
    assert not check(result.marker)


def test_zones_whose_tightness_disagrees_are_all_used() -> None:
    body = Path.polyline([(0, 0), (620, 0), (620, 210), (0, 210)], closed=True)
    butt = Turns(angles=(0.0, 180.0), slack=10.0)
    belly = Turns(angles=(90.0, 270.0), slack=10.0)
    regions = (
        Region(name="good", outlines=(rectangle(400.0, 210.0),), turns=butt),
        Region(name="good", outlines=(rectangle(210.0, 210.0, at=(405.0, 0.0)),), turns=belly),
    )
    sheet = Sheet(name="hide", outline=body, regions=regions, count=1)
    spare = replace(sheet, name="spare")
    piece = Piece(name="panel", cut=rectangle(190.0, 100.0))
    panels = tuple(Part(name=f"panel {n}", piece=piece, region="good") for n in range(6))
    tag = Part(name="tag", piece=Piece(name="tag", cut=rectangle(40.0, 5.0)))
    stock = Sheets(sheets=(sheet, spare))
    lay = Lay(name="leather", parts=(*panels, tag), stock=stock)
    result = search(lay, limits=Limits(rounds=2), workers=1)
    assert not result.unplaced
    assert not check(result.marker)
    assert result.marker.sheets == (0,)  # four lie in the butt, two at right angles in the belly
    angles = sorted(round(p.angle / 90.0) % 2 for p in result.marker.placements if p.part < 6)
    assert angles == [0, 0, 0, 0, 1, 1]


def test_alike_panels_matched_to_each_other_have_their_own_anchors() -> None:
    piece = Piece(name="panel", cut=rectangle(68.0, 58.0))
    lattice = Lattice(along=90.0, across=90.0, origin=(40.0, 60.0))
    parts = tuple(
        Part(name=name, piece=piece, binding=Binding(anchor=anchor, lattice=lattice, phase=phase))
        for name, anchor, phase in (
            ("left", (30.0, 25.0), "pair"),
            ("right", (-30.0, 25.0), "pair"),
            ("front", (34.0, 29.0), None),
            ("back", (10.0, 29.0), None),
        )
    )
    lay = Lay(name="print", parts=parts, stock=Strip(width=400.0))
    result = search(lay, limits=Limits(rounds=2), workers=1)
    assert not result.unplaced
    assert not check(result.marker)


def test_parts_in_alternative_regions_of_one_place_stay_off_each_other() -> None:
    body = Path.polyline([(0, 0), (300, 0), (300, 200), (0, 200)], closed=True)
    regions = (
        Region(name="good", outlines=(rectangle(200.0, 200.0),), turns=Turns()),
        Region(name="good", outlines=(rectangle(200.0, 200.0, at=(100.0, 0.0)),), turns=Turns()),
    )
    sheet = Sheet(name="hide", outline=body, regions=regions, count=1)
    piece = Piece(name="panel", cut=rectangle(98.0, 98.0))
    panels = tuple(Part(name=f"panel {n}", piece=piece, region="good") for n in range(8))
    lay = Lay(name="leather", parts=panels, stock=Sheets(sheets=(sheet,)))
    result = search(lay, limits=Limits(rounds=1, seconds=5.0), workers=1)
    # six have room, three by two: the others are named, and none lies on another
    assert len(result.unplaced) == 2
    assert {f.kind for f in check(result.marker)} == {"missing"}
