"""A first marker in a hurry: every part is laid, by every rule, only less closely."""

import math
import random
import time
from dataclasses import replace
from types import SimpleNamespace

import pytest

from nesting.marker.check import check
from nesting.marker.lay import Binding, Edge, Lattice, Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.marker.marker import Marker
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search import account
from nesting.search.prepared.state import State
from nesting.search.problem import first_marker, laid_on, prepare
from nesting.search.result import Limits, Stopped
from nesting.search.solve import search
from nesting.search.squeezing.refine import insert
from nesting.search.starting.bottom_left import FEW_LINES, HURRIED
from nesting.search.warm import warm

BOARD = Sheets(sheets=(Sheet(name="board", outline=rectangle(400.0, 300.0)),))


@pytest.fixture(scope="module", autouse=True)
def _compiled():
    warm()


def star(seed, corners=9):
    dice = random.Random(seed)
    size = dice.uniform(20.0, 60.0)
    turn = 2.0 * math.pi / corners
    radii = [size * dice.uniform(0.6, 1.0) for _ in range(corners)]
    points = [(r * math.cos(turn * i), r * math.sin(turn * i)) for i, r in enumerate(radii)]
    return Piece(name=f"star {seed}", cut=Path.polyline(points, closed=True))


def stars(count, kinds=12, **rules):
    pieces = [star(seed) for seed in range(kinds)]
    return tuple(
        Part(name=f"{i}", piece=pieces[i % kinds], turns=Turns(angles=(0.0, 180.0)), **rules)
        for i in range(count)
    )


def hurried(lay, *, after):
    """Lay all parts; the hurry begins after so many."""
    problem, unfit = prepare(lay)
    assert unfit == ()
    asked = iter(range(10**9))
    start = first_marker(problem, stop=lambda: False, hurry=lambda: next(asked) >= after)
    boards = start.world.sheets
    sheets = () if isinstance(lay.stock, Strip) else tuple(board.index for board in boards)
    placements = tuple(start.world.placements(start.layout))
    return start, Marker(lay=lay, placements=placements, sheets=sheets)


RULES = {
    "none": {},
    "lattice": {"binding": Binding(anchor=(0.0, 0.0), lattice=Lattice(along=50.0, across=30.0))},
    "edge": {"edge": Edge.LOW},
    "turn group": {"turn_group": "all"},
}


@pytest.mark.parametrize("after", [0, 30])
@pytest.mark.parametrize("rule", RULES)
def test_every_part_is_laid_by_its_rules(rule, after):
    parts = (*stars(40, **RULES[rule]), *(replace(p, name=f"x{p.name}") for p in stars(40)))
    start, marker = hurried(Lay(name=rule, parts=parts, stock=Strip(width=300.0)), after=after)
    assert start.left == ()
    assert check(marker) == ()


@pytest.mark.parametrize("after", [0, 30])
def test_every_part_is_laid_on_sheets(after):
    parts = tuple(
        replace(part, mates=f"bag {i // 4}" if i < 40 else None) for i, part in enumerate(stars(80))
    )
    start, marker = hurried(Lay(name="sheets", parts=parts, stock=BOARD), after=after)
    assert start.left == ()
    # mates may lie far apart on their sheet, which is a note
    assert [f.kind for f in check(marker) if f.kind != "mates"] == []


def test_later_is_closer():
    lay = Lay(name="closer", parts=stars(200), stock=Strip(width=300.0))
    lengths = [
        start.world.used_length(start.layout)
        for start, _ in (hurried(lay, after=after) for after in (0, 100, 10**6))
    ]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[0] > lengths[2]


def test_a_full_sheet_is_not_asked_again_by_its_like(monkeypatch):
    """Once a part found no room on a sheet, those alike need not look there."""
    tries = []
    real = State.slide_in

    def counted(state, i, sheet, **how):
        tries.append((i, sheet))
        return real(state, i, sheet, **how)

    monkeypatch.setattr(State, "slide_in", counted)
    _, marker = hurried(Lay(name="x", parts=stars(120, kinds=2), stock=BOARD), after=10**6)
    assert check(marker) == ()
    used = len(marker.sheets)
    assert used > 3
    assert len(tries) <= 120 + 2 * (used + 1)


@pytest.mark.parametrize("over", [False, True])
def test_parts_that_are_left_over_end_with_the_time(over, monkeypatch):
    """The last look for room for each of thousands went on long after the time."""
    parts = stars(150, kinds=150)
    lay = Lay(name="full", parts=parts, stock=replace(BOARD, sheets=(replace(
        BOARD.sheets[0], count=1),)))  # fmt: skip
    problem, _ = prepare(lay)
    start = laid_on(problem, problem.boards(1), stop=lambda: False)
    tries = []
    real = State.slide_in
    monkeypatch.setattr(
        State, "slide_in", lambda *args, **how: tries.append(args[1]) or real(*args, **how)
    )
    got = insert(start, seed=1, ends=lambda: over, timed=False, tries=0)
    assert len(start.left) > 2 * HURRIED
    assert sorted(got.left) == sorted(start.left)
    if over:
        assert len(tries) <= HURRIED
    else:
        assert set(tries) == set(start.left)


def test_mates_that_no_sheet_holds_together_end_the_search():
    """On sheets without number more were added for ever."""
    parts = stars(12, kinds=1, mates="bag")
    lay = Lay(name="mates", parts=parts, stock=Sheets(sheets=(
        Sheet(name="small", outline=rectangle(130.0, 130.0)),)))  # fmt: skip
    result = search(lay, limits=Limits(seconds=None, rounds=1), workers=1)
    assert result.stopped is Stopped.NOT_FOUND
    assert result.unplaced


def test_many_different_parts_keep_the_time(monkeypatch):
    """The first marker is finished in a hurry: each outline laid closely takes time here."""
    clock = SimpleNamespace(now=time.monotonic())
    clock.monotonic = lambda: clock.now
    monkeypatch.setattr(account, "time", clock)
    real = State.slide_in

    def slow(state, i, sheet, **how):
        clock.now += 0.01 if how["lines"] > FEW_LINES else 0.0
        return real(state, i, sheet, **how)

    monkeypatch.setattr(State, "slide_in", slow)
    lay = Lay(name="many", parts=stars(400, kinds=100), stock=Strip(width=1500.0))
    told = []
    result = search(
        lay,
        limits=Limits(seconds=1.0),
        workers=1,
        observer=told.append,
        stop=lambda: bool(told),
    )
    assert 0.6 <= result.first_seconds < 1.0
    assert result.unplaced == ()
    assert check(result.marker) == ()
