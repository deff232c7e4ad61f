"""Random small lays: whatever the search answers, the judge finds nothing wrong with it."""

import math
import random
from dataclasses import replace

import pytest

from nesting.errors import Severity
from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.pattern.path import Arc, Line, Path
from nesting.pattern.piece import Piece
from nesting.search.result import Limits
from nesting.search.solve import search
from nesting.search.warm import warm

TURNS = (
    Turns(),
    Turns(angles=(0.0, 180.0)),
    Turns(angles=(0.0, 90.0, 180.0, 270.0)),
    Turns(angles=(0.0, 180.0), slack=4.0),
    Turns(slack=180.0),
)


@pytest.fixture(scope="module", autouse=True)
def _compiled():
    warm()


def star(dice, size):
    """Return a ring about the origin with random radii: any notches, no crossing."""
    n = dice.randint(3, 12)
    angles = sorted(dice.uniform(0, 2 * math.pi) for _ in range(n))
    after = angles[1:] + angles[:1]
    if any((b - a) % (2 * math.pi) > 3.0 for a, b in zip(angles, after, strict=True)):
        angles = [2 * math.pi * k / n for k in range(n)]
    return [
        (size * r * math.cos(a), size * r * math.sin(a))
        for a in angles
        for r in (dice.uniform(0.15, 0.5),)
    ]


def comb(dice, size):
    """Teeth: deep narrow notches."""
    teeth, depth = dice.randint(2, 4), dice.uniform(0.3, 0.8) * size
    pitch = size / teeth
    ring = [(0.0, 0.0), (size, 0.0)]
    for t in reversed(range(teeth)):
        x = t * pitch
        ring += [(x + pitch, depth), (x + 0.5 * pitch, depth), (x + 0.5 * pitch, 0.2 * depth)]
        ring += [(x, 0.2 * depth)] if t else []
    return [*ring[:-1], (0.5 * pitch, 0.2 * depth), (0.0, 0.2 * depth)]


def needle(dice, size):
    return [(0.0, 0.0), (size, 0.0), (size, size * 10 ** dice.uniform(-3, -1))]


def spiral(dice, size):
    w = size / 7
    return [
        (x * w, y * w)
        for x, y in [(0, 0), (7, 0), (7, 7), (0, 7), (0, 2), (5, 2), (5, 5), (2, 5), (2, 4),
                     (4, 4), (4, 3), (1, 3), (1, 6), (6, 6), (6, 1), (0, 1)]
    ]  # fmt: skip


def blob(dice, size):
    r = size * dice.uniform(0.2, 0.5)
    flat = r * dice.uniform(0.3, 1.0)
    return Path(
        (
            Arc((0.0, 0.0), (r, 0.0), (0.0, flat), 0.0, math.pi),
            Line((-r, 0.0), (-r, -0.5 * r)),
            Line((-r, -0.5 * r), (r, -0.5 * r)),
            Line((r, -0.5 * r), (r, 0.0)),
        )
    )


def random_parts(dice, scale, turns):
    parts = []
    for kind in range(dice.randint(1, 4)):
        make = dice.choice((star, star, comb, needle, spiral, blob))
        ring = make(dice, scale * dice.uniform(0.2, 1.0))
        cut = ring if isinstance(ring, Path) else Path.polyline(ring, closed=True)
        piece = Piece(name=f"{make.__name__} {kind}", cut=cut)
        flip = dice.random() < 0.3
        for copy in range(dice.randint(1, 4)):
            parts.append(Part(name=f"{kind}.{copy}", piece=piece, turns=turns, flip=flip))
    return tuple(parts)


@pytest.mark.parametrize("seed", range(150))
def test_random_strips(seed):
    dice = random.Random(seed)
    scale = 10.0 ** dice.choice((0, 2, 2, 4))
    parts = random_parts(dice, scale, dice.choice(TURNS))
    spacing = dice.choice((0.0, 0.0, 0.02, 0.1)) * scale
    lay = Lay(name=str(seed), parts=parts, stock=Strip(width=1.5 * scale), spacing=spacing)
    result = search(lay, limits=Limits(seconds=0.15), workers=1, seed=seed)
    missing = {u.part for u in result.unplaced}
    faults = [f for f in check(result.marker) if f.severity is Severity.FAULT]
    assert [f for f in faults if f.kind != "missing"] == []
    assert len(result.marker.placements) + len(missing) == len(parts)
    assert missing == set()


@pytest.mark.parametrize("seed", range(80))
def test_random_sheets(seed):
    dice = random.Random(1000 + seed)
    parts = random_parts(dice, 100.0, dice.choice(TURNS[:4]))
    ring = [(0, 0), (180, 0), (210, 60), (180, 150), (60, 130), (0, 150)]
    outline = Path.polyline(ring, closed=True)
    x, y = dice.uniform(30, 130), dice.uniform(30, 90)
    hole = Path.polyline([(x, y), (x, y + 20), (x + 15, y + 15), (x + 25, y)], closed=True)
    sheet = Sheet(name="hide", outline=outline, holes=(hole,), count=dice.choice((1, 2, None)))
    stock = Sheets(sheets=(sheet,), margin=dice.choice((0.0, 3.0)))
    lay = Lay(name=str(seed), parts=parts, stock=stock, spacing=dice.choice((0.0, 2.0, 8.0)))
    result = search(lay, limits=Limits(seconds=0.2), workers=1, seed=seed)
    faults = [f for f in check(result.marker) if f.severity is Severity.FAULT]
    assert [f for f in faults if f.kind != "missing"] == []
    assert len(result.marker.placements) + len(result.unplaced) == len(parts)
    assert result.marker.placements
    for left in result.unplaced if sheet.count is None else ():  # on none of all the sheets
        alone = replace(lay, parts=(parts[left.part],))
        assert search(alone, limits=Limits(seconds=0.2), workers=1, seed=seed).unplaced
