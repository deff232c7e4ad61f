"""The last squeeze with small turns, where several boards are alike."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np

from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.search.result import Limits
from nesting.search.solve import search
from nesting.search.squeezing.turn import telling


def _hole(x: float, y: float, size: float) -> Path:
    return Path.polyline([(x, y), (x, y + size), (x + size, y + size), (x + size, y)], closed=True)


def test_parts_that_turn_stay_off_the_flaws_of_the_last_of_several_alike_sheets() -> None:
    sheet = Sheet(
        name="board",
        outline=rectangle(220.0, 120.0),
        holes=(_hole(60.0, 40.0, 40.0), _hole(150.0, 70.0, 20.0)),
    )
    wedge = Piece(
        name="wedge", cut=Path.polyline([(0, 0), (62, 0), (50, 30), (5, 34)], closed=True)
    )
    part = Part(name="wedge", piece=wedge, turns=Turns(slack=180.0))
    parts = tuple(replace(part, name=f"wedge {n}") for n in range(12))
    lay = Lay(name="board", parts=parts, stock=Sheets(sheets=(sheet,)), spacing=1.0)
    for seed in (1, 2, 3):
        result = search(lay, limits=Limits(rounds=1), seed=seed, workers=1)
        assert not result.unplaced
        assert len(result.marker.sheets) > 1
        assert not check(result.marker)


def test_rows_that_are_left_out_never_hold_first() -> None:
    """However items move and turn within the bounds, the least gap is that of a row that stays."""
    dice = np.random.default_rng(5)
    angle = dice.uniform(0.0, 2.0 * np.pi, 300)
    turned = dice.normal(0.0, 40.0, (300, 2))
    gaps = dice.uniform(-1.0, 12.0, 300)
    rows = np.column_stack([np.cos(angle), np.sin(angle), turned, gaps])
    pairs = np.repeat([[0, 1], [0, 2], [1, 2]], [120, 1, 179], axis=0)
    trust, spin = 0.8, 0.03
    told = telling(pairs, rows, trust=trust, spin=spin)
    assert told[120]  # the only one of its two items
    assert told.sum() < 200
    ends = np.array(list(product((-1.0, 1.0), repeat=6)))
    some = np.concatenate([ends, dice.uniform(-1.0, 1.0, (2_000, 6))])
    bounds = np.array([trust, trust, trust, trust, spin, spin])
    for first, end in ((0, 120), (120, 121), (121, 300)):
        here, stay = rows[first:end], told[first:end]
        for x0, y0, x1, y1, one, other in some * bounds:
            moved = np.array([x1 - x0, y1 - y0, one, other])
            gap = here[:, 4] + here[:, :4] @ moved
            assert gap[stay].min() <= gap.min() + 1e-12
