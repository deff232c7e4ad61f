"""Blocks of a lay of many copies: which parts each has, and copies of its marker in a row."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from nesting.marker.check import is_good
from nesting.marker.lay import Lay, Part
from nesting.marker.marker import Marker, Placement
from nesting.search.prepared.kinds import kinds_of
from nesting.search.rectangles.boxes import is_rectangular
from nesting.search.starting.given import score

__all__ = ["Blocks", "blocks_of", "rows", "together"]

_FEWEST = 40
"""So many parts at least are laid in blocks."""

_MANY = 300
"""A lay of fewer parts may itself be the block."""

_BLOCK = (48, 200)
"""So many parts at least, and at most, are in a block that is searched for long."""

_LOOSE = 90
"""So many at least if parts are over."""

_LARGER = 3.5
"""By which factor at least a smaller block differs from the one before."""

_OVER = 0.1
"""No larger share of the parts may be over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Blocks:
    """Which parts of a lay each copy of a block takes, and which are over.

    `copies[b][i]`: the part that is part i of copy b; those of the first copy are in the order of
    the lay, as in a lay of so many copies.
    """

    whole: Lay
    copies: tuple[tuple[int, ...], ...]
    over: tuple[int, ...] = ()

    @property
    def block(self) -> Lay:
        """The lay of one copy."""
        return self.lay(self.copies[0])

    def lay(self, some: Sequence[int]) -> Lay:
        """Return some parts of the lay as a lay of their own."""
        return replace(self.whole, parts=tuple(self.whole.parts[i] for i in some))

    def length(self, block: Marker) -> float:
        """Return how long all copies of a block are, one behind another (mm)."""
        gap = self.whole.spacing
        return len(self.copies) * (score(block)[2] + gap) - gap


def blocks_of(lay: Lay) -> tuple[Blocks, ...]:
    """Return the blocks that a lay may be laid in, from small to large: the last for long.

    There are none where a rule keeps parts from being moved along: prints, mates, common turns
    and held parts are about the whole lay, sheets are laid one by one.
    """
    count = len(lay.parts)
    if not lay.stock.open_ended or count < _FEWEST or any(map(_bound, lay.parts)):
        return ()
    if is_rectangular(lay):
        return ()
    members: dict[int, list[int]] = {}
    for i, kind in enumerate(kinds_of(lay).of):
        members.setdefault(kind, []).append(i)
    kinds = list(members.values())
    found: list[Blocks] = []
    size = 0
    for times in _times(math.gcd(*map(len, kinds))):
        last, size = size, count // times
        if size >= _BLOCK[0] or size >= _LARGER * last:
            if size <= _BLOCK[1] or (times == 1 and count < _MANY):
                found.append(_dealt(lay, kinds, times))
        else:
            size = last
        if size >= _BLOCK[0]:
            break
    if count >= _MANY and size > _BLOCK[1]:
        found += _with_rest(lay, kinds)
    alone = len(found) == 1 and len(found[0].copies) == 1
    return () if alone else tuple(found)


def _times(copies: int) -> Iterator[int]:
    """Yield the numbers that divide another, from large to small."""
    return (n for n in range(copies, 0, -1) if copies % n == 0)


def _bound(part: Part) -> bool:
    """Whether a part may not be moved along the strip with its block."""
    rules = (part.binding, part.turn_group, part.mates, part.held)
    return any(rule is not None for rule in rules)


def _with_rest(lay: Lay, kinds: list[list[int]]) -> list[Blocks]:
    """Return the blocks that leave the fewest parts over, if those are few enough."""
    least, most = _LOOSE, _BLOCK[1]
    options = [
        (sum(len(some) % count for some in kinds), -count)
        for count in range(max(2, len(lay.parts) // most), len(lay.parts) // least + 1)
    ]
    left, count = min(options)
    return [_dealt(lay, kinds, -count)] if left <= _OVER * len(lay.parts) else []


def _dealt(lay: Lay, kinds: list[list[int]], times: int) -> Blocks:
    """Return as many copies of a block, each part dealt to one of them."""
    each = [len(some) // times for some in kinds]
    first = sorted(
        (some[n], q, n) for q, some in enumerate(kinds) for n in range(each[q])
    )  # fmt: skip
    copies = tuple(tuple(kinds[q][b * each[q] + n] for _, q, n in first) for b in range(times))
    taken = {i for copy in copies for i in copy}
    over = tuple(i for i in range(len(lay.parts)) if i not in taken)
    return Blocks(whole=lay, copies=copies, over=over)


def together(blocks: Blocks, times: int) -> Blocks:
    """Return blocks of which each is so many of these, none over."""
    first = sorted(
        (i, b, n) for b, copy in enumerate(blocks.copies[:times]) for n, i in enumerate(copy)
    )
    copies = tuple(
        tuple(blocks.copies[begin + b][n] for _, b, n in first)
        for begin in range(0, len(blocks.copies), times)
    )
    return replace(blocks, copies=copies)


def rows(blocks: Blocks, block: Marker, times: int) -> Iterator[Marker]:
    """Yield markers of the first copies: a block in a row, every other one turned or mirrored.

    Parts are those of the lay that `together` makes of so many. What rules don't allow is left
    out.
    """
    index = {i: n for n, i in enumerate(sorted(i for c in blocks.copies[:times] for i in c))}
    lay = blocks.lay(tuple(index))
    length = score(block)[2]
    step = length + lay.spacing
    ways = dict.fromkeys((block.placements, *_ways(block, length)))
    for other in ways:
        placed = [
            replace(p, part=index[copy[p.part]], x=p.x + step * b)
            for b, copy in enumerate(blocks.copies[:times])
            for p in (other if b % 2 else block.placements)
        ]
        yield Marker(lay=lay, placements=tuple(sorted(placed, key=lambda p: p.part)))


def _ways(block: Marker, length: float) -> Iterator[tuple[Placement, ...]]:
    """Yield a block turned by 180°, mirrored along and mirrored across, where rules allow it."""
    stock = block.lay.stock
    assert stock.open_ended
    width = stock.width
    for along, across in ((True, True), (True, False), (False, True)):
        placed = tuple(
            replace(
                p,
                x=length - p.x if along else p.x,
                y=width - p.y if across else p.y,
                angle=_angle(p.angle, along=along, across=across),
                flipped=p.flipped != (along != across),
            )
            for p in block.placements
        )
        if is_good(replace(block, placements=placed)):
            yield placed


def _angle(angle: float, *, along: bool, across: bool) -> float:
    """Return an angle (degrees) after a mirror image along, across, or both: a half turn."""
    if along and across:
        return (angle + 180.0) % 360.0
    return (180.0 - angle) % 360.0 if along else -angle % 360.0
