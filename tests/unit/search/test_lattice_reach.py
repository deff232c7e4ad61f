"""A print whose repeat may drift, where a strip ends between two motifs."""

from __future__ import annotations

import random
from collections.abc import Generator

import numpy as np
import pytest

from nesting import parse_job
from nesting.marker.check import check
from nesting.marker.lay import Binding, Lattice, Lay, Part, Strip
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.planning.lay.lays import lays
from nesting.search.prepared.state import Layout
from nesting.search.problem import first_marker, prepare
from nesting.search.result import Limits
from nesting.search.shortening import Shortening
from nesting.search.solve import search

JOB = """
[job]
name = "Case"
bags = 2
[[piece]]
name = "panel"
points = [[0, 0], [258, 0], [252, 207], [3, 207]]
line = "sewing"
seam_allowance = 6
[[cloth]]
name = "print"
width = 1369
print = { along = 108, across = 90, drop = 0.5, origin = [40, 60], off_centre = 2 }
spacing = 5
turn_slack = 20
wrong_side_up = true
[[cut]]
piece = "panel"
material = "print"
centred = true
"""


def test_the_tolerance_holds_at_the_end_of_the_strip() -> None:
    (lay,) = lays(parse_job(JOB))
    result = search(lay, limits=Limits(rounds=1, seconds=4.0), workers=1)
    assert not result.unplaced
    assert check(result.marker) == ()


BIAS = """
[job]
name = "Case"
[[piece]]
name = "panel"
rectangle = [148, 168]
line = "sewing"
seam_allowance = { all = 8.2, top = 13 }
grain = "across"
[[cloth]]
name = "print"
width = 1082
print = { along = 167.7, origin = [54.8, 46.8] }
spacing = 4.4
[[cut]]
piece = "panel"
material = "print"
copies = 3
pairs = true
grain = "bias"
centred = true
"""


def test_what_ends_at_the_last_motif_by_a_rounding_error_is_not_put_on_the_one_before() -> None:
    (lay,) = lays(parse_job(BIAS))
    result = search(lay, limits=Limits(rounds=0, seconds=4.0), workers=1)
    assert not result.unplaced
    assert check(result.marker) == ()


def dropped(*, width: float) -> Lay:
    """Return a part of 290 × 80 mm centred on a half-drop of 160 × 120 mm, and two others."""
    long = Path.polyline([(0, 0), (290, 0), (290, 40), (145, 80), (0, 80)], closed=True)
    small = Path.polyline([(0, 0), (60, 0), (60, 30), (20, 70), (0, 70)], closed=True)
    lattice = Lattice(along=160.0, across=120.0, drop=0.5, origin=(20.0, 30.0))
    binding = Binding(anchor=(145.0, 40.0), lattice=lattice)
    parts = [Part(name="long", piece=Piece(name="long", cut=long), binding=binding)]
    parts += [Part(name=f"{n}", piece=Piece(name="small", cut=small)) for n in range(2)]
    return Lay(name="half-drop", parts=tuple(parts), stock=Strip(width=width))


@pytest.mark.parametrize("y", [60.0, 150.0, 240.0, 270.0, 390.0])
def test_where_a_dropped_row_has_no_place_the_row_beside_it_has(y: float) -> None:
    """By hand: middles from 145 to 186 mm are 180 in plain rows, 100 and 260 in dropped ones."""
    problem, _ = prepare(dropped(width=500.0))
    start = first_marker(problem, stop=lambda: False)
    world, layout = start.world, start.layout
    world.set_length(331.0)
    at = layout.at.copy()
    at[0] = 100.0, y
    assert world.load(Layout(at, layout.shape, layout.sheet))
    x, there = world.save().at[0]
    assert x == pytest.approx(180.0)
    assert (there - 30.0) % 240.0 == pytest.approx(0.0, abs=1e-6)
    assert abs(there - y) <= 240.0


def test_parts_apart_are_no_marker_while_one_has_no_place() -> None:
    problem, _ = prepare(dropped(width=500.0))
    start = first_marker(problem, stop=lambda: False)
    world, layout = start.world, start.layout
    world.state.seed(1)
    search = Shortening(problem, world, layout, random.Random(1))
    world.set_length(250.0)  # too short for the long part anywhere
    assert not world.load(Layout(layout.at + np.array([[-40.0, 0.0]]), layout.shape, layout.sheet))

    def ended(steps: Generator[None, None, bool]) -> bool:
        while True:
            try:
                next(steps)
            except StopIteration as end:
                return bool(end.value)

    before = search.length
    assert not ended(search._attempt(200))
    assert search.length == before
