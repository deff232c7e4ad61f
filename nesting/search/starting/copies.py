"""Lays of many copies: a good marker of some of them, laid again and again, is where to begin.

A lay of a thousand parts has far more to put in order than one of fifty, at the same work for
each. So a block is laid first, and smaller ones for a little: the one of which copies in a row
would be shortest goes on. Two copies of its marker are pushed together, one of them turned or
mirrored if that is shorter, and searched on; then two of these, at last all of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from nesting.marker.check import is_good
from nesting.marker.marker import Marker
from nesting.search.effort import Effort, Run
from nesting.search.result import Limits, Observer, Result, Stopped
from nesting.search.starting.blocks import Blocks, rows, together
from nesting.search.starting.given import score

__all__ = ["repeated"]

_HEAT = 0.04
"""Share of the effort that each block has at first."""

_AHEAD = 1.02
"""A smaller block has to be better by this factor then: larger ones gain for longer."""

_SHARE = 0.97
"""Share of the effort after which copies of a block are put together…"""

_PUSHES, _MOST = 8.0, 0.3
"""…which takes as long as so many first markers: so much time is kept, up to this share."""

_SHORT = 0.25
"""Where a heat has less time (s) the largest block alone is laid."""

_MANY_PARTS = 500
"""Of more parts no copies are turned or mirrored to see whether that is shorter."""

_OVER = (Stopped.INTERRUPTED, Stopped.TARGET, Stopped.OPTIMAL)
"""Ends of the search of the whole lay after which nothing else is tried."""


@dataclass(slots=True, eq=False)
class _Block:
    """Blocks of one size, and the best marker of one of them."""

    of: Blocks
    best: Marker | None = None

    @property
    def whole(self) -> bool:
        """Whether the one block is all."""
        return len(self.of.copies) == 1 and not self.of.over

    @property
    def rank(self) -> float:
        """How long all copies in a row are (mm)."""
        return math.inf if self.best is None else self.of.length(self.best)


@dataclass(slots=True, eq=False)
class _Contest:
    """What is spent, and the last search of the whole lay, with the best marker of all."""

    effort: Effort
    best: Result

    def go(self, block: _Block, limits: Limits, start: Marker | None = None) -> Stopped:
        """Search a block, from its best marker if it has one; return why that ended."""
        if not block.whole:
            limits = replace(limits, length=None)
        start = start or block.best
        got = self.effort.search(block.of.block, limits, start, part=not block.whole)
        if start is not None and score(start) < score(got.marker) and is_good(start):
            got = replace(got, marker=start, unplaced=())
        if not got.unplaced and (block.best is None or score(got.marker) < score(block.best)):
            block.best = got.marker
        if block.whole and not got.unplaced:
            self.best = replace(got, marker=min(got.marker, self.best.marker, key=score))
        return got.stopped

    def push(self, block: _Block, starts: Iterable[Marker]) -> Stopped:
        """Push together copies in a row, each way they may lie; return why the last ended."""
        why, limits = Stopped.ROUNDS, replace(self.effort.share(1.0), rounds=0)
        for start in starts:
            why = self.go(block, limits, start)
            if why in _OVER or self.late:
                break
        return why

    @property
    def late(self) -> bool:
        """Whether less time is left than a first marker takes."""
        return self.effort.left < self.effort.first_seconds


def repeated(
    sizes: Sequence[Blocks], run: Run, limits: Limits, observer: Observer | None, number: int
) -> Result:
    """Search blocks, then larger ones from copies of the best, at last the whole lay."""
    effort, lay = Effort(run, limits, observer, number), sizes[0].whole
    first = effort.search(lay, replace(effort.share(1.0), rounds=0))
    if first.stopped in _OVER or first.unplaced:
        return effort.whole(first)
    effort.runs = 0  # a block has the seed that it would have as a lay of its own
    contest = _Contest(effort, first)
    block = _winner(contest, [_Block(of) for of in sizes])
    if not block.whole:
        _all_from(contest, block)
    best = contest.best
    if limits.rounds is None and best.stopped is Stopped.ROUNDS:  # of the last push
        best = replace(best, stopped=Stopped.TIME)
    return effort.whole(best)


def _winner(contest: _Contest, blocks: list[_Block]) -> _Block:
    """Let all blocks be searched a little, then one of them for long; return the best."""
    effort, last = contest.effort, blocks[-1]
    seconds = effort.limits.seconds
    if seconds is not None and _HEAT * seconds < _SHORT:
        blocks = blocks[-1:]
    for block in blocks if len(blocks) > 1 else ():
        if contest.go(block, effort.share(_HEAT)) in _OVER and block.whole:
            return block
    chosen = min(blocks, key=lambda block: block.rank * (1.0 if block is last else _AHEAD))
    contest.go(chosen, _rest(effort, chosen))
    return min(reversed(blocks), key=lambda block: block.rank)


def _rest(effort: Effort, block: _Block) -> Limits:
    """Return what is left for a block; some is kept to put copies of it together."""
    if block.whole:
        return effort.share(1.0)
    seconds = effort.limits.seconds
    kept = 0.0 if seconds is None else min(_PUSHES * effort.first_seconds / seconds, _MOST)
    return effort.share(max(_SHARE - effort.spent, 0.0), kept=kept)


def _all_from(contest: _Contest, block: _Block) -> None:
    """Put copies of a block together, then copies of these, until all parts lie in one marker."""
    effort = contest.effort
    steps = _steps(len(block.of.copies))
    for n, times in enumerate(steps, 1):
        larger = _Block(together(block.of, times))
        starts: Iterable[Marker] = ()
        if block.best is not None:
            starts = rows(block.of, block.best, times)
        if n == len(steps):
            larger = _Block(_whole(block.of), contest.best.marker)
            starts = _with_rest(contest, block.of, starts)
        if len(larger.of.copies[0]) > _MANY_PARTS:
            starts = islice(starts, 1)
        share = 1.0 if larger.whole else (1.0 - effort.spent) / (len(steps) - n + 1)
        if contest.push(larger, starts) not in _OVER and not contest.late:
            contest.go(larger, effort.share(share))
        block = larger


def _steps(copies: int) -> list[int]:
    """Return by how many copies are put together each time: pairs, pairs of pairs, then all."""
    steps = [copies]
    while len(steps) < 3 and steps[-1] % 2 == 0 and steps[-1] > 2:
        steps[-1:] = [2, steps[-1] // 2]
    return steps


def _whole(blocks: Blocks) -> Blocks:
    """Return the whole lay as the one block."""
    return Blocks(whole=blocks.whole, copies=(tuple(range(len(blocks.whole.parts))),))


def _with_rest(contest: _Contest, blocks: Blocks, starts: Iterable[Marker]) -> Iterator[Marker]:
    """Yield markers of the whole lay: those of all copies, behind them the parts that are over."""
    limits = replace(contest.effort.share(1.0), rounds=0, length=None)
    rest = contest.effort.search(blocks.lay(blocks.over), limits, part=True)
    index = sorted(i for copy in blocks.copies for i in copy)
    for start in starts if not rest.unplaced else ():
        end = score(start)[2] + blocks.whole.spacing
        placed = [replace(p, part=index[p.part]) for p in start.placements]
        placed += [
            replace(p, part=blocks.over[p.part], x=p.x + end) for p in rest.marker.placements
        ]
        placements = tuple(sorted(placed, key=lambda p: p.part))
        yield Marker(lay=blocks.whole, placements=placements)
