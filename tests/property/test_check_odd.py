"""However odd a marker is, the judge answers, and answers in numbers."""

import math

import numpy as np
import pytest

from nesting.marker.check import check
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
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Arc, Path
from nesting.pattern.piece import Piece


def odd_outline(rng):
    """Outlines that cross themselves, repeat points, are needles, slivers or run backwards."""
    n, size = int(rng.integers(3, 30)), float(10.0 ** rng.uniform(-1.0, 4.0))
    flat = np.linspace(0.0, size, n)
    square = size * np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=float)
    odd = (
        lambda: rng.uniform(0.0, size, (n, 2)),
        lambda: np.vstack([np.round(rng.uniform(0, 5, (n, 2))) * size, [(0, 0), (size, 0)]]),
        lambda: np.c_[flat, np.zeros(n)],
        lambda: np.c_[flat, 1e-9 * rng.normal(size=n)],
        lambda: np.repeat(square, 5, axis=0),
        lambda: np.array([[0, 0], [size, 0], [0.5 * size, 1e-7 * size]]),
        lambda: square[::-1],
    )
    k = int(rng.integers(len(odd) + 1))
    if k < len(odd):
        return Path.polyline(odd[k]().tolist(), closed=True)
    v = (0.0, size * float(rng.choice([1.0, 1e-6, 0.3])))
    return Path((Arc((0.0, 0.0), (size, 0.0), v, 0.0, 2.0 * math.pi),))


def some(rng, most):
    return tuple(odd_outline(rng) for _ in range(int(rng.integers(0, most + 1))))


def odd_part(rng, i):
    lattice = Lattice(
        along=rng.choice([None, 30.0]),
        across=rng.choice([None, 20.0]),
        drop=float(rng.choice([0.0, 0.5, 0.3])),
    )
    binding = Binding(anchor=(1.0, 2.0), lattice=lattice, phase=rng.choice([None, "match"]))
    return Part(
        name=f"part {i}",
        piece=Piece(name="odd", cut=odd_outline(rng), holes=some(rng, 1)),
        turns=Turns(angles=(0.0, 180.0)[: int(rng.integers(0, 3))]),
        region=rng.choice([None, "r", "s"]),
        binding=rng.choice([None, binding]),
        edge=rng.choice([None, Edge.LOW, Edge.HIGH]),
        turn_group=rng.choice([None, "group"]),
        mates=rng.choice([None, "mates"]),
        flip=bool(rng.random() < 0.5),
    )


def odd_stock(rng):
    if rng.random() < 0.5:
        return Strip(width=float(10.0 ** rng.uniform(0, 4)), longest=rng.choice([None, 100.0]))
    regions = tuple(
        Region(name=name, outlines=some(rng, 2) or (odd_outline(rng),)) for name in "rr"
    )
    sheets = tuple(
        Sheet(name="s", outline=odd_outline(rng), holes=some(rng, 2), regions=regions, count=count)
        for count in (None, 1)
    )
    return Sheets(sheets=sheets, margin=float(rng.choice([0.0, 3.0, 1e-7])))


def odd_number(rng):
    return float(rng.choice([0.0, rng.uniform(-100, 1000), math.nan, math.inf, 1e12, 1e8]))


@pytest.mark.parametrize("seed", range(150))
def test_any_marker_gets_an_answer(seed):
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 9))
    parts = tuple(odd_part(rng, i) for i in range(count))
    placements = tuple(
        Placement(
            part=int(rng.integers(-1, count + 1)),
            x=odd_number(rng) if rng.random() < 0.2 else float(rng.uniform(-10, 300)),
            y=odd_number(rng) if rng.random() < 0.2 else float(rng.uniform(-10, 300)),
            angle=float(rng.choice([0.0, 90.0, rng.uniform(-1e4, 1e4), math.inf])),
            flipped=bool(rng.random() < 0.3),
            sheet=int(rng.choice([0, 0, 0, 1, 2, -1])),
        )
        for _ in range(count)
    )
    spacing = float(rng.choice([0.0, 0.0, 2.0, 1e-8]))
    lay = Lay(name="odd", parts=parts, stock=odd_stock(rng), spacing=spacing)
    sheets = tuple(rng.integers(-1, 3, size=2).tolist())
    found = check(Marker(lay=lay, placements=placements, sheets=sheets))
    named = {name for f in found if f.kind == "missing" for name in f.parts}
    assert named == {parts[i].name for i in set(range(count)) - {p.part for p in placements}}
    for finding in found:
        assert finding.text
        assert finding.amount is None or 0.0 <= finding.amount < math.inf
        assert finding.at is None or all(math.isfinite(value) for value in finding.at)
