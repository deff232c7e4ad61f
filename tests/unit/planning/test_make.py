"""How a result becomes an entry of a plan, and a width is chosen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from nesting.amounts import METRIC
from nesting.errors import JobError
from nesting.job.job import Bag, Cut, Job
from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Cloth, Width
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.planning.buying.settle import best_width, tried_at
from nesting.planning.compare import compare_widths
from nesting.planning.entry import entry_for
from nesting.planning.make import make_plan
from nesting.planning.orders.order import make_order_plan
from nesting.quantity import of_length
from nesting.search.result import Result, Stopped, Unplaced

PIECE = Piece(name="panel", cut=rectangle(400, 300))
LAY = Lay(
    name="canvas",
    parts=tuple(Part(name=f"panel {i}", piece=PIECE, copy=i, copies=2) for i in (1, 2)),
    stock=Strip(width=900.0),
    spacing=2.0,
)
WIDTH = Width(booked=920.0, usable=900.0, price=10.0)
CANVAS = Cloth(name="canvas", widths=(WIDTH,))


def result(*at: tuple[float, float]) -> Result:
    return Result(
        marker=Marker(
            lay=LAY,
            placements=tuple(Placement(part=i, x=x, y=y) for i, (x, y) in enumerate(at)),
        ),
        stopped=Stopped.TIME,
        bound=of_length(400.0),
        seconds=1.0,
        first_seconds=0.1,
        rounds=3,
        seed=1,
        workers=1,
        history=((0.1, 500.0),),
        unplaced=tuple(Unplaced(part=i, why="no time") for i in range(len(at), 2)),
    )


def test_whatever_a_search_says_its_marker_is_judged() -> None:
    assert entry_for(CANVAS, result((0, 0), (0, 302)), width=WIDTH, amounts=METRIC).good
    overlapping = entry_for(CANVAS, result((0, 0), (0, 250)), width=WIDTH, amounts=METRIC)
    assert not overlapping.good
    assert any("panel" in finding.text for finding in overlapping.findings)


def test_a_marker_without_all_its_parts_is_not_good() -> None:
    entry = entry_for(CANVAS, result((0, 0)), width=WIDTH, amounts=METRIC)
    assert not entry.good
    assert entry.unplaced == (("panel 2", "no time"),)


def test_a_width_that_holds_all_parts_is_chosen_before_a_cheaper_one() -> None:
    whole, lacking = result((0, 0), (500, 0)), result((0, 0))
    short = result((0, 0), (0, 302))
    tried = [
        tried_at(WIDTH, (entry_for(CANVAS, one, width=WIDTH, amounts=METRIC),), CANVAS)
        for one in (lacking, whole, short)
    ]
    assert tried[0].needed is None
    assert "1 part finds no room" in tried[0].why
    assert best_width(tried[:2]) == 1
    assert best_width(tried) == 2
    assert best_width(tried[:1]) is None


def test_without_prices_the_least_cloth_is_chosen() -> None:
    wide = Width(booked=1520.0, usable=1500.0)
    narrow = Width(booked=920.0, usable=900.0)
    cloth = replace(CANVAS, widths=(narrow, wide))
    tried = [
        tried_at(w, (entry_for(cloth, result((0, 0), (0, 302)), width=w, amounts=METRIC),), cloth)
        for w in (wide, narrow)
    ]
    assert best_width(tried) == 1
    assert tried[1].cost is None
    assert tried[1].to_buy.value == pytest.approx(400.0)


FLAP = Piece(name="flap", cut=rectangle(200.0, 90.0))
FELT = Cloth(name="felt", widths=(Width(booked=900.0, usable=900.0),))


@pytest.mark.parametrize("planned", [make_plan, make_order_plan, compare_widths])
@pytest.mark.parametrize(
    ("pieces", "materials", "cut", "said"),
    [
        ((FLAP,), (FELT,), ("flpa", "felt"), r'no piece of the bag "Purse" is named "flpa"'),
        ((FLAP,), (FELT,), ("flap", "fetl"), r'no material is named "fetl" \(there are: felt\)'),
        ((FLAP, FLAP), (FELT,), ("flap", "felt"), 'two pieces are named "flap"'),
        ((FLAP,), (FELT, FELT), ("flap", "felt"), 'two materials are named "felt"'),
    ],
)
def test_a_job_built_in_python_names_what_there_is(
    planned: Callable[..., object],
    pieces: tuple[Piece, ...],
    materials: tuple[Cloth, ...],
    cut: tuple[str, str],
    said: str,
) -> None:
    cuts = (Cut(piece=cut[0], material=cut[1]),)
    bag = Bag(name="Purse", pieces=pieces, cuts=cuts)
    with pytest.raises(JobError, match=said):
        planned(Job(name="Purse", bags=(bag,), materials=materials), seconds=0.0)
