"""Plies from rolls at hand, spliced only where the marker allows it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import pytest

from nesting.planning.orders.rolls import SpreadNeed, assign
from nesting.planning.orders.splice import Splice
from nesting.planning.records import LaidFrom

PLACES = (Splice(begin=900.0, end=980.0), Splice(begin=1500.0, end=1540.0))


def used(needs: Sequence[SpreadNeed], laid: Sequence[LaidFrom]) -> Counter[int]:
    """Return mm taken from each roll (0: new cloth), reckoned by hand from the work sheet."""
    taken: Counter[int] = Counter()
    for line in laid:
        need = needs[line.spread]
        if line.splice is None:
            taken[line.rolls[0]] += round(line.plies * need.length)
        else:
            begin, end = line.splice
            assert Splice(begin=begin, end=end) in need.places
            taken[line.rolls[0]] += round(need.ends + end)
            taken[line.rolls[1]] += round(need.length - need.ends - begin)
    return taken


def plies(laid: Sequence[LaidFrom]) -> Counter[int]:
    count: Counter[int] = Counter()
    for line in laid:
        count[line.spread] += line.plies
    return count


def test_every_ply_comes_from_a_roll_that_is_long_enough() -> None:
    needs = [
        SpreadNeed(plies=5, length=2000.0, ends=15.0),
        SpreadNeed(plies=3, length=700.0, ends=15.0),
    ]
    rolls = (6500.0, 5000.0, 1500.0)
    laid = assign(needs, rolls)
    assert plies(laid) == {0: 5, 1: 3}
    taken = used(needs, laid)
    assert taken[0] == 0
    assert all(taken[j] <= length for j, length in enumerate(rolls, start=1))


def test_what_the_rolls_cannot_give_is_new_cloth() -> None:
    needs = [SpreadNeed(plies=4, length=2000.0, ends=15.0)]
    laid = assign(needs, (3900.0, 2100.0))
    # Whole plies only: one from each roll, two of new cloth (remainders are too short).
    assert used(needs, laid) == {0: 4000, 1: 2000, 2: 2000}


def test_remainders_are_spliced_where_that_saves_a_ply() -> None:
    # Rolls of 3 m and 3.1 m: a ply of 2 m each, and a third from 1 m and 1.1 m. Only the
    # first place works: 15 + 980 ≤ 1000 and 2000 − 15 − 900 ≤ 1100.
    needs = [SpreadNeed(plies=3, length=2000.0, ends=15.0, places=PLACES)]
    laid = assign(needs, (3000.0, 3100.0))
    assert plies(laid) == {0: 3}
    taken = used(needs, laid)
    assert taken[0] == 0
    assert taken[1] <= 3000
    assert taken[2] <= 3100
    (spliced,) = (line for line in laid if line.splice)
    assert spliced.splice == (900.0, 980.0)


def test_no_splice_where_whole_plies_do() -> None:
    needs = [SpreadNeed(plies=2, length=2000.0, ends=15.0, places=PLACES)]
    assert not [line for line in assign(needs, (4000.0, 4000.0)) if line.splice]


@pytest.mark.parametrize("rolls", [(100.0,), ()])
def test_rolls_that_are_too_short_change_nothing(rolls: tuple[float, ...]) -> None:
    needs = [SpreadNeed(plies=2, length=2000.0, ends=15.0, places=PLACES)]
    assert assign(needs, rolls) == (LaidFrom(spread=0, plies=2, rolls=(0,)),)
