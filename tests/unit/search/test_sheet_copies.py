"""Many copies on sheets, put together of sheets that are cut again and again."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Turns
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import polygon_path, rectangle
from nesting.search import solve
from nesting.search.result import Limits, Result
from nesting.search.solve import search
from nesting.search.starting.given import score
from nesting.search.starting.sheet_copies import patterns_of

EAR = Piece(name="ear", cut=polygon_path([(0, 0), (90, 0), (70, 50), (20, 60)]))
TIP = Piece(name="tip", cut=polygon_path([(0, 0), (60, 10), (30, 80)]))
BAR = Piece(name="bar", cut=polygon_path([(0, 0), (130, 0), (130, 25), (10, 25)]))
LIMITS = Limits(seconds=None, rounds=24)


def lay(each: int = 50, *, count: int | None = None) -> Lay:
    either = Turns(angles=(0.0, 180.0))
    parts = tuple(
        Part(name=f"{piece.name} {i}", piece=piece, turns=either)
        for piece in (EAR, TIP, BAR)
        for i in range(each)
    )
    sheet = Sheet(name="board", outline=rectangle(300, 200), count=count)
    return Lay(name="many", parts=parts, stock=Sheets(sheets=(sheet,), margin=2.0), spacing=2.0)


def test_sheets_cut_again_and_again_take_less_than_one_search_over_all(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def found() -> list[Result]:
        return [search(lay(), limits=LIMITS, workers=1, seed=seed) for seed in (1, 2, 3)]

    with_patterns = found()
    again = search(lay(), limits=LIMITS, workers=1, seed=1)
    monkeypatch.setattr(solve, "patterns_of", lambda *_, **__: None)
    at_once = found()
    for some, whole in zip(with_patterns, at_once, strict=True):
        assert not check(some.marker)
        assert Counter(p.part for p in some.marker.placements) == Counter(range(150))
        assert not some.unplaced
        assert some.rounds <= whole.rounds
    # One seed alone may be unlucky; the last sheets of all of them together take less.
    taken = [np.sum([score(one.marker) for one in of], axis=0) for of in (with_patterns, at_once)]
    assert tuple(taken[0]) < tuple(taken[1])
    assert again.marker.placements == with_patterns[0].marker.placements


def test_what_is_laid_for_its_sheets_is_of_the_whole_and_no_more() -> None:
    patterns = patterns_of(lay(), LIMITS, seed=1)
    assert patterns is not None
    dice = random.Random(1)
    mixes = [patterns.mixed(dice, area=1e6, parts=40) for _ in range(5)]
    assert all(35 <= len(mix.parts) <= 45 for mix in mixes)
    assert all(len({part.name for part in mix.parts}) == len(mix.parts) for mix in mixes)
    assert len({tuple(part.piece.name for part in mix.parts) for mix in mixes}) == 5
    every = patterns.mixed(dice, area=1e9, parts=10_000)
    assert Counter(p.piece.name for p in every.parts) == dict.fromkeys(("ear", "tip", "bar"), 50)


def test_few_parts_sheets_that_are_counted_and_mates_are_laid_at_once() -> None:
    assert patterns_of(lay(), LIMITS, seed=1) is not None
    assert patterns_of(lay(12), LIMITS, seed=1) is None
    assert patterns_of(lay(count=90), LIMITS, seed=1) is None
    many = lay()
    mated = replace(many, parts=(replace(many.parts[0], mates="m"), *many.parts[1:]))
    assert patterns_of(mated, LIMITS, seed=1) is None
