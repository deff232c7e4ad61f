"""Panels centred on a large motif against exhaustive enumeration of the print's lattice.

Every panel's motif has to lie on a lattice point, so a marker is a choice of a point for
each; CP-SAT proves the shortest. Overlaps are judged by shapely, not by the search.
"""

from __future__ import annotations

import pytest
from ortools.sat.python import cp_model
from shapely import affinity

from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Binding, Lattice, Lay, Part, Strip
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon
from nesting.search.result import Limits
from nesting.search.solve import search

WIDTH, SPACING, COLUMNS = 1400.0, 4.0, 12


def ring(*points: Point) -> Path:
    return Path.polyline(points, closed=True)


BODY = Piece(name="body", cut=ring((0, 0), (430, 20), (430, 300), (0, 320)))
LONG = Piece(name="long", cut=ring((0, 60), (90, 0), (760, 0), (760, 300), (90, 300), (0, 240)))
WIDE = Piece(name="wide", cut=ring((0, 0), (360, 60), (360, 600), (0, 660)))


def panels(pieces: list[tuple[Piece, int]], lattice: Lattice) -> list[Part]:
    parts = []
    for piece, count in pieces:
        x0, y0, x1, y1 = piece_polygon(piece).bounds
        middle = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
        binding = Binding(anchor=middle, lattice=lattice)
        parts += [
            Part(name=f"{piece.name} {k}", piece=piece, binding=binding) for k in range(count)
        ]
    return parts


def shortest(parts: list[Part], lattice: Lattice) -> float:
    """Return the length of the shortest marker on the lattice, proved by CP-SAT (mm)."""
    assert lattice.along is not None
    assert lattice.across is not None
    model = cp_model.CpModel()
    length = model.new_int_var(0, 100_000_000, "length")
    places = []
    for part in parts:
        assert part.binding is not None
        area = piece_polygon(part.piece)
        mine = []
        for j in range(-1, 6):
            for i in range(-1, COLUMNS):
                drop = lattice.drop * lattice.along if j % 2 else 0.0
                x = lattice.origin[0] + i * lattice.along + drop - part.binding.anchor[0]
                y = lattice.origin[1] + j * lattice.across - part.binding.anchor[1]
                there = affinity.translate(area, x, y)
                low_x, low_y, high_x, high_y = there.bounds
                if low_x >= -1e-9 and low_y >= -1e-9 and high_y <= WIDTH + 1e-9:
                    chosen = model.new_bool_var("")
                    model.add(length >= round(1000 * high_x)).only_enforce_if(chosen)
                    mine.append((chosen, there))
        model.add_exactly_one(chosen for chosen, _ in mine)
        places.append(mine)
    for a, one in enumerate(places):
        for other in places[a + 1 :]:
            for chosen, here in one:
                for also, there in other:
                    if here.distance(there) < SPACING - 1e-9:
                        model.add_bool_or(~chosen, ~also)
    model.minimize(length)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = 60.0
    assert solver.solve(model) == cp_model.OPTIMAL
    return solver.objective_value / 1000.0


@pytest.mark.parametrize(
    ("pieces", "drop", "origin"),
    [
        ([(BODY, 8)], 0.0, (300.0, 320.0)),
        ([(BODY, 4), (LONG, 4)], 0.0, (400.0, 350.0)),
        ([(BODY, 4), (LONG, 4)], 0.5, (250.0, 330.0)),
        ([(LONG, 3), (WIDE, 3), (BODY, 2)], 0.5, (200.0, 340.0)),
    ],
    ids=["eight alike", "two sorts", "half-drop", "three sorts, half-drop"],
)
def test_eight_panels_on_a_repeat_of_64_cm(
    pieces: list[tuple[Piece, int]], drop: float, origin: Point
) -> None:
    lattice = Lattice(along=640.0, across=640.0, drop=drop, origin=origin)
    parts = panels(pieces, lattice)
    lay = Lay(name="print", parts=tuple(parts), stock=Strip(width=WIDTH), spacing=SPACING)
    result = search(lay, limits=Limits(rounds=12), workers=1)
    assert not result.unplaced
    assert not check(result.marker)
    best = shortest(parts, lattice)
    assert best - 1e-3 <= figures(result.marker).length <= 1.02 * best
