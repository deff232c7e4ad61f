"""Lays of many copies, which begin with copies of a block."""

from __future__ import annotations

from dataclasses import replace

from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Binding, Lattice, Lay, Part, Strip, Turns
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import polygon_path
from nesting.search.result import Limits
from nesting.search.solve import search
from nesting.search.starting.copies import blocks_of

EAR = Piece(name="ear", cut=polygon_path([(0, 0), (90, 0), (70, 50), (20, 60)]))
TIP = Piece(name="tip", cut=polygon_path([(0, 0), (60, 10), (30, 80)]))


def lay(ears: int, tips: int) -> Lay:
    either = Turns(angles=(0.0, 180.0))
    pieces = [EAR] * ears + [TIP] * tips
    parts = tuple(Part(name=f"p {i}", piece=p, turns=either) for i, p in enumerate(pieces))
    return Lay(name="many", parts=parts, stock=Strip(width=400.0), spacing=2.0)


def test_blocks_take_as_many_of_every_part_and_each_part_once() -> None:
    blocks = blocks_of(lay(205, 104))
    assert blocks is not None
    taken = [i for copy in blocks.copies for i in copy]
    assert sorted((*taken, *blocks.over)) == list(range(309))
    assert {sum(i < 205 for i in copy) for copy in blocks.copies} == {205 // len(blocks.copies)}
    assert {sum(i >= 205 for i in copy) for copy in blocks.copies} == {104 // len(blocks.copies)}


def test_few_parts_and_parts_that_a_rule_binds_are_laid_the_old_way() -> None:
    assert blocks_of(lay(60, 60)) is None
    many = lay(200, 200)
    assert blocks_of(many) is not None
    print_ = Binding(anchor=(10, 10), lattice=Lattice(along=64))
    for rule in ({"binding": print_}, {"mates": "m"}, {"turn_group": "t"}):
        parts = (replace(many.parts[0], **rule), *many.parts[1:])  # type: ignore[arg-type]
        assert blocks_of(replace(many, parts=parts)) is None


def test_many_copies_are_no_longer_than_the_block_again_and_again() -> None:
    many, limits = lay(205, 104), Limits(seconds=None, rounds=5)
    result = search(many, limits=limits, workers=1)
    assert not check(result.marker)
    assert not result.unplaced
    assert result.rounds == 5
    blocks = blocks_of(many)
    assert blocks is not None
    one = search(blocks.lay(blocks.copies[0]), limits=replace(limits, rounds=3), seed=2, workers=1)
    over = search(blocks.lay(blocks.over), limits=replace(limits, rounds=0), seed=3, workers=1)
    row = len(blocks.copies) * (figures(one.marker).length + 2.0) + figures(over.marker).length
    assert figures(result.marker).length <= row * (1 + 1e-9)


def test_the_same_rounds_give_the_same_marker_of_many_copies() -> None:
    found = [
        search(lay(160, 160), limits=Limits(seconds=None, rounds=2), workers=1).marker.placements
        for _ in range(2)
    ]
    assert found[0] == found[1]
