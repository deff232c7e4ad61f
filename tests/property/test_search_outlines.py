"""What the search works on contains the true outline: never less, and not much more."""

import math
import random

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from nesting.search.prepared.convex import convex_parts
from nesting.search.prepared.easing import simplified
from nesting.search.prepared.growing import grown


def star(dice, n):
    angles = [2 * math.pi * (i + dice.uniform(0.0, 0.8)) / n for i in range(n)]
    return Polygon(
        [(r * math.cos(a), r * math.sin(a)) for a in angles for r in (dice.uniform(20.0, 100.0),)]
    )


@pytest.mark.parametrize("seed", range(40))
def test_simplified_contains_and_adds_little(seed):
    dice = random.Random(seed)
    ring = star(dice, dice.randint(3, 80))
    for share in (0.0, 0.001, 0.01):
        simple = simplified(ring, share=share, height=5.0)
        assert simple.is_valid
        assert ring.difference(simple).area <= 1e-9 * ring.area
        assert simple.area <= ring.area * (1.0 + share) + 1e-9
        assert shapely.get_num_coordinates(simple) <= shapely.get_num_coordinates(ring)


@pytest.mark.parametrize("seed", range(40))
def test_convex_parts_make_up_the_outline(seed):
    dice = random.Random(100 + seed)
    ring = star(dice, dice.randint(3, 60))
    if seed % 2:
        ring = ring.difference(Polygon([(-8, -8), (8, -8), (0, 9)]))
    parts = convex_parts(ring)
    for part in parts:
        ahead = np.roll(part, -1, axis=0) - part
        after = np.roll(ahead, -1, axis=0)
        turn = ahead[:, 0] * after[:, 1] - ahead[:, 1] * after[:, 0]
        assert (turn >= -1e-9).all()
    union = shapely.union_all([Polygon(part) for part in parts])
    assert union.symmetric_difference(ring).area <= 1e-9 * ring.area
    assert sum(Polygon(part).area for part in parts) == pytest.approx(ring.area)


@pytest.mark.parametrize("seed", range(25))
def test_grown_contains_all_points_nearer(seed):
    # shapely's own round buffer, fine enough that its chords are no excuse
    dice = random.Random(200 + seed)
    ring = star(dice, dice.randint(3, 30))
    by = dice.uniform(0.1, 10.0)
    got = grown(ring, by)
    inside = ring.buffer(by * (1 - 1e-9), quad_segs=256)
    assert inside.difference(got).area <= 1e-9 * ring.area
    assert got.difference(ring.buffer(1.01 * by, quad_segs=256)).area <= 1e-6 * ring.area
