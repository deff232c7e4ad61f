"""What holds a marker's length, against real squeezes of markers with a bit less of each thing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest

from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.holding import hold
from nesting.marker.lay import Binding, Lattice, Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon
from nesting.pattern.shapes import rectangle
from nesting.search.squeezing.chain import Chain, Hold, chain_of
from nesting.search.squeezing.push import push_together

Ring = Sequence[Point]


def box(x: float, y: float, length: float, width: float) -> Ring:
    return [(x, y), (x + length, y), (x + length, y + width), (x, y + width)]


def marker_of(rings: Sequence[Ring], *, width: float, spacing: float = 0.0) -> Marker:
    """Return a marker of outlines drawn where they lie."""
    parts = tuple(
        Part(name=f"{i}", piece=Piece(name=f"{i}", cut=Path.polyline(list(ring), closed=True)))
        for i, ring in enumerate(rings)
    )
    lay = Lay(name="lay", parts=parts, stock=Strip(width=width), spacing=spacing)
    places = tuple(Placement(part=i, x=0.0, y=0.0) for i in range(len(parts)))
    return Marker(lay=lay, placements=places)


def rings_of(marker: Marker) -> list[Ring]:
    """Return the outlines of a marker where they lie."""
    found = []
    for place in sorted(marker.placements, key=lambda p: p.part):
        area = piece_polygon(marker.lay.parts[place.part].piece, by=place.affine)
        found.append([(x, y) for x, y in area.exterior.coords[:-1]])
    return found


def less(ring: Ring, axis: int, by: float) -> Ring:
    """Return an outline drawn so much smaller, its near side where it is."""
    low, high = min(p[axis] for p in ring), max(p[axis] for p in ring)
    share = 1.0 - by / (high - low)
    if axis == 0:
        return [(low + share * (x - low), y) for x, y in ring]
    return [(x, low + share * (y - low)) for x, y in ring]


def real_gain(chain: Chain, part: int, axis: int, by: float) -> float:
    """Return what a real squeeze gains for each mm that a part is less."""
    lay = chain.marker.lay
    assert lay.stock.open_ended
    rings = rings_of(chain.marker)
    rings[part] = less(rings[part], axis, by)
    smaller = marker_of(rings, width=lay.stock.width, spacing=lay.spacing)
    return (chain.length - figures(push_together(smaller)).length) / by


TABS = [
    [(0, 0), (60, 0), (50, 30), (10, 30)],
    [(65, 0), (105, 0), (115, 30), (55, 30)],
    [(115, 0), (175, 0), (160, 30), (130, 30)],
    [(5, 34), (50, 34), (62, 60), (20, 62)],
    [(70, 34), (140, 36), (120, 64), (60, 60)],
]


def disc(x: float, y: float, across: float, *, corners: int = 24, flat: float = 1.0) -> Ring:
    turns = [2.0 * math.pi * k / corners for k in range(corners)]
    r = 0.5 * across
    return [(x + r * math.cos(t), y + flat * r * math.sin(t)) for t in turns]


LAYS = {
    "tabs": (TABS, 64.0, 2.0),
    "discs": ([disc(20, 20, 40), disc(62, 32, 36), disc(97, 18, 30)], 50.0, 0.0),
    "nested": ([[(0, 0), (80, 0), (80, 12), (20, 12), (20, 40), (0, 40)], box(22, 14, 70, 20),
                disc(112, 20, 34, corners=7)], 42.0, 1.0),
}  # fmt: skip


@pytest.mark.parametrize("name", LAYS)
@pytest.mark.parametrize("axis", [0, 1])
def test_what_a_part_a_little_less_gives_is_what_a_real_squeeze_gains(name: str, axis: int) -> None:
    rings, width, spacing = LAYS[name]
    chain = chain_of(marker_of(rings, width=width, spacing=spacing))
    assert chain is not None
    told = {share.part: (share.along, share.across)[axis] for share in chain.shares}
    assert axis == 1 or max(told.values()) > 0.5
    for part in range(len(rings)):
        real = real_gain(chain, part, axis, 0.25)
        assert told.get(part, 0.0) == pytest.approx(real, abs=0.02), part


@pytest.mark.parametrize("axis", [0, 1])
def test_a_strap_that_lies_aslant_gets_shorter_and_narrower_in_itself(axis: int) -> None:
    def strap(length: float, width: float) -> Marker:
        flat = marker_of([box(0, 0, length, width), box(200, 0, 30, 40)], width=120.0, spacing=2.0)
        parts = (replace(flat.lay.parts[0], turns=Turns(angles=(35.0,))), flat.lay.parts[1])
        places = (Placement(part=0, x=15.0, y=0.0, angle=35.0), flat.placements[1])
        return Marker(lay=replace(flat.lay, parts=parts), placements=places)

    chain = chain_of(strap(160.0, 20.0))
    assert chain is not None
    share = next(share for share in chain.shares if share.part == 0)
    assert share.aslant
    told = (share.along, share.across)[axis]
    smaller = push_together(strap(160.0 - 0.25 * (axis == 0), 20.0 - 0.25 * (axis == 1)))
    assert told > 0.3
    assert told == pytest.approx((chain.length - figures(smaller).length) / 0.25, abs=0.02)


@pytest.fixture(scope="module")
def tabs() -> Chain:
    found = chain_of(marker_of(TABS, width=64.0, spacing=2.0))
    assert found is not None
    return found


def test_the_forces_balance_on_every_part_along_the_goods(tabs: Chain) -> None:
    ends = [link.force for link in tabs.links if link.by == Hold.END]
    starts = [link.force for link in tabs.links if link.by == Hold.START]
    assert sum(ends) == pytest.approx(1.0)
    assert sum(starts) == pytest.approx(1.0)


def test_a_mm_of_width_or_of_spacing_gives_what_a_real_squeeze_gains(tabs: Chain) -> None:
    rings = rings_of(tabs.marker)
    wide = figures(push_together(marker_of(rings, width=64.25, spacing=2.0))).length
    assert 0.25 * tabs.wider == pytest.approx(tabs.length - wide, abs=0.01)
    close = figures(push_together(marker_of(rings, width=64.0, spacing=1.75))).length
    assert tabs.closer is not None
    # The search keeps the room round a corner as chords: a little more than there has to be.
    assert 0.25 * tabs.closer == pytest.approx(tabs.length - close, rel=0.03)


def test_of_two_chains_equally_long_neither_part_alone_gives_anything() -> None:
    """The dual values of such a lay are not unique: one is 1 and the other 0, or the reverse."""
    rings = [box(0, 0, 50, 20), box(50, 0, 50, 20), box(0, 20, 60, 20), box(60, 20, 40, 20)]
    chain = chain_of(marker_of(rings, width=40.0))
    assert chain is not None
    assert chain.length == pytest.approx(100.0, abs=1e-4)
    assert all(share.along == share.across == 0.0 for share in chain.shares)
    for part in range(4):
        assert real_gain(chain, part, 0, 0.5) == pytest.approx(0.0, abs=1e-3)


def test_a_part_that_hits_a_second_chain_gives_only_up_to_it() -> None:
    rings = [box(0, 0, 50, 20), box(50, 0, 50, 20), box(0, 20, 60, 20), box(60, 20, 39.6, 20)]
    chain = chain_of(marker_of(rings, width=40.0))
    assert chain is not None
    assert [share.along for share in chain.shares] == pytest.approx([0.4, 0.4], abs=1e-4)
    assert real_gain(chain, 0, 0, 1.0) == pytest.approx(0.4, abs=1e-3)


def test_what_is_held_and_what_lies_on_a_print_is_named() -> None:
    rings = [box(0, 0, 40, 30), box(45, 0, 50, 30), box(100, 0, 30, 30)]
    kept = hold(marker_of(rings, width=30.0), ["2"])
    chain = chain_of(kept)
    assert chain is not None
    assert chain.by(Hold.HAND) == (2,)
    assert chain.length == pytest.approx(130.0, abs=1e-6)
    grid = Binding(anchor=(120.0, 15.0), lattice=Lattice(along=60.0))
    loose = marker_of(rings, width=30.0)
    parts = (*loose.lay.parts[:2], replace(loose.lay.parts[2], binding=grid))
    bound = chain_of(replace(loose, lay=replace(loose.lay, parts=parts)))
    assert bound is not None
    assert bound.by(Hold.PRINT) == (2,)
    assert check(bound.marker) == ()


def test_on_sheets_there_is_no_length_to_hold() -> None:
    board = Sheet(name="board", outline=rectangle(200.0, 60.0))
    part = Part(name="0", piece=Piece(name="0", cut=rectangle(50.0, 20.0)))
    lay = Lay(name="boards", parts=(part,), stock=Sheets(sheets=(board,)))
    one = Marker(lay=lay, placements=(Placement(part=0, x=0.0, y=0.0),), sheets=(0,))
    assert chain_of(one) is None
