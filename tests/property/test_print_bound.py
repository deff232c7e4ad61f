"""What a print's repeat asks for is never more than the truth, and far more than the area."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from nesting.marker.bound import lower_bound
from nesting.marker.figures import figures
from nesting.marker.lay import Binding, Lattice, Lay, Part, Strip
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Piece
from nesting.search.print_bound import printed_length
from nesting.search.result import Limits
from nesting.search.solve import search
from tests.property.good_markers import MARKERS, good
from tests.published.test_print_optimum import BODY, LONG, SPACING, WIDE, WIDTH, panels, shortest

ROUNDING = 1e-2
"""mm by which a print may be off as the judge sees it."""


def proved(lay: Lay, high: float) -> float:
    return printed_length(lay, low=lower_bound(lay).value, high=high, ends=lambda: False)


@pytest.mark.parametrize("seed", [seed for seed in MARKERS if seed % 4 == 2])
def test_it_is_not_above_a_good_marker(seed: int) -> None:
    marker, _ = good(seed)
    length = figures(marker).length
    assert proved(marker.lay, 1.5 * length) <= length


def ring(dice: random.Random) -> Piece:
    """Return a triangle, a quadrangle or a pentagon with a notch, up to 700 by 500 mm."""
    w, h = dice.uniform(150, 700), dice.uniform(100, 500)
    corners: list[Point] = [(0, 0), (w, dice.uniform(0, 0.3) * h), (dice.uniform(0.3, 1) * w, h)]
    if dice.random() < 0.7:
        corners.append((dice.uniform(0, 0.2) * w, dice.uniform(0.7, 1) * h))
    if dice.random() < 0.4:
        corners.insert(3, (0.5 * corners[2][0], 0.6 * h))
    return Piece(name="ring", cut=Path.polyline(corners, closed=True))


@pytest.mark.parametrize("seed", range(30))
def test_it_is_not_above_the_shortest_marker(seed: int) -> None:
    """Few parts of random shapes, with every drop; the shortest by enumeration and CP-SAT."""
    dice = random.Random(seed)
    pieces = [(ring(dice), dice.randint(1, 3)) for _ in range(dice.randint(1, 3))]
    lattice = Lattice(
        along=dice.uniform(150, 500),
        across=dice.uniform(200, 450),
        drop=dice.choice([0.0, 0.5, 1 / 3]),
        origin=(dice.uniform(0, 400), dice.uniform(0, 400)),
    )
    parts = panels(pieces, lattice)
    lay = Lay(name="print", parts=tuple(parts), stock=Strip(width=WIDTH), spacing=SPACING)
    best = shortest(parts, lattice)
    got = proved(lay, 2.0 * best)
    assert got <= best + 1e-3
    # Drift may only help, by twice what it is.
    loose = replace(lattice, tolerance=5.0)
    parts = [
        replace(part, binding=Binding(anchor=part.binding.anchor, lattice=loose))
        for part in parts
        if part.binding is not None
    ]
    assert proved(replace(lay, parts=tuple(parts)), 2.0 * best) <= got + 1e-9


@pytest.mark.parametrize(
    ("pieces", "drop", "origin"),
    [
        ([(BODY, 8)], 0.0, (300.0, 320.0)),
        ([(BODY, 4), (LONG, 4)], 0.5, (250.0, 330.0)),
        ([(LONG, 3), (WIDE, 3), (BODY, 2)], 0.5, (200.0, 340.0)),
    ],
    ids=["eight alike", "two sorts, half-drop", "three sorts, half-drop"],
)
def test_eight_panels_on_a_large_repeat_are_bounded_by_their_motifs(
    pieces: list[tuple[Piece, int]], drop: float, origin: Point
) -> None:
    lattice = Lattice(along=640.0, across=640.0, drop=drop, origin=origin)
    parts = panels(pieces, lattice)
    lay = Lay(name="print", parts=tuple(parts), stock=Strip(width=WIDTH), spacing=SPACING)
    best = shortest(parts, lattice)
    assert lower_bound(lay).value < 0.5 * best  # the area says little
    result = search(lay, limits=Limits(seconds=None, rounds=2), workers=1)
    assert best - ROUNDING <= result.bound.value <= best
    assert result.bound_by == "by the print's repeat, as it lies here"


def test_nothing_is_proved_of_parts_that_share_a_shift_or_lie_anywhere() -> None:
    lattice = Lattice(along=640.0, across=640.0)
    free = [replace(part, binding=None) for part in panels([(BODY, 3)], lattice)]
    matched: list[Part] = [
        replace(part, binding=Binding(anchor=(0.0, 0.0), lattice=lattice, phase="m"))
        for part in free
    ]
    for parts in (free, matched):
        lay = Lay(name="free", parts=tuple(parts), stock=Strip(width=WIDTH))
        assert proved(lay, 5_000.0) == lower_bound(lay).value


def test_what_is_known_is_tried_itself() -> None:
    """Derived: a front of 400 reaches from 100 to 500 at the first motif that it can have, 300."""
    front = Piece(
        name="front", cut=Path.polyline([(0, 0), (400, 0), (400, 60), (0, 60)], closed=True)
    )
    binding = Binding(anchor=(200, 30), lattice=Lattice(along=300, across=300))
    part = Part(name="front", piece=front, binding=binding)
    lay = Lay(name="front", parts=(part,), stock=Strip(width=900.0))
    assert lower_bound(lay).value == pytest.approx(400.0)
    assert proved(lay, 900.0) == pytest.approx(500.0, abs=0.05)
