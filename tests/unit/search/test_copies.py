"""Lays of many copies, which begin with copies of a block."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchmarks.search.freedom import jigsaw
from nesting.marker.check import check, is_good
from nesting.marker.figures import figures
from nesting.marker.lay import Binding, Lattice, Lay, Part, Strip, Turns
from nesting.marker.marker import Marker
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import polygon_path
from nesting.search.prepared.kinds import kinds_of
from nesting.search.result import Limits, Result, Stopped
from nesting.search.solve import search
from nesting.search.starting.blocks import Blocks, blocks_of, rows, together

EAR = Piece(name="ear", cut=polygon_path([(0, 0), (90, 0), (70, 50), (20, 60)]))
TIP = Piece(name="tip", cut=polygon_path([(0, 0), (60, 10), (30, 80)]))
EITHER = Turns(angles=(0.0, 180.0))


def lay(ears: int, tips: int) -> Lay:
    pieces = [EAR] * ears + [TIP] * tips
    parts = tuple(Part(name=f"p {i}", piece=p, turns=EITHER) for i, p in enumerate(pieces))
    return Lay(name="many", parts=parts, stock=Strip(width=400.0), spacing=2.0)


def times(one: Lay, copies: int) -> Lay:
    parts = (replace(p, name=f"{p.name}, {n}") for n in range(copies) for p in one.parts)
    return replace(one, parts=tuple(parts))


def laid(problem: Lay, rounds: int, seed: int = 1) -> Result:
    result = search(problem, limits=Limits(seconds=None, rounds=rounds), seed=seed, workers=1)
    assert not check(result.marker)
    assert not result.unplaced
    return result


def alike(blocks: Blocks) -> bool:
    """Whether part i of every copy is cut as part i of the first."""
    of = kinds_of(blocks.whole).of
    return len({tuple(of[i] for i in copy) for copy in blocks.copies}) == 1


def test_blocks_take_as_many_of_every_part_and_each_part_once() -> None:
    blocks = blocks_of(lay(205, 104))[-1]
    taken = [i for copy in blocks.copies for i in copy]
    assert sorted((*taken, *blocks.over)) == list(range(309))
    assert {sum(i < 205 for i in copy) for copy in blocks.copies} == {205 // len(blocks.copies)}
    assert {sum(i >= 205 for i in copy) for copy in blocks.copies} == {104 // len(blocks.copies)}
    assert alike(blocks)


def test_blocks_of_copies_are_lays_of_fewer_copies() -> None:
    one = lay(5, 8)
    sizes = blocks_of(times(one, 16))
    assert [len(blocks.copies[0]) for blocks in sizes] == [13, 52]
    assert sizes[0].block == times(one, 1)
    assert sizes[1].block == times(one, 4)
    assert [len(blocks.copies[0]) for blocks in blocks_of(times(one, 4))] == [13, 52]
    assert all(alike(blocks) for blocks in sizes)
    assert together(sizes[1], 4).block.parts == times(one, 16).parts


def test_few_parts_and_parts_that_a_rule_binds_are_laid_the_old_way() -> None:
    assert not blocks_of(lay(15, 15))
    assert not blocks_of(lay(50, 49))
    many = lay(200, 200)
    assert blocks_of(many)
    print_ = Binding(anchor=(10, 10), lattice=Lattice(along=64))
    for rule in ({"binding": print_}, {"mates": "m"}, {"turn_group": "t"}):
        parts = (replace(many.parts[0], **rule), *many.parts[1:])  # type: ignore[arg-type]
        assert not blocks_of(replace(many, parts=parts))


def test_copies_in_a_row_are_turned_and_mirrored_only_where_rules_allow() -> None:
    one = lay(5, 8)

    def ways(turns: Turns, *, flip: bool) -> list[Marker]:
        parts = tuple(replace(p, turns=turns, flip=flip) for p in times(one, 4).parts)
        blocks = blocks_of(replace(one, parts=parts))[0]
        return list(rows(blocks, laid(blocks.block, 1).marker, 4))

    straight = ways(Turns(), flip=False)
    turned = ways(EITHER, flip=False)
    mirrored = ways(EITHER, flip=True)
    assert [len(found) for found in (straight, turned, mirrored)] == [1, 2, 4]
    assert all(is_good(row) for row in (*straight, *turned, *mirrored))
    assert any(p.flipped for p in mirrored[2].placements)
    # Whichever way every other block lies, it ends where it did.
    assert len({round(figures(row).length, 6) for row in mirrored}) == 1


def test_copies_of_a_jigsaw_leave_no_waste_either() -> None:
    """Too many parts to be put together corner by corner; one copy of them is."""
    many = times(jigsaw(1, 12), 8)
    result = laid(many, 10)
    assert figures(result.marker).length == pytest.approx(8 * 400.0, rel=1e-6)
    assert result.stopped is Stopped.OPTIMAL


def test_many_copies_are_no_longer_than_the_block_again_and_again() -> None:
    many = lay(205, 104)
    result = laid(many, 5)
    assert result.rounds == 5
    blocks = blocks_of(many)[-1]
    one = laid(blocks.block, 4)  # nine tenths of the rounds
    over = laid(blocks.lay(blocks.over), 0)
    row = len(blocks.copies) * (figures(one.marker).length + 2.0) + figures(over.marker).length
    assert figures(result.marker).length <= row * (1 + 1e-9)


def test_the_same_rounds_give_the_same_marker_of_many_copies() -> None:
    found = [laid(lay(160, 160), 2).marker.placements for _ in range(2)]
    assert found[0] == found[1]
