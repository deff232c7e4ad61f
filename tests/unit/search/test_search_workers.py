"""Two searches side by side: the same seed and rounds give the same marker."""

import time
from multiprocessing.connection import Connection

import pytest

from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.search import team as teams
from nesting.search.account import Account
from nesting.search.problem import first_marker, prepare
from nesting.search.result import Limits, Stopped
from nesting.search.solve import search
from nesting.search.team import Team
from nesting.search.worker import Schedule, Searcher

ANGLE = Path.polyline([(0, 0), (60, 0), (60, 20), (20, 20), (20, 60), (0, 60)], closed=True)
WEDGE = Path.polyline([(0, 0), (50, 0), (0, 30)], closed=True)


def lay():
    turns = Turns(angles=(0.0, 90.0, 180.0, 270.0))
    angle, wedge = Piece(name="angle", cut=ANGLE), Piece(name="wedge", cut=WEDGE)
    parts = [Part(name=f"a{i}", piece=angle, turns=turns) for i in range(6)]
    parts += [Part(name=f"w{i}", piece=wedge, turns=turns) for i in range(6)]
    return Lay(name="pair", parts=tuple(parts), stock=Strip(width=100.0))


def test_same_rounds_same_marker_with_two_workers():
    limits = Limits(seconds=None, rounds=4)
    first = search(lay(), limits=limits, workers=2, seed=3)
    again = search(lay(), limits=limits, workers=2, seed=3)
    assert first.stopped is Stopped.ROUNDS
    assert first.rounds == 4
    assert check(first.marker) == ()
    assert first.marker.placements == again.marker.placements


def test_more_rounds_are_never_worse():
    few = search(lay(), limits=Limits(seconds=None, rounds=0), workers=1)
    more = search(lay(), limits=Limits(seconds=None, rounds=3), workers=1)
    assert more.history[-1][1] <= few.history[-1][1]


def test_what_another_search_found_last_is_not_lost():
    """The shortest length that was told is that of the marker, whoever found it."""
    team = Team(Account(lay(), Limits(seconds=30.0), 1, 1, None, lambda: False))
    problem, _ = prepare(team.account.lay)
    start = first_marker(problem, stop=lambda: False)
    schedule = Schedule(seconds=30.0, rounds=None)
    own = Searcher(problem, start.world, start.layout, 1, schedule)
    found = Searcher(
        problem, problem.world(start.world.sheets, fine=False), start.layout, 2, schedule
    )
    while found.shortening.score >= own.shortening.score:
        found.step()
    own.hear(found.news())  # handed over, but not taken up yet
    _, _, best, _ = team._best_of(own, Stopped.TIME)
    assert start.world.used_length(best) == found.shortening.length


def asleep(pipe: Connection) -> None:
    """Be a helper that never gets under way."""
    time.sleep(60.0)


def test_with_a_clock_nobody_waits_for_a_helper_that_starts(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(teams, "serve", asleep)
    result = search(lay(), limits=Limits(seconds=6.0), workers=2, seed=3)
    assert result.stopped is Stopped.TIME
    assert result.rounds > 3  # those who wait do so from the third on
    assert check(result.marker) == ()
