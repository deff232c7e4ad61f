"""One of several searches: rounds of fixed effort, news at their boundaries."""

from __future__ import annotations

import math
import random
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from multiprocessing.connection import Connection

from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.problem import Problem
from nesting.search.shortening import News, Settings, Shortening

__all__ = ["ROUND", "Schedule", "Searcher", "serve"]

ROUND = 100_000
"""Positions weighed in a round."""
IDLE = 1_000
"""What a step counts for at least."""
LAG = 2
"""News of round r counts from round r + LAG on, so that nobody waits for the slower one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """When a search is over: seconds from its start, or rounds; None does not limit."""

    seconds: float | None
    rounds: int | None

    def progress(self, seconds: float, rounds: int) -> float:
        """Return the share of the effort that is spent; rounds alone count if they limit."""
        if self.rounds is not None:
            return rounds / max(self.rounds, 1)
        return seconds / max(self.seconds, 1e-9) if self.seconds is not None else 0.0


@dataclass(slots=True)
class Searcher:
    """A search that is driven round by round."""

    problem: Problem
    world: World
    layout: Layout
    seed: int
    schedule: Schedule
    settings: Settings = field(default_factory=Settings)
    shortening: Shortening = field(init=False)
    rounds: int = 0
    begin: float = field(default_factory=time.monotonic)
    _steps: Iterator[None] = field(init=False)

    def __post_init__(self) -> None:
        dice = random.Random(self.seed)
        self.world.state.seed(dice.getrandbits(32))
        self.shortening = Shortening(self.problem, self.world, self.layout, dice, self.settings)
        self.shortening.left = self.left
        self._steps = self.shortening.run()

    def left(self) -> float:
        """Return the seconds left."""
        seconds = self.schedule.seconds
        return math.inf if seconds is None else seconds - (time.monotonic() - self.begin)

    def step(self) -> bool:
        """Search a little (some tens of milliseconds); return whether a round is over."""
        spent = time.monotonic() - self.begin
        own = self.shortening
        own.progress = self.schedule.progress(spent, self.rounds)
        before = own.evaluations
        next(self._steps, None)
        if own.evaluations - before < IDLE:  # so that rounds end when nothing can be moved
            own.spend(IDLE)
        if own.evaluations < (self.rounds + 1) * ROUND:
            return False
        self.rounds += 1
        return True

    def news(self) -> News:
        """Return the best so far."""
        own = self.shortening
        return News(self.rounds, own.score, own.best, own.best_phases)

    def hear(self, news: News) -> None:
        """Note another search's best."""
        if news.score < self.shortening.score:
            self.shortening.news = news

    @property
    def over(self) -> bool:
        """Whether the rounds or seconds are spent."""
        s = self.schedule
        spent = time.monotonic() - self.begin
        return (s.rounds is not None and self.rounds >= s.rounds) or (
            s.seconds is not None and spent >= s.seconds
        )


def serve(pipe: Connection) -> None:
    """Run a search in a process of its own, told and heard through a pipe.

    First message in: (problem, boards, layout, seed, schedule, settings). Then out: News
    at each round's end; in: News of the others, or None to end.
    """
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        message = pipe.recv()
        if message is None:
            return
        problem, boards, layout, seed, schedule, settings = message
        searcher = Searcher(
            problem, problem.world(boards, fine=False), layout, seed, schedule, settings
        )
        _rounds(searcher, pipe)
    except (EOFError, BrokenPipeError, ConnectionResetError, OSError):
        return


def _rounds(searcher: Searcher, pipe: Connection) -> None:
    waiting: list[News] = []
    while not searcher.over:
        if not searcher.step():
            if pipe.poll():
                got = pipe.recv()
                if got is None:
                    return
                waiting.append(got)
            continue
        pipe.send(searcher.news())
        # If a clock alone ends the search nobody waits.
        due = searcher.rounds - LAG if searcher.schedule.rounds is not None else 0
        while due > 0 and not any(n.round == due for n in waiting):
            got = pipe.recv()
            if got is None:
                return
            waiting.append(got)
        for news in [n for n in waiting if n.round <= due or searcher.schedule.rounds is None]:
            searcher.hear(news)
            waiting.remove(news)
    pipe.send(None)
    while pipe.recv() is not None:
        pass
