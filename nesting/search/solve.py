"""The search, from lay to marker."""

from __future__ import annotations

import math
import multiprocessing
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from multiprocessing.connection import Connection
from typing import Any

from nesting.marker.bound import lower_bound
from nesting.marker.lay import Lay, Strip
from nesting.marker.marker import Marker
from nesting.search import opening, rectangles, refine
from nesting.search.explore import Settings
from nesting.search.problem import Problem, Start, first_marker, on_used, prepare
from nesting.search.result import Limits, Observer, Progress, Result, Stopped, Unplaced
from nesting.search.square import first_square, squared
from nesting.search.state import Layout
from nesting.search.worker import LAG, News, Schedule, Searcher, serve
from nesting.search.world import World

__all__ = ["search"]

_FIRST = 0.6
"""Share of the time after which the first marker is finished in a hurry…"""

_LEAST = 0.5
"""…though not before so many seconds."""

_SETTLED = 25
"""Rounds without a shorter last sheet after which it is left as it is."""


_NO_ROOM = "no room was found for it beside the other parts"

_OPEN = (Stopped.INTERRUPTED, Stopped.TIME, Stopped.NOT_FOUND)
"""Ends that leave open whether all parts can be laid."""


def search(
    lay: Lay,
    *,
    limits: Limits = Limits(),  # noqa: B008
    seed: int = 1,
    workers: int = 2,
    observer: Observer | None = None,
    stop: Callable[[], bool] | None = None,
) -> Result:
    """Lay all parts on as little of the stock as can be found within the limits.

    Parameters
    ----------
    lay
        The problem.
    limits
        When to end. With `rounds` and no other limit that bites, the same lay, seed and
        workers give the same marker on any machine.
    seed
        Of all random choices.
    workers
        Searches side by side, each but the first in a process of its own.
    observer
        Told of every improvement.
    stop
        Asked every few hundredths of a second; True ends the search.

    Returns
    -------
    Result
        The best marker found. Parts that could not be laid are named in `unplaced`; a lay
        that can't be met is a result, not an exception.

    """
    never = stop or (lambda: False)

    def run(lay: Lay, limits: Limits, observer: Observer | None) -> Result:
        course = _Run(lay, limits, seed, max(1, workers), observer, never)
        try:
            return course.go()
        finally:
            course.dismiss()

    square = squared(lay)
    if square is None:
        return run(lay, limits, observer)
    return first_square(lay, square, run, limits, observer)


@dataclass(slots=True)
class _Helper:
    """Another search in its own process, and what it last told of each round."""

    process: Any
    pipe: Connection
    news: dict[int, News] = field(default_factory=dict)
    done: bool = False


@dataclass(slots=True)
class _Run:
    lay: Lay
    limits: Limits
    seed: int
    workers: int
    observer: Observer | None
    stop: Callable[[], bool]
    begin: float = field(default_factory=time.monotonic)
    helpers: list[_Helper] = field(default_factory=list)
    history: list[tuple[float, float]] = field(default_factory=list)
    bound: float = 0.0
    first: float = 0.0
    told: tuple[int, float] | None = None
    reached: tuple[int, float] | None = None
    rounds: int = 0
    heard: News | None = None

    # ------------------------------------------------------------ the course of a search

    def go(self) -> Result:
        """Search."""
        if not self.lay.parts:
            return self._nothing()
        if self._may_be_many():
            self._hire()
        problem, unfit = prepare(self.lay)
        if not problem.lay.parts:
            return self._answer(None, None, unfit, Stopped.INFEASIBLE, 0)
        if isinstance(self.lay.stock, Strip) and not unfit and rectangles.is_rectangular(self.lay):
            return self._rectangles(problem)
        if opening.has_costs(self.lay):
            start = opening.cheapest(problem, self._room_for, stop=self._ends, hurry=self._late)
        else:
            start = first_marker(problem, stop=self._ends, hurry=self._late)
        if start.left:
            start = self._room_for(start)
            if not start.left:
                start = on_used(problem, start)
            if start.left:
                return self._without(problem, start, unfit)
        self.first = self._spent()
        self.bound = lower_bound(self.lay) if not unfit else lower_bound(problem.lay)
        self._tell((len(start.world.sheets), start.world.used_length(start.layout)), start.world)
        why, world, layout, rounds = self._search(problem, start)
        return self._finish(problem, world, layout, unfit, why, rounds)

    def _may_be_many(self) -> bool:
        long = self.limits.seconds is None or self.limits.seconds > 2.0
        few = self.limits.rounds is not None and self.limits.rounds <= 0
        alone = multiprocessing.current_process().daemon
        return self.workers > 1 and long and not few and not alone

    def _hire(self) -> None:
        context = multiprocessing.get_context("spawn")
        for _ in range(self.workers - 1):
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

    def _search(self, problem: Problem, start: Start) -> tuple[Stopped, World, Layout, int]:
        """Drive the first search and listen to the others; return the best of all."""
        reserve = refine.share_of_time(problem)
        left = None
        if self.limits.seconds is not None:
            left = max((self.limits.seconds - self._spent()) * (1.0 - reserve), 0.0)
        schedule = Schedule(seconds=left, rounds=self.limits.rounds)
        settings = Settings()
        for number, helper in enumerate(self.helpers, 1):
            boards, seed = start.world.sheets, self.seed + 1_000_003 * number
            try:
                helper.pipe.send((problem, boards, start.layout, seed, schedule, settings))
            except OSError:  # it could not start: one search less
                helper.done = True
        own = Searcher(problem, start.world, start.layout, self.seed, schedule, settings)
        own_news: dict[int, News] = {}
        quiet = 0
        why = None
        while why is None:
            try:
                before = own.explorer.score
                over = own.step()
                if own.explorer.score < before:
                    self._tell(own.explorer.score, own.explorer.world)
                self._listen(own.explorer.world)
                if over:
                    self.rounds = own.rounds
                    best = self.told
                    own_news[own.rounds] = own.news()
                    self._exchange(own, own_news)
                    quiet = 0 if self.told != best or own.explorer.score < before else quiet + 1
                why = self._why(own, quiet)
            except KeyboardInterrupt:
                why = Stopped.INTERRUPTED
        if why is Stopped.ROUNDS:
            self._wait_for_all(own.rounds)
        return self._best_of(own, why)

    def _why(self, own: Searcher, quiet: int) -> Stopped | None:
        limits = self.limits
        if self.stop():
            return Stopped.INTERRUPTED
        if self.reached is not None:
            reached = self._value(self.reached)
            if limits.target is not None and reached <= limits.target:
                return Stopped.TARGET
            # On sheets the number is proved at once; the last is still to be squeezed, so
            # that what is left of it is worth keeping.
            settled = isinstance(self.lay.stock, Strip) or quiet >= _SETTLED
            if settled and reached <= self.bound * (1 + 1e-9):
                return Stopped.OPTIMAL
        if limits.rounds is not None and own.rounds >= limits.rounds:
            return Stopped.ROUNDS
        if own.over:
            return Stopped.TIME
        if limits.patience is not None and quiet >= limits.patience:
            return Stopped.STALLED
        return None

    def _value(self, score: tuple[int, float]) -> float:
        return score[1] if isinstance(self.lay.stock, Strip) else float(score[0])

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
        helper.news[news.round] = news
        if self.heard is None or news.score < self.heard.score:
            self.heard = news
        self._tell(news.score, world)

    def _exchange(self, own: Searcher, own_news: dict[int, News]) -> None:
        """Hand round the best of the round that is due; wait for those who lag."""
        due = own.rounds - LAG
        if due <= 0 or not self.helpers:
            return
        for helper in self.helpers:
            while due not in helper.news and not helper.done and not self._ends():
                if helper.pipe.poll(0.05):
                    self._receive(helper, own.explorer.world)
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

    def _wait_for_all(self, rounds: int) -> None:
        for helper in self.helpers:
            while rounds not in helper.news and not helper.done and not self._ends():
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
        world, best = own.explorer.world, own.news()
        last = {}
        for helper in self.helpers:
            for news in helper.news.values():
                if self.limits.rounds is None or news.round <= own.rounds:
                    last[helper.process.pid, news.round] = news
        # what was handed on and not yet taken up counts as well
        handed = own.explorer.news, self.heard if self.limits.rounds is None else None
        for news in (*last.values(), *(n for n in handed if n is not None)):
            if news.score < best.score:
                best = news
        if best.score[0] < len(world.sheets):
            world = own.problem.world(world.sheets[: best.score[0]], fine=False)
        world.state.phases = best.phases
        return why, world, best.layout, own.rounds

    # ------------------------------------------------------------ special courses

    def _nothing(self) -> Result:
        marker = Marker(lay=self.lay, placements=())
        return Result(
            marker=marker, stopped=Stopped.OPTIMAL, bound=0.0, seconds=self._spent(),
            first_seconds=0.0, rounds=0, seed=self.seed, workers=self.workers,
        )  # fmt: skip

    def _rectangles(self, problem: Problem) -> Result:
        self.dismiss()
        start = first_marker(problem, stop=self._ends, hurry=self._late)
        hint = None
        if not start.left:
            hint = Marker(lay=self.lay, placements=tuple(start.world.placements(start.layout)))
        seconds = self.limits.seconds
        if seconds is not None:
            seconds = max(seconds - self._spent(), 0.0)
        got = rectangles.pack(
            self.lay, seconds=seconds, rounds=self.limits.rounds, seed=self.seed,
            workers=self.workers, hint=hint, stop=self.stop, observer=self.observer,
        )  # fmt: skip
        return replace(got, seconds=self._spent())

    def _room_for(self, start: Start, share: float = 0.95) -> Start:
        """Find room for parts that bottom-left could not lay, in a share of the time."""
        timed = self.limits.seconds is not None
        return refine.insert(
            start, seed=self.seed, ends=lambda: self._ends(share=share), timed=timed
        )

    def _without(self, problem: Problem, start: Start, unfit: tuple[Unplaced, ...]) -> Result:
        """Answer with what could be laid; the other parts are named."""
        none = _too_little(problem.lay)
        why = "there is no room for all parts on the stock, which is proved" if none else _NO_ROOM
        more = tuple(Unplaced(part=problem.index[i], why=why) for i in start.left)
        unplaced = tuple(sorted((*unfit, *more), key=lambda u: u.part))
        self.first = self._spent()
        stopped = Stopped.TIME if self._ends() else Stopped.NOT_FOUND
        if none:
            stopped = Stopped.INFEASIBLE
        if self.stop():
            stopped = Stopped.INTERRUPTED
        placements = start.world.placements(start.layout)
        return self._answer((problem, start.world), placements, unplaced, stopped, 0)

    # ------------------------------------------------------------ the answer

    def _finish(
        self, problem: Problem, world: World, layout: Layout, unfit: tuple[Unplaced, ...],
        why: Stopped, rounds: int,
    ) -> Result:  # fmt: skip
        placements = refine.finish(
            problem, world, layout, seed=self.seed,
            ends=lambda share: why is Stopped.INTERRUPTED or self._ends(share),
            left=self._left,
        )  # fmt: skip
        return self._answer((problem, world), placements, unfit, why, rounds)

    def _answer(
        self, of: tuple[Problem, World] | None, placements: list[Any] | None,
        unplaced: tuple[Unplaced, ...], why: Stopped, rounds: int,
    ) -> Result:  # fmt: skip
        sheets: tuple[int, ...] = ()
        done = []
        if of is not None and placements is not None:
            problem, world = of
            boards = world.sheets
            used = {
                boards[b].number: boards[b].index for b in sorted({p.sheet for p in placements})
            }
            sheet = {number: n for n, number in enumerate(used)}
            if not isinstance(self.lay.stock, Strip):
                sheets = tuple(used.values())
            done = [
                replace(p, part=problem.index[p.part], sheet=sheet[boards[p.sheet].number])
                for p in placements
            ]
        marker = Marker(lay=self.lay, placements=tuple(done), sheets=sheets)
        if unplaced and why not in _OPEN:
            # What is not laid fits nowhere even alone: known for certain if it may not turn.
            turning = any(self.lay.parts[u.part].turns.slack for u in unplaced)
            why = Stopped.NOT_FOUND if turning else Stopped.INFEASIBLE
        return Result(
            marker=marker, stopped=why, bound=self.bound, seconds=self._spent(),
            first_seconds=self.first, rounds=rounds, seed=self.seed, workers=self.workers,
            unplaced=unplaced, history=tuple(self.history),
        )  # fmt: skip

    # ------------------------------------------------------------ clock and news

    def _spent(self) -> float:
        return time.monotonic() - self.begin

    def _left(self) -> float:
        seconds = self.limits.seconds
        return math.inf if seconds is None else seconds - self._spent()

    def _ends(self, share: float = 1.0) -> bool:
        seconds = self.limits.seconds
        return self.stop() or (seconds is not None and self._spent() >= share * seconds)

    def _late(self) -> bool:
        """Whether the first marker is taking too much of the time."""
        seconds = self.limits.seconds
        late = seconds is not None and self._spent() >= max(_FIRST * seconds, _LEAST)
        return late or self.stop()

    def _tell(self, score: tuple[int, float], world: World) -> None:
        """Note an improvement and tell the observer."""
        if self.told is not None and score >= self.told:
            return
        self.told = score
        used = world.sheets[: score[0]]
        self.reached = (len({board.number for board in used}), score[1])
        self.history.append((self._spent(), score[1]))
        if self.observer is None:
            return
        board = used[-1]
        room = {b.number: max(a.free for a in b.areas.values()) for b in reversed(used)}
        free = sum(area for number, area in room.items() if number != board.number)
        whole = max(board.areas.values(), key=lambda a: a.free)
        if isinstance(self.lay.stock, Strip):
            free = self.lay.stock.width * score[1]
        else:
            free += whole.free * min(1.0, score[1] / (board.high - board.low))
        self.observer(
            Progress(
                length=score[1],
                sheets=self.reached[0],
                density=world.area / free if free else 0.0,
                bound=self.bound,
                rounds=self.rounds,
                seconds=self._spent(),
            )
        )


def _too_little(lay: Lay) -> bool:
    """Whether it is proved that a stock is too small for all parts of a lay at once."""
    stock = lay.stock
    if isinstance(stock, Strip):
        return stock.longest is not None and lower_bound(lay) > stock.longest * (1.0 + 1e-9)
    if any(sheet.count is None for sheet in stock.sheets):
        return False
    return lower_bound(lay) > sum(sheet.count or 0 for sheet in stock.sheets)
