"""The account of one search: its clock, what it tells meanwhile, and its answer."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from nesting.marker.bound import meets
from nesting.marker.lay import Lay
from nesting.marker.marker import Marker, Placement
from nesting.quantity import Quantity
from nesting.search.prepared.world import World
from nesting.search.problem import Problem
from nesting.search.result import Limits, Observer, Progress, Result, Stopped, Unplaced

__all__ = ["Account"]

_FIRST = 0.6
"""Share of the time after which the first marker is finished in a hurry…"""

_LEAST = 0.5
"""…though not before so many seconds."""

_KEPT = (Stopped.INTERRUPTED, Stopped.NOT_FOUND, Stopped.INFEASIBLE)
"""Ends that are told as they are where some parts are not laid."""


@dataclass(slots=True)
class Account:
    """What a search was asked, and what has come of it so far.

    `start`: the marker to go on from. `first`: when the first marker stood (seconds); `told`: the
    best score told, `reached` the same in sheets of the stock. `bound_by`: what says the bound.
    """

    lay: Lay
    limits: Limits
    seed: int
    workers: int
    observer: Observer | None
    stop: Callable[[], bool]
    start: Marker | None = None
    begin: float = field(default_factory=time.monotonic)
    history: list[tuple[float, float]] = field(default_factory=list)
    bound: float = 0.0
    bound_by: str = ""
    first: float = 0.0
    told: tuple[int, float] | None = None
    reached: tuple[int, float] | None = None
    rounds: int = 0

    # ------------------------------------------------------------ clock

    def spent(self) -> float:
        """Return the seconds since the search began."""
        return time.monotonic() - self.begin

    def left(self) -> float:
        """Return the seconds left."""
        seconds = self.limits.seconds
        return math.inf if seconds is None else seconds - self.spent()

    def ends(self, share: float = 1.0) -> bool:
        """Whether it was stopped, or a share of the time is spent."""
        seconds = self.limits.seconds
        return self.stop() or (seconds is not None and self.spent() >= share * seconds)

    def late(self) -> bool:
        """Whether the first marker is taking too much of the time."""
        seconds = self.limits.seconds
        late = seconds is not None and self.spent() >= max(_FIRST * seconds, _LEAST)
        return late or self.stop()

    # ------------------------------------------------------------ news

    def tell(self, score: tuple[int, float], world: World) -> None:
        """Note an improvement and tell the observer."""
        if self.told is not None and score >= self.told:
            return
        self.told = score
        used = world.sheets[: score[0]]
        self.reached = (len({board.number for board in used}), score[1])
        self.history.append((self.spent(), score[1]))
        if self.observer is None:
            return
        board = used[-1]
        room = {b.number: max(a.free for a in b.areas.values()) for b in reversed(used)}
        free = sum(area for number, area in room.items() if number != board.number)
        whole = max(board.areas.values(), key=lambda a: a.free)
        if self.lay.stock.open_ended:
            free = self.lay.stock.width * score[1]
        else:
            free += whole.free * min(1.0, score[1] / (board.high - board.low))
        self.observer(
            Progress(
                lay=self.lay.name,
                length=score[1],
                sheets=self.reached[0],
                density=world.area / free if free else 0.0,
                bound=self.least,
                rounds=self.rounds,
                seconds=self.spent(),
            )
        )

    def value(self, score: tuple[int, float]) -> float:
        """Return what counts of a score: the length on a strip, else sheets."""
        return score[1] if self.lay.stock.open_ended else float(score[0])

    def proved(self) -> bool:
        """Whether nothing better is left to find: what was reached is the bound."""
        reached = self.reached
        return reached is not None and meets(self.lay, self.value(reached), self.bound)

    @property
    def least(self) -> Quantity:
        """What no marker of the lay is below."""
        return Quantity(self.bound, self.lay.stock.taken_in)

    # ------------------------------------------------------------ the answer

    def answer(
        self, of: tuple[Problem, World] | None, placements: list[Placement] | None,
        unplaced: tuple[Unplaced, ...], why: Stopped, rounds: int,
    ) -> Result:  # fmt: skip
        """Return the result: `of` and placements are what was laid, if anything was."""
        sheets: tuple[int, ...] = ()
        done = []
        if of is not None and placements is not None:
            problem, world = of
            boards = world.sheets
            used = {
                boards[b].number: boards[b].index for b in sorted({p.sheet for p in placements})
            }
            sheet = {number: n for n, number in enumerate(used)}
            if not self.lay.stock.open_ended:
                sheets = tuple(used.values())
            done = [
                replace(p, part=problem.index[p.part], sheet=sheet[boards[p.sheet].number])
                for p in placements
            ]
        marker = Marker(lay=self.lay, placements=tuple(done), sheets=sheets)
        if unplaced and why not in _KEPT:
            why = Stopped.NOT_FOUND
        return Result(
            marker=marker, stopped=why, bound=self.least, bound_by=self.bound_by,
            seconds=self.spent(), first_seconds=self.first, rounds=rounds, seed=self.seed,
            workers=self.workers,
            unplaced=unplaced, history=tuple(self.history),
        )  # fmt: skip
