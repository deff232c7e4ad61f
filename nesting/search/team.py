"""Searches side by side, each but the first in a process of its own: who is best wins."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from typing import Any

from nesting.search.account import Account
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.problem import Problem, Start
from nesting.search.result import Stopped
from nesting.search.shortening import News, Settings
from nesting.search.squeezing import refine
from nesting.search.worker import LAG, Schedule, Searcher, serve

__all__ = ["Team"]

_ASIDE = 0.06
"""Share of the effort from which on another way to search is tried."""

_SETTLED = 25
"""Rounds without a shorter last sheet after which it is left as it is."""


@dataclass(slots=True)
class _Helper:
    """Another search in its own process, and what it last told of each round.

    `awake`: it has told something. `knows`: the best score it was told.
    """

    process: Any
    pipe: Connection
    news: dict[int, News] = field(default_factory=dict)
    done: bool = False
    awake: bool = False
    knows: tuple[int, float] | None = None


@dataclass(slots=True)
class Team:
    """The helpers of a search, and the best that any has told.

    `aside`: another way to search, tried once for as many positions as the first search has
    weighed by then.
    """

    account: Account
    helpers: list[_Helper] = field(default_factory=list)
    heard: News | None = None
    aside: Callable[[Problem, Start, int], tuple[News | None, int]] | None = None

    def may_be_many(self) -> bool:
        """Whether helpers are worth their start."""
        long = self.account.limits.seconds is None or self.account.limits.seconds > 2.0
        few = self.account.limits.rounds is not None and self.account.limits.rounds <= 0
        alone = multiprocessing.current_process().daemon
        return self.account.workers > 1 and long and not few and not alone

    def hire(self) -> None:
        """Start the helpers."""
        context = multiprocessing.get_context("spawn")
        for _ in range(self.account.workers - 1):
            ours, theirs = context.Pipe()
            process = context.Process(target=serve, args=(theirs,), daemon=True)
            process.start()
            theirs.close()
            self.helpers.append(_Helper(process, ours))

    def dismiss(self) -> None:
        """End the helpers, who have nothing to save."""
        for helper in self.helpers:
            helper.process.terminate()
        for helper in self.helpers:
            helper.process.join()
            helper.pipe.close()
        self.helpers.clear()

    def search(self, problem: Problem, start: Start) -> tuple[Stopped, World, Layout, int]:
        """Drive the first search and listen to the others; return the best of all."""
        reserve = refine.share_of_time(problem)
        left = None
        if self.account.limits.seconds is not None:
            left = max((self.account.limits.seconds - self.account.spent()) * (1.0 - reserve), 0.0)
        schedule = Schedule(seconds=left, rounds=self.account.limits.rounds)
        settings = Settings()
        for number, helper in enumerate(self.helpers, 1):
            boards, seed = start.world.sheets, self.account.seed + 1_000_003 * number
            try:
                helper.pipe.send((problem, boards, start.layout, seed, schedule, settings))
            except OSError:  # it could not start: one search less
                helper.done = True
        own = Searcher(problem, start.world, start.layout, self.account.seed, schedule, settings)
        own_news: dict[int, News] = {}
        quiet = 0
        why = None
        while why is None:
            try:
                before = own.shortening.score
                over = own.step()
                if own.shortening.score < before:
                    self.account.tell(own.shortening.score, own.shortening.world)
                self._listen(own.shortening.world)
                if over:
                    self._try_aside(own, start)
                    self.account.rounds = own.rounds
                    best = self.account.told
                    own_news[own.rounds] = own.news()
                    self._exchange(own, own_news)
                    quiet = (
                        0
                        if self.account.told != best or own.shortening.score < before
                        else quiet + 1
                    )
                why = self._why(own, quiet)
            except KeyboardInterrupt:
                why = Stopped.INTERRUPTED
        if why is Stopped.ROUNDS:
            self._wait_for_all(own.rounds)
        return self._best_of(own, why)

    def _try_aside(self, own: Searcher, start: Start) -> None:
        """Search aside once, when the first search has had its share."""
        if self.aside is None or own.shortening.progress < _ASIDE:
            return
        aside, self.aside = self.aside, None
        news, weighed = aside(own.problem, start, own.shortening.evaluations)
        own.shortening.spend(weighed)
        if news is not None:
            own.hear(news)

    def _why(self, own: Searcher, quiet: int) -> Stopped | None:
        limits = self.account.limits
        if self.account.stop():
            return Stopped.INTERRUPTED
        if self.account.reached is not None:
            reached = self.account.value(self.account.reached)
            strip = self.account.lay.stock.open_ended
            enough = limits.length if strip else limits.sheets
            if enough is not None and reached <= enough:
                return Stopped.TARGET
            # On sheets the number is proved at once; the last is still to be squeezed, so
            # that what is left of it is worth keeping.
            settled = strip or quiet >= _SETTLED
            if settled and self.account.proved():
                return Stopped.OPTIMAL
        if limits.rounds is not None and own.rounds >= limits.rounds:
            return Stopped.ROUNDS
        if own.over:
            return Stopped.TIME
        if limits.patience is not None and quiet >= limits.patience:
            return Stopped.STALLED
        return None

    def _listen(self, world: World) -> None:
        for helper in self.helpers:
            while not helper.done and helper.pipe.poll():
                self._receive(helper, world)

    def _receive(self, helper: _Helper, world: World) -> None:
        try:
            news = helper.pipe.recv()
        except (EOFError, OSError):
            news = None
        if news is None:
            helper.done = True
            return
        helper.awake = True
        if self.account.limits.rounds is None:  # only the best counts, whenever it came
            helper.news.clear()
        helper.news[news.round] = news
        if self.heard is None or news.score < self.heard.score:
            self.heard = news
        self.account.tell(news.score, world)

    def _exchange(self, own: Searcher, own_news: dict[int, News]) -> None:
        """Hand round the best of the round that is due; wait for those who lag.

        If a clock alone ends the search nobody waits, least of all for a helper that starts.
        """
        if self.account.limits.rounds is None:
            own_news.clear()
            self._hand_on(own)
            return
        due = own.rounds - LAG
        if due <= 0 or not self.helpers:
            return
        for helper in self.helpers:
            while due not in helper.news and not helper.done and not self.account.ends():
                if helper.pipe.poll(0.05):
                    self._receive(helper, own.shortening.world)
        known = [own_news.pop(due)]
        known += [h.news.pop(due) for h in self.helpers if due in h.news]
        best = min(known, key=lambda n: n.score)
        own.hear(best)
        for helper in self.helpers:
            if not helper.done:
                try:
                    helper.pipe.send(best)
                except OSError:
                    helper.done = True

    def _hand_on(self, own: Searcher) -> None:
        """Tell the first search and all that are awake of what is better than they know."""
        best = own.news()
        if self.heard is not None and self.heard.score < best.score:
            best = self.heard
            own.hear(best)
        for helper in self.helpers:
            if helper.done or not helper.awake:
                continue
            if helper.knows is None or best.score < helper.knows:
                helper.knows = best.score
                try:
                    helper.pipe.send(best)
                except OSError:
                    helper.done = True

    def _wait_for_all(self, rounds: int) -> None:
        for helper in self.helpers:
            while rounds not in helper.news and not helper.done and not self.account.ends():
                if helper.pipe.poll(0.05):
                    try:
                        news = helper.pipe.recv()
                    except (EOFError, OSError):
                        news = None
                    if news is None:
                        helper.done = True
                    else:
                        helper.news[news.round] = news

    def _best_of(self, own: Searcher, why: Stopped) -> tuple[Stopped, World, Layout, int]:
        world, best = own.shortening.world, own.news()
        last = {}
        for helper in self.helpers:
            for news in helper.news.values():
                if self.account.limits.rounds is None or news.round <= own.rounds:
                    last[helper.process.pid, news.round] = news
        # what was handed on and not yet taken up counts as well
        handed = own.shortening.news, self.heard if self.account.limits.rounds is None else None
        for news in (*last.values(), *(n for n in handed if n is not None)):
            if news.score < best.score:
                best = news
        if best.score[0] < len(world.sheets):
            world = own.problem.world(world.sheets[: best.score[0]], fine=False)
        world.state.phases = best.phases
        return why, world, best.layout, own.rounds
