"""One search: shorter and shorter until it is told to stop.

A generator that yields every few tens of milliseconds, so that whoever drives it can look
at the clock, pass on news from other searches, or end it. A length is asked for that is a
little less than the best marker's, and parts that overlap are moved until none do, by guided
local search (Egeblad, Nielsen and Odgaard 2007, EJOR 183, 1249-1266; Umetani et al. 2009,
ITOR 16, 661-683). It goes in strides as long as they succeed; then it persists at one length,
going on from what came nearest to it, disturbed (iterated local search: Lourenço, Martin and
Stützle 2003, Handbook of Metaheuristics, 320-353; of whole layouts Gardeyn, Vanden Berghe and
Wauters 2025, arXiv 2509.13329). What was tried, and came to what: `benchmarks/NOTES.md`.
"""

from __future__ import annotations

import math
import random
from collections.abc import Generator, Iterator
from dataclasses import dataclass, field

import numpy as np

from nesting.search import disturb
from nesting.search.misses import Miss, Misses
from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.state import Ending, Layout
from nesting.search.prepared.world import World
from nesting.search.problem import Problem, renumbered
from nesting.search.squeezing import squeeze

__all__ = ["News", "Settings", "Shortening"]


LEAST_GAIN = 2e-5
"""By which share of the length a miss must be shorter to be of use."""
LENGTH_PRICE = 0.05
"""What a mm of length counts for beside a mm of overlap."""
BETTER = 0.98
"""An attempt goes on as long as its least overlap falls below this share of itself."""
FEW_ITEMS = 40
"""So few parts may be a jigsaw…"""
NEAR_FLOOR = 0.8
"""…if they fill this share of their marker already."""
SHOTS, FIRST_SHOTS = 0.03, 3_000_000
"""Attempts at no waste at all may weigh this share of all positions, at the start so many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How a search spends its effort; lengths are shares of the present length."""

    quantum: int = 20_000
    """Positions weighed between two looks at the clock."""
    stride: float = 0.02
    """What is tried first, and the most."""
    step: float = 0.0025
    """What is persisted at when longer strides fail."""
    least_step: float = 0.00001
    hasty: int = 150
    """Iterations without improvement before a stride is given up."""
    patience: int = 800
    again: tuple[int, ...] = (160, 320, 640, 1280)
    """The same for a miss that is gone on from: lays differ in how soon anything comes of one."""
    window: int = 100
    """Iterations without improvement after which the linear program has a try."""
    kept: int = 16
    """Misses that are gone on from."""
    ending: float = 0.96
    """From this share of the time on only the best marker is squeezed."""


@dataclass(frozen=True, slots=True, eq=False)
class News:
    """A worker's best at the end of a round: (boards, length) and where everything lies."""

    round: int
    score: tuple[int, float]
    layout: Layout
    phases: Floats


@dataclass(slots=True)
class Shortening:
    """A search in progress; `best` is its shortest layout without overlap."""

    problem: Problem
    world: World
    best: Layout
    dice: random.Random
    settings: Settings = field(default_factory=Settings)
    progress: float = 0.0
    length: float = field(init=False)
    best_phases: Floats = field(init=False)
    nearest: Miss = field(init=False)
    attempts: int = 0
    successes: int = 0
    shots: int = 0
    news: News | None = None
    until: float = 1.0
    left: squeeze.Clock = squeeze.endless
    _spent: int = 0

    def __post_init__(self) -> None:
        self.length = self.world.used_length(self.best)
        self.best_phases = self.world.state.phases
        self.nearest = Miss(math.inf, self.best)

    @property
    def score(self) -> tuple[int, float]:
        """Boards used and the length on the last: the less the better."""
        return (len(self.world.sheets), self.length)

    @property
    def evaluations(self) -> int:
        """Positions weighed so far."""
        return self._spent + self.world.state.weighed

    def spend(self, evaluations: int) -> None:
        """Count effort that weighed no positions."""
        self._spent += evaluations

    # ------------------------------------------------------------ parts of a search

    def _separate(self, patience: int) -> Generator[None, None, bool]:
        """Separate the present positions; tell whether nothing overlaps any more.

        Whenever it is stuck, what came nearest since the last time is pushed apart by the
        linear program, if it is nearer than all before; if that fails, it goes on as if
        nothing had been.
        """
        w, s = self.world, self.settings
        w.state.start(min(s.window, patience))
        self.nearest = Miss(math.inf, w.save())
        quiet = 0
        while quiet < patience:
            ending = w.state.separate(s.quantum)
            if ending is Ending.APART:
                return True
            if ending is Ending.GOING:
                yield
                if self.progress >= self.until:
                    break
                continue
            here, near = w.save(), Miss(w.state.least, w.state.layout(least=True))
            quiet = 0 if near.overlap < BETTER * self.nearest.overlap else quiet + s.window
            if near.overlap < self.nearest.overlap:
                self.nearest = near
                if self._saved(near.layout):
                    return True
            w.load(here)
            w.state.resume()
        w.load(self.nearest.layout)
        return False

    def _saved(self, missed: Layout) -> bool:
        """Make the best of a miss: a marker that is only less shorter than was tried."""
        w, target = self.world, self.world.length
        shifts = w.state.phases
        one_board = len(w.sheets) == 1
        if one_board:
            w.set_length(max(target, self.length * (1.0 - LEAST_GAIN)))
        w.load(missed)
        if squeeze.repair(w, steps=8, shorter=LENGTH_PRICE if one_board else 0.0, left=self.left):
            return True
        w.set_length(target)
        w.state.phases = shifts
        return False

    def _attempt(self, patience: int) -> Generator[None, None, bool]:
        self.attempts += 1
        done = yield from self._separate(patience)
        w = self.world
        if done and w.bound:  # where a print falls a part may be left without a place
            done = w.load(w.save()) and w.overlap() <= 0.0
        if done:
            self.successes += 1
            self._take(squeeze.compact(self.world, left=self.left))
        yield
        return done

    def _take(self, layout: Layout) -> None:
        length = self.world.used_length(layout)
        if length < self.length:
            self.best, self.length = layout, length
            self.best_phases = self.world.state.phases
            while (
                len(self.world.sheets) > 1
                and not (self.best.sheet == len(self.world.sheets) - 1).any()
            ):
                self._fewer_boards(len(self.world.sheets) - 1)

    def _fewer_boards(self, count: int) -> None:
        """Go on with the first boards alone; the best layout must not use the others."""
        old = self.world
        new = self.problem.world(old.sheets[:count], fine=False)
        new.state.go_on_from(old.state)
        self._spent += old.state.weighed
        new.state.phases = self.best_phases
        self.best = renumbered(old, new, self.best, {b: b for b in range(count)})
        self.world = new
        self.length = new.used_length(self.best)

    def _cut(self, layout: Layout, length: float) -> bool:
        """Load a layout at a shorter length, moving all beyond a random cut nearer.

        False if some part can't lie anywhere at that length.
        """
        w = self.world
        if length < w.kept_length:
            return False
        last = len(w.sheets) - 1
        board = w.sheets[last]
        by = w.used_length(layout) - length
        at = layout.at.copy()
        if by > 0.0:
            cut = board.x + board.low + self.dice.uniform(0.0, 1.0) * length
            beyond = (layout.sheet == last) & (at[:, 0] > cut)
            at[beyond, 0] -= by
        w.set_length(length)
        w.state.phases = self.best_phases
        return w.load(Layout(at, layout.shape, layout.sheet))

    def hear(self) -> None:
        """Take up what another search has found, if it is better."""
        news, self.news = self.news, None
        if news is None or news.score >= self.score:
            return
        boards = len(self.world.sheets)
        if news.score[0] < boards:
            self.best = Layout(self.best.at, self.best.shape, np.minimum(self.best.sheet, 0))
            self._fewer_boards(news.score[0])
        self.best, self.length = news.layout, news.score[1]
        self.best_phases = news.phases
        self.world.state.phases = news.phases

    # ------------------------------------------------------------ the search

    def run(self) -> Iterator[None]:
        """Search without end."""
        s = self.settings
        self.until = s.ending
        self.world.set_length(self.length)
        self.world.load(self.best)
        if self.world.overlap() <= 0.0:
            self._take(squeeze.compact(self.world, left=self.left))
        yield
        yield from self._drop_boards()
        stride = s.stride
        while True:
            yield from self._in_strides(stride)
            stride = 2.0 * s.step
            if self.progress < s.ending:
                yield from self._persist()
            else:
                yield from self._finish()

    def _in_strides(self, stride: float) -> Iterator[None]:
        """Shorten the best marker by as much at once as succeeds, until not even a step does."""
        s = self.settings
        while stride >= s.step and self.progress < s.ending:
            self.hear()
            done = False
            if self._cut(self.best, self.length * (1.0 - stride)):
                done = yield from self._attempt(s.hasty)
            stride = min(stride * 1.4, s.stride) if done else stride / 2

    def _drop_boards(self) -> Iterator[None]:
        """Try to do without the last board, as long as the areas leave hope."""
        tries = 0
        while len(self.world.sheets) > 1 and tries < 12 and self.progress < 0.5:
            w = self.world
            last = len(w.sheets) - 1
            if w.keeps(last):
                return
            free = sum(max(a.free for a in b.areas.values()) for b in w.sheets[:last])
            if w.area > 0.97 * free:
                return
            w.set_length(-1.0)
            if not w.load(self.best if tries % 3 == 0 else self.nearest.layout):
                return
            disturb.clear_board(w, self.dice, last)
            if tries % 3:
                disturb.disturb(w, self.dice)
            tries += 1
            if (yield from self._attempt(self.settings.patience)):
                tries = 0

    def _persist(self) -> Iterator[None]:
        """Attempt one length, going on from what came nearest, until an attempt succeeds."""
        s, w = self.settings, self.world
        misses = Misses(s.kept)
        target = self.length * (1.0 - s.step)
        if not self._cut(self.best, target):
            yield from self._finish()
            return
        patience = s.patience
        while self.progress < s.ending:
            if (yield from self._attempt(patience)):
                return
            patience = self.dice.choice(s.again)
            before = self.score
            self.hear()
            if self.score < before:
                return
            misses.add(self.nearest)
            if self._shot_due() and (yield from self._shot()):
                return
            w.set_length(target)
            w.load(misses.draw(self.dice))
            disturb.disturb(w, self.dice)

    @property
    def _floor(self) -> float:
        """The length of a strip that the parts would fill without any waste (mm)."""
        stock = self.world.lay.stock
        return self.world.area / stock.width if stock.open_ended else 0.0

    def _shot_due(self) -> bool:
        if self._floor < self.world.kept_length:
            return False
        if self.world.items > FEW_ITEMS or not NEAR_FLOOR < self._floor / self.length < 1 - 1e-7:
            return False
        return self.shots < max(FIRST_SHOTS, SHOTS * self.evaluations) and self.attempts % 4 == 0

    def _shot(self) -> Generator[None, None, bool]:
        """Scatter all parts at the length without waste.

        Shorter and shorter markers do not lead to a jigsaw's one solution: it is found from
        anywhere, or not.
        """
        before = self.evaluations
        w = self.world
        w.set_length(self._floor * (1.0 + 1e-6))
        disturb.scatter(w, self.dice)
        done = yield from self._attempt(self.settings.patience)
        self.shots += self.evaluations - before
        return done

    def _finish(self) -> Iterator[None]:
        """Squeeze the best marker by ever smaller steps."""
        s = self.settings
        self.until = 1.0
        step = 0.0005
        while self.progress < 1.0:
            self.hear()
            done = False
            if self._cut(self.best, self.length * (1.0 - step)):
                done = yield from self._attempt(s.hasty)
            else:
                yield
            step = min(step * 1.4, 0.002) if done else max(step * 0.8, s.least_step)
        yield
