"""What came nearest to a length: the nearest are kept, the nearer the likelier gone on from."""

import random

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from nesting.search.misses import Miss, Misses
from nesting.search.prepared.state import Layout

NOWHERE = Layout(np.zeros((0, 2)), np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64))


@given(st.lists(st.floats(0.0, 1e6), min_size=1, max_size=30), st.integers(1, 5))
def test_the_nearest_are_kept_in_whatever_order_they_come(overlaps: list[float], kept: int):
    misses = Misses(kept)
    for overlap in overlaps:
        misses.add(Miss(overlap, NOWHERE))
    assert [one.overlap for one in misses.near] == sorted(overlaps)[:kept]


def test_the_nearer_is_the_likelier_and_none_is_left_out():
    layouts = [Layout(np.full((1, 2), float(i)), NOWHERE.shape, NOWHERE.sheet) for i in range(4)]
    misses = Misses(4)
    for overlap, layout in zip((4.0, 1.0, 3.0, 2.0), layouts, strict=True):
        misses.add(Miss(overlap, layout))
    dice = random.Random(1)
    drawn = [misses.draw(dice).at[0, 0] for _ in range(3000)]
    counts = [drawn.count(i) for i in (1.0, 3.0, 2.0, 0.0)]
    assert sum(counts) == 3000
    # the nearest of four drawn evenly: all are of the last k with (k / 4)⁴, so 175, 65, 15 and 1 of
    # 256; five standard deviations of a binomial of 3,000
    for count, of_256 in zip(counts, (175, 65, 15, 1), strict=True):
        share = of_256 / 256
        assert abs(count - 3000 * share) < 5 * (3000 * share * (1 - share)) ** 0.5
    assert counts[3] > 0
