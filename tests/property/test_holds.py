"""Random lays with random parts held: they stay, all else is laid round them, never longer."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from nesting.errors import Severity
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.holding import hold
from nesting.marker.lay import (
    Binding,
    Edge,
    Lattice,
    Lay,
    Part,
    Region,
    Sheet,
    Sheets,
    Strip,
    Turns,
)
from nesting.marker.marker import Marker
from nesting.pattern.path import Arc, Line, Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.result import Limits, Result
from nesting.search.solve import search
from nesting.search.starting.given import score
from nesting.search.warm import warm

TURNS = (
    Turns(),
    Turns(angles=(0.0, 180.0)),
    Turns(angles=(0.0, 180.0), slack=4.0),
    Turns(slack=180.0),
)
SHORT = Limits(seconds=None, rounds=1)


@pytest.fixture(scope="module", autouse=True)
def _compiled() -> None:
    warm()


def cut(dice: random.Random) -> Path:
    """Return a star, an L or a shield, some 10 to 60 mm large."""
    size = dice.uniform(20.0, 60.0)
    kind = dice.randrange(3)
    if kind == 0:
        steps = dice.randint(5, 9)
        ring = [
            (
                size * r * math.cos(2 * math.pi * k / steps),
                size * r * math.sin(2 * math.pi * k / steps),
            )
            for k in range(steps)
            for r in (dice.uniform(0.2, 0.5),)
        ]
        return Path.polyline(ring, closed=True)
    if kind == 1:
        arm = 0.4 * size
        ring = [(0, 0), (size, 0), (size, arm), (arm, arm), (arm, 0.8 * size), (0, 0.8 * size)]
        return Path.polyline(ring, closed=True)
    r = 0.4 * size
    arc = Arc((0.0, 0.0), (r, 0.0), (0.0, 0.7 * r), 0.0, math.pi)
    low = Line((-r, -r), (r, -r))
    return Path((arc, Line(arc.end, low.start), low, Line(low.end, (r, 0.0))))


def parts_of(dice: random.Random, turns: Turns, **rules: object) -> tuple[Part, ...]:
    parts = []
    for kind in range(dice.randint(2, 4)):
        piece = Piece(name=f"{kind}", cut=cut(dice))
        for copy in range(dice.randint(1, 3)):
            part = Part(name=f"{kind}.{copy}", piece=piece, turns=turns, flip=dice.random() < 0.3)
            parts.append(replace(part, **rules))  # type: ignore[arg-type]
    return tuple(parts)


def held_and_laid_again(lay: Lay, dice: random.Random) -> tuple[Marker, Result]:
    """Lay, hold some, lay again; return the marker with its holds and what came of it."""
    first = search(lay, limits=SHORT, workers=1, seed=dice.randrange(100))
    assert first.unplaced == ()
    names = [part.name for part in lay.parts]
    kept = hold(first.marker, dice.sample(names, dice.randint(1, len(names))))
    return kept, search(kept.lay, limits=SHORT, workers=1, start=kept)


def assert_kept(kept: Marker, found: Result) -> None:
    assert found.unplaced == ()
    faults = [f.text for f in check(found.marker) if f.severity is Severity.FAULT]
    assert faults == []
    at = {p.part: p for p in found.marker.placements}
    for was in kept.placements:
        held = kept.lay.parts[was.part].held
        if held is not None:
            now = at[was.part]
            assert (now.angle, now.flipped) == (held.angle, held.flipped)
            assert math.hypot(now.x - was.x, now.y - was.y) <= 1e-9
            if kept.sheets:
                assert found.marker.sheets[now.sheet] == kept.sheets[was.sheet]
    if kept.sheets:  # those that something is held on come first: another may be the last
        assert score(found.marker)[:2] <= score(kept)[:2]
    else:
        assert score(found.marker) <= score(kept)
    assert found.bound.value <= max(figures(found.marker).length, 1.0) * (1.0 + 1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_on_cloth(seed: int) -> None:
    dice = random.Random(seed)
    parts = parts_of(dice, TURNS[seed % 4])
    spacing = dice.choice((0.0, 3.0))
    lay = Lay(name="cloth", parts=parts, stock=Strip(width=90.0), spacing=spacing)
    assert_kept(*held_and_laid_again(lay, dice))


@pytest.mark.parametrize("seed", range(4))
def test_on_sheets(seed: int) -> None:
    dice = random.Random(100 + seed)
    parts = parts_of(dice, TURNS[seed % 4])
    ring = [(0, 0), (110, 0), (120, 40), (100, 90), (0, 90)]
    hole = rectangle(14.0, 10.0, at=(50.0, 30.0)).reversed()
    board = Sheet(name="board", outline=Path.polyline(ring, closed=True), holes=(hole,))
    some = replace(board, name="remnant", outline=rectangle(100.0, 70.0), holes=(), count=1)
    stock = Sheets(sheets=(some, board), margin=dice.choice((0.0, 2.0)))
    lay = Lay(name="sheets", parts=parts, stock=stock, spacing=dice.choice((0.0, 3.0)))
    assert_kept(*held_and_laid_again(lay, dice))


@pytest.mark.parametrize("seed", range(4))
def test_on_hides_with_zones_and_mates(seed: int) -> None:
    dice = random.Random(200 + seed)
    parts = tuple(
        replace(
            part,
            region="back" if i % 3 == 0 else None,
            mates=f"set {i % 3}",
            turn_group="pair" if i in (1, 4) else None,
        )
        for i, part in enumerate(parts_of(dice, Turns(slack=180.0)))
    )
    back = Region(name="back", outlines=(rectangle(150.0, 80.0, at=(10.0, 10.0)),))
    ring = [(0, 0), (180, -20), (300, 20), (290, 130), (150, 150), (0, 120)]
    hides = tuple(
        Sheet(
            name=f"hide {n}",
            outline=Path.polyline([(x, (0.9 + 0.1 * n) * y) for x, y in ring], closed=True),
            regions=(back,),
            count=1,
            cost=1.0 + n,
            origin=n,
        )
        for n in range(2)
    )
    lay = Lay(name="hides", parts=parts, stock=Sheets(sheets=hides), spacing=2.0)
    assert_kept(*held_and_laid_again(lay, dice))


@pytest.mark.parametrize("seed", range(4))
def test_on_a_print_and_at_a_fold(seed: int) -> None:
    dice = random.Random(300 + seed)
    grid = Lattice(along=24.0, across=16.0, drop=dice.choice((0.0, 0.5)))
    parts = []
    for i, part in enumerate(parts_of(dice, Turns())):
        low = Path.polyline([(0, 0), (40, 0), (30, 25), (0, 30)], closed=True)
        if i % 4 == 0:
            piece = Piece(name=f"half {i}", cut=low)
            parts.append(replace(part, piece=piece, edge=Edge.LOW, flip=False))
            continue
        phase = "seam" if i % 4 == 1 else None
        parts.append(replace(part, binding=Binding(anchor=(3.0, 2.0), lattice=grid, phase=phase)))
    lay = Lay(name="print", parts=tuple(parts), stock=Strip(width=120.0), spacing=1.0)
    assert_kept(*held_and_laid_again(lay, dice))


@pytest.mark.parametrize("seed", range(4))
def test_what_is_held_elsewhere_than_it_lay_pushes_the_others_away(seed: int) -> None:
    """One part is put on top of the others: they make room, on cloth there always is some."""
    dice = random.Random(400 + seed)
    parts = parts_of(dice, TURNS[seed % 4])
    lay = Lay(name="cloth", parts=parts, stock=Strip(width=90.0), spacing=2.0)
    first = search(lay, limits=SHORT, workers=1)
    at = first.marker.placements[0]
    box = parts[at.part].piece.cut.transformed(at.affine).points(0.5)
    shift = 40.0 - min(x for x, _ in box), 10.0 - min(y for _, y in box)
    there = replace(at, x=at.x + shift[0], y=at.y + shift[1])
    dragged = replace(first.marker, placements=(there, *first.marker.placements[1:]))
    kept = hold(dragged, [parts[at.part].name])
    found = search(kept.lay, limits=SHORT, workers=1, start=kept)
    assert found.unplaced == ()
    assert [f.text for f in check(found.marker)] == []
    now = next(p for p in found.marker.placements if p.part == at.part)
    assert (now.x, now.y, now.angle) == (there.x, there.y, there.angle)


@pytest.mark.parametrize("seed", range(4))
def test_a_search_that_goes_on_is_never_worse(seed: int) -> None:
    dice = random.Random(500 + seed)
    lay = Lay(name="cloth", parts=parts_of(dice, TURNS[seed]), stock=Strip(width=90.0), spacing=1.0)
    first = search(lay, limits=Limits(seconds=None, rounds=3), workers=1)
    again = search(lay, limits=SHORT, workers=1, seed=9, start=first.marker)
    assert score(again.marker) <= score(first.marker)
    assert check(again.marker) == ()
    part = replace(first.marker, placements=first.marker.placements[::2])
    rest = search(lay, limits=SHORT, workers=1, start=part)
    assert rest.unplaced == ()
    assert check(rest.marker) == ()
