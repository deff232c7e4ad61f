"""Parts that may turn freely: half the effort as drawn, the rest with more turns.

Freedom makes a search slower, and parts a few degrees askew for nothing are a nuisance to
ruler and knife. So a lay is searched as it is drawn first, as long and as it would be without
the freedom in half the time, and never comes out longer than that. Then it is searched at right
angles and freely, each for a while, and the better one goes on. A square marker is squeezed with
small turns at the end. Odd turns have to pay.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from nesting.marker.bound import least_and_how, meets
from nesting.marker.lay import Lay
from nesting.marker.marker import Marker
from nesting.quantity import Quantity
from nesting.search.effort import Effort, Run
from nesting.search.result import Limits, Observer, Result, Stopped
from nesting.search.square import AS_DRAWN, PAYS, RIGHT, squared
from nesting.search.starting.given import Score, score

__all__ = ["freed"]

_DRAWN = 0.5
"""Share of the effort that the search as drawn has, in one go…"""

_HEAT = 0.1
"""…and that the others have each, before the better one has the rest."""

_SQUEEZE = 0.1
"""Share of the time that is kept to turn the parts of a square marker a little."""

_AT_ONCE = 3.0
"""Less time than so many first markers take is not shared any more."""

_OVER = (Stopped.INTERRUPTED, Stopped.TARGET, Stopped.OPTIMAL)
"""Ends after which nothing else is tried."""


@dataclass(slots=True, eq=False)
class _Search:
    """One of the searches: its lay, whether its turns are odd, and the best it has found.

    `settled`: it is proved that nothing is better at these turns.
    """

    lay: Lay
    odd: bool
    best: Result | None = None
    settled: bool = False

    @property
    def rank(self) -> Score:
        """What counts of its best, and what odd turns are worth: the less the better."""
        if self.best is None:
            return len(self.lay.parts) + 1, 0, 0.0
        missing, sheets, length = score(self.best.marker)
        return missing, sheets, length / (1.0 - PAYS) if self.odd else length


@dataclass(slots=True, eq=False)
class _Heats:
    """What all searches together spend, and what no marker is below."""

    effort: Effort
    bound: Quantity
    bound_by: str

    @property
    def late(self) -> bool:
        """Whether too little time is left to share it."""
        return self.effort.left < _AT_ONCE * self.effort.first_seconds

    def go(self, one: _Search, share: float) -> Stopped:
        """Let a search go on for a share of the effort; return why it ended."""
        limits = self.effort.share(share, kept=0.0 if one.odd else _SQUEEZE)
        return self.search(one, limits, None if one.best is None else one.best.marker)

    def search(self, one: _Search, limits: Limits, start: Marker | None) -> Stopped:
        """Let a search go on from a marker within limits; return why it ended."""
        got = self.effort.search(one.lay, limits, start)
        if one.best is None or score(got.marker) < score(one.best.marker):
            one.best = got
        if got.stopped is not Stopped.OPTIMAL or self._proved(got):
            return got.stopped
        one.settled = one.lay.stock.open_ended
        return Stopped.TIME if limits.rounds is None else Stopped.ROUNDS

    def _proved(self, got: Result) -> bool:
        """Whether no marker of any turns is shorter, or takes fewer sheets."""
        _, sheets, length = score(got.marker)
        lay = got.marker.lay
        counts = length if lay.stock.open_ended else sheets
        return not got.unplaced and meets(lay, counts, self.bound.value)


def freed(lay: Lay, run: Run, limits: Limits, observer: Observer | None) -> Result:
    """Search a lay whose parts may turn freely; the bound is that of the free lay."""
    heats = _Heats(Effort(run, limits, observer), *least_and_how(lay))
    free = _Search(lay, odd=True)
    every = [*(_Search(squared(lay, turns), odd=False) for turns in (AS_DRAWN, RIGHT)), free]
    why = _race(heats, every)
    best = min(every, key=lambda one: one.rank)
    if why not in _OVER and not best.odd and best.best is not None and heats.effort.left > 0.0:
        turning = replace(limits, rounds=0)
        if limits.seconds is not None:
            turning = replace(turning, seconds=heats.effort.left)
        heats.search(free, turning, replace(best.best.marker, lay=lay))
    found = min(every, key=lambda one: one.rank).best
    assert found is not None  # the first has always searched
    if found.unplaced and why is not Stopped.INTERRUPTED:
        why = Stopped.NOT_FOUND if free.best is None else free.best.stopped
    least, how = heats.bound, heats.bound_by
    if free.best is not None and free.best.bound.value > least.value:
        least, how = free.best.bound, free.best.bound_by
    marker = replace(found.marker, lay=lay)
    found = replace(found, marker=marker, bound=least, bound_by=how, stopped=why)
    return heats.effort.whole(found)


def _race(heats: _Heats, every: list[_Search]) -> Stopped:
    """Search as drawn, then with more turns, then the better of these; return why it ended."""
    drawn, *others = every
    why = heats.go(drawn, _DRAWN)
    for one in others:
        if why in _OVER or heats.late:
            return why
        why = heats.go(one, _HEAT)
    if why in _OVER or heats.late:
        return why
    alive = [one for one in others if not one.settled] or others[-1:]
    return heats.go(min(alive, key=lambda one: one.rank), 1.0)
