"""Angles and lattices, against plain enumeration."""

import math

import numpy as np
import pytest

from nesting import Lay, Marker, Part, Placement, Strip, check
from nesting.marker.lay import Binding, Lattice
from nesting.marker.rules import angle_between, lattice_miss
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece


@pytest.mark.parametrize(
    ("first", "second", "between"),
    [(0, 0, 0), (0, 360, 0), (350, 10, 20), (-90, 270, 0), (0, 180, 180), (1, -179.5, 179.5)],
)
def test_angle_between(first, second, between):
    assert angle_between(first, second) == pytest.approx(between)
    assert angle_between(second, first) == pytest.approx(between)


@pytest.mark.parametrize("seed", range(40))
def test_nearest_lattice_point(seed):
    rng = np.random.default_rng(seed)
    along, across = (float(v) for v in rng.uniform(10.0, 80.0, 2))
    drop = float(rng.choice([0.0, 0.5, 0.3]))
    origin = (float(rng.uniform(-50, 50)), float(rng.uniform(-50, 50)))
    lattice = Lattice(along=along, across=across, drop=drop, origin=origin)
    for x, y in rng.uniform(-200.0, 200.0, (20, 2)).tolist():
        every = [
            max(
                abs(x - origin[0] - i * along - (drop * along if j % 2 else 0.0)),
                abs(y - origin[1] - j * across),
            )
            for i in range(-30, 31)
            for j in range(-30, 31)
        ]
        dx, dy = lattice_miss((x, y), lattice)
        assert max(abs(dx), abs(dy)) == pytest.approx(min(every), abs=1e-9)


def test_free_axes():
    assert lattice_miss((7.0, 3.0), Lattice()) == (0.0, 0.0)
    assert lattice_miss((7.0, 3.0), Lattice(along=5.0)) == (2.0, 0.0)
    assert lattice_miss((7.0, 3.0), Lattice(across=5.0)) == (0.0, -2.0)
    assert math.isclose(lattice_miss((7.0, 5.0), Lattice(along=6.0, across=5.0, drop=0.5))[0], -2.0)


def test_how_far_a_match_misses_is_the_least_there_is():
    """Anchors half a repeat apart from the first: the two of them are only 5 mm apart."""
    lattice = Lattice(along=100.0)
    parts = [
        Part(
            name=f"p{k}",
            piece=Piece(name="p", cut=Path.polyline([(0, 0), (9, 0), (9, 9), (0, 9)], closed=True)),
            binding=Binding(anchor=(0.0, 0.0), lattice=lattice, phase="seam"),
        )
        for k in range(3)
    ]
    places = [Placement(part=k, x=x, y=0.0) for k, x in enumerate((200.0, 347.5, 452.5))]
    lay = Lay(name="lay", parts=tuple(parts), stock=Strip(width=50.0))
    (finding,) = check(Marker(lay=lay, placements=tuple(places)))
    assert finding.amount == pytest.approx(52.5)  # of 100, less the widest gap of 47.5
