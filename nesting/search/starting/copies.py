"""Lays of many copies: a good marker of some of them, laid again and again, is where to begin.

A lay of a thousand parts has far more to put in order than one of fifty, at the same work for
each. So some copies of every part are laid first; their marker is repeated along the strip, the
parts that are over are laid behind, and one search goes on with all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from nesting.marker.check import is_good
from nesting.marker.lay import Lay, Part
from nesting.marker.marker import Marker
from nesting.search.effort import Effort, Run
from nesting.search.prepared.kinds import kinds_of
from nesting.search.rectangles.boxes import is_rectangular
from nesting.search.result import Limits, Observer, Result, Stopped
from nesting.search.starting.given import score

__all__ = ["Blocks", "blocks_of", "repeated"]

_MANY = 300
"""From so many parts on a lay is laid in blocks."""

_BLOCK = (90, 200)
"""So many parts at least, and at most, are in a block."""

_OVER = 0.1
"""No larger share of the parts may be over."""

_SHARE = 0.8
"""Share of the effort that the block has."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Blocks:
    """Which parts of a lay each copy of a block takes, and which are over.

    `copies[b][i]`: the part that is part i of copy b.
    """

    whole: Lay
    copies: tuple[tuple[int, ...], ...]
    over: tuple[int, ...]

    def lay(self, some: tuple[int, ...]) -> Lay:
        """Return some parts of the lay as a lay of their own."""
        return replace(self.whole, parts=tuple(self.whole.parts[i] for i in some))


def blocks_of(lay: Lay) -> Blocks | None:
    """Return blocks of a lay that no rule keeps from being moved along; None if there are none.

    Prints, mates, common turns and held parts are about the whole lay; sheets are laid one by one.
    """
    if not lay.stock.open_ended or len(lay.parts) < _MANY or any(map(_bound, lay.parts)):
        return None
    if is_rectangular(lay):
        return None
    members: dict[int, list[int]] = {}
    for i, kind in enumerate(kinds_of(lay).of):
        members.setdefault(kind, []).append(i)
    least, most = _BLOCK
    options = [
        (sum(len(some) % count for some in members.values()), -count)
        for count in range(max(2, len(lay.parts) // most), len(lay.parts) // least + 1)
    ]
    left, count = min(options)
    if left > _OVER * len(lay.parts):
        return None
    count = -count
    each = {kind: len(some) // count for kind, some in members.items()}
    copies = tuple(
        tuple(i for kind, some in members.items() for i in some[b * each[kind] :][: each[kind]])
        for b in range(count)
    )
    taken = {i for copy in copies for i in copy}
    over = tuple(i for i in range(len(lay.parts)) if i not in taken)
    return Blocks(whole=lay, copies=copies, over=over)


def _bound(part: Part) -> bool:
    """Whether a part may not be moved along the strip with its block."""
    rules = (part.binding, part.turn_group, part.mates, part.held)
    return any(rule is not None for rule in rules)


def repeated(
    blocks: Blocks, run: Run, limits: Limits, observer: Observer | None, number: int
) -> Result:
    """Search a block, then the whole lay from copies of it."""
    effort, lay = Effort(run, limits, observer, number), blocks.whole
    first = effort.search(lay, replace(effort.share(0.0), rounds=0, seconds=limits.seconds))
    if first.stopped in (Stopped.INTERRUPTED, Stopped.TARGET, Stopped.OPTIMAL) or first.unplaced:
        return effort.whole(first)
    start = first.marker
    some = replace(effort.share(_SHARE), length=None)
    small = effort.search(blocks.lay(blocks.copies[0]), some, part=True)
    rest = effort.search(blocks.lay(blocks.over), replace(some, rounds=0), part=True)
    if not small.unplaced and not rest.unplaced:
        start = min(start, _row(blocks, small.marker, rest.marker), key=score)
    got = effort.search(lay, effort.share(1.0), start)
    best = got
    if score(start) < score(got.marker) and is_good(start):
        best = replace(got, marker=start)
    if score(first.marker) < score(best.marker):
        best = replace(got, marker=first.marker)
    return effort.whole(best)


def _row(blocks: Blocks, block: Marker, rest: Marker) -> Marker:
    """Return copies of a block in a row, and behind them the parts that are over."""
    lay = blocks.whole
    step = score(block)[2] + lay.spacing
    placed = [
        replace(p, part=copy[p.part], x=p.x + step * b)
        for b, copy in enumerate(blocks.copies)
        for p in block.placements
    ]
    end = step * len(blocks.copies)
    placed += [replace(p, part=blocks.over[p.part], x=p.x + end) for p in rest.placements]
    return Marker(lay=lay, placements=tuple(sorted(placed, key=lambda p: p.part)))
