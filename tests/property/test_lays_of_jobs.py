"""Random jobs: their lays hold every part that was asked for, once, upright and in its variant."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.job.job import Bag, Cut, Job
from nesting.marker.lay import Edge
from nesting.material.material import Cloth, Fold, Nap, Width
from nesting.pattern.parallel.allowance import sewing_line
from nesting.pattern.path import Path
from nesting.pattern.piece import Hand, Piece
from nesting.pattern.polygon import piece_polygon
from nesting.planning.lay.lays import lays, too_big


@st.composite
def pieces(draw: st.DrawFn, name: str) -> Piece:
    """Draw a star-shaped piece with a sewing line, its grain anyhow."""
    count = draw(st.integers(4, 8))
    radii = draw(st.lists(st.floats(80, 150), min_size=count, max_size=count))
    ring = [
        (r * math.cos(2 * math.pi * i / count), r * math.sin(2 * math.pi * i / count))
        for i, r in enumerate(radii)
    ]
    cut = Path.polyline(ring, closed=True)
    grain = draw(st.sampled_from([0.0, 90.0, 45.0, -30.0, 180.0]))
    return Piece(name=name, cut=cut, sew=sewing_line(cut, 8.0), grain=grain)


@st.composite
def jobs(draw: st.DrawFn, fold: Fold) -> Job:
    names = ["a", "b"]
    cloth = Cloth(
        name="cloth",
        widths=(Width(booked=1500, usable=1480),),
        nap=draw(st.sampled_from(Nap)),
        fold=fold,
        wrong_side_up=draw(st.booleans()),
        faces_alike=draw(st.booleans()),
    )
    cuts = tuple(
        Cut(
            piece=name,
            material="cloth",
            copies=draw(st.integers(1, 3)),
            pairs=draw(st.booleans()),
            trimmed=draw(st.booleans()),
            grain=draw(st.sampled_from([0.0, 90.0, 45.0])),
        )
        for name in names
    )
    bag = Bag(
        name="bag",
        pieces=tuple(draw(pieces(name)) for name in names),
        cuts=cuts,
        count=draw(st.integers(1, 3)),
    )
    return Job(name="job", bags=(bag,), materials=(cloth,))


@settings(deadline=None, max_examples=40)
@given(jobs(Fold.SINGLE))
def test_single_ply(job: Job) -> None:
    (lay,) = lays(job)
    (bag,) = job.bags
    asked = bag.count * sum(cut.copies * (2 if cut.pairs else 1) for cut in bag.cuts)
    assert len(lay.parts) == len({part.name for part in lay.parts}) == asked
    assert too_big(lay) == ()
    for cut, piece in zip(bag.cuts, bag.pieces, strict=True):
        mine = [part for part in lay.parts if part.piece.name == piece.name]
        left = [part for part in mine if part.hand is Hand.LEFT]
        assert len(left) == (len(mine) // 2 if cut.pairs else 0)
        assert piece.sew is not None
        line = Piece(name="", cut=piece.sew) if cut.trimmed else piece
        for part in mine:
            assert part.piece.grain == 0.0
            assert piece_polygon(part.piece).area == pytest.approx(piece_polygon(line).area)
            assert piece_polygon(part.piece).exterior.is_ccw


@settings(deadline=None, max_examples=40)
@given(jobs(Fold.FOLDED))
def test_folded_cloth(job: Job) -> None:
    """Two plies give each pair from one part, and never fewer copies than asked for."""
    (lay,) = lays(job)
    (bag,) = job.bags
    assert len({part.name for part in lay.parts}) == len(lay.parts)
    for cut, piece in zip(bag.cuts, bag.pieces, strict=True):
        mine = [part for part in lay.parts if part.piece.name == piece.name]
        assert all(part.edge is not Edge.LOW for part in mine)
        asked = bag.count * cut.copies
        if cut.pairs:
            assert len(mine) == asked
        else:
            assert math.ceil(asked / 2) <= len(mine) <= asked
