"""Lines that run on from page to page, sewn together where their ends meet."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.pattern.measure import bounds
from nesting.pattern.path import Line, Path, Point, Segment
from nesting.pattern.segment import with_ends
from nesting.reading.pdf.ink import style_of
from nesting.reading.pdf.page import Stroke
from nesting.reading.pdf.tiled.joints import WIDEST

__all__ = ["Bit", "sewn_together"]

_STRAIGHT = 0.02
"""Two lines whose joint is off the straight way by no more than this (mm) are one."""
_WEDGE = 25.0
"""Longest side (mm) of a mark for gluing that is half on each page."""

End = tuple[int, int]
"""A bit, and which of its ends: 0 or 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bit:
    """A line of one page, placed; `tips`: whether start and end lie at a seam."""

    stroke: Stroke
    tile: int
    tips: tuple[bool, bool]


def sewn_together(bits: Sequence[Bit]) -> tuple[list[Stroke], float, int]:
    """Return the lines, the largest step at a seam (mm), and how many ends found no other."""
    partner, step = _partners(bits)
    bits, partner = _without_marks(bits, partner)
    open_ends = sum(sum(bit.tips) for bit in bits) - len(partner)
    done: set[int] = set()
    out: list[Stroke] = []
    firsts = [i for i in range(len(bits)) if (i, 0) not in partner or (i, 1) not in partner]
    for i in [*firsts, *range(len(bits))]:
        if i in done:
            continue
        begin = 0 if (i, 0) not in partner or (i, 1) in partner else 1
        out.append(_run(bits, i, begin, partner, done))
    return out, step, open_ends


def _without_marks(
    bits: Sequence[Bit], partner: dict[End, End]
) -> tuple[list[Bit], dict[End, End]]:
    """Leave out small wedges that stand on a seam and go on nowhere: marks for gluing."""
    kept = [i for i, bit in enumerate(bits) if not _is_wedge(i, bit, partner)]
    new = {i: k for k, i in enumerate(kept)}
    moved = {(new[a], b): (new[c], d) for (a, b), (c, d) in partner.items()}
    return [bits[i] for i in kept], moved


def _is_wedge(i: int, bit: Bit, partner: dict[End, End]) -> bool:
    path = bit.stroke.path
    x0, y0, x1, y1 = bounds(path)
    return (
        all(bit.tips)
        and (i, 0) not in partner
        and (i, 1) not in partner
        and len(path.segments) == 2
        and max(x1 - x0, y1 - y0) <= _WEDGE
    )


def _partners(bits: Sequence[Bit]) -> tuple[dict[End, End], float]:
    """Match ends at seams with those of other pages, the nearest first."""
    cells: dict[tuple[tuple[str, str, str], int, int], list[tuple[Point, End]]] = defaultdict(list)
    ends: list[tuple[Point, End, tuple[str, str, str]]] = []
    for i, bit in enumerate(bits):
        path, style = bit.stroke.path, style_of(bit.stroke)
        for k, tip in enumerate((path.start, path.end)):
            if bit.tips[k]:
                ends.append((tip, (i, k), style))
                cells[style, *_cell(tip)].append((tip, (i, k)))
    pairs = []
    for tip, end, style in ends:
        cx, cy = _cell(tip)
        for dx in (-1, 0, 1):
            for dy in (-1, 0, 1):
                for other, its in cells.get((style, cx + dx, cy + dy), ()):
                    apart = math.dist(tip, other)
                    if end < its and apart <= WIDEST and bits[end[0]].tile != bits[its[0]].tile:
                        pairs.append((apart, end, its))
    partner: dict[End, End] = {}
    step = 0.0
    for apart, one, other in sorted(pairs):
        if one not in partner and other not in partner:
            partner[one], partner[other] = other, one
            step = max(step, apart)
    return partner, step


def _cell(tip: Point) -> tuple[int, int]:
    return math.floor(tip[0] / WIDEST), math.floor(tip[1] / WIDEST)


def _run(
    bits: Sequence[Bit], i: int, begin: int, partner: dict[End, End], done: set[int]
) -> Stroke:
    """Return the line that begins with a bit, followed from page to page."""
    run: list[Segment] = []
    at, entry = i, begin
    while True:
        done.add(at)
        path = bits[at].stroke.path
        run = _joined(run, (path if entry == 0 else path.reversed()).segments)
        follower = partner.get((at, 1 - entry))
        if follower is None or (follower[0] in done and follower[0] != i):
            break
        at, entry = follower
        if at == i:
            run = _closed(run)
            break
    return replace(bits[i].stroke, path=Path(tuple(run)))


def _joined(run: list[Segment], more: Sequence[Segment]) -> list[Segment]:
    """Return a run with more behind it: both ends are brought to the middle between them."""
    if not run:
        return list(more)
    last, first = run[-1], more[0]
    middle = ((last.end[0] + first.start[0]) / 2.0, (last.end[1] + first.start[1]) / 2.0)
    if isinstance(last, Line) and isinstance(first, Line) and _in_line(last, first):
        return [*run[:-1], Line(last.start, first.end), *more[1:]]
    return [
        *run[:-1],
        *with_ends(last, last.start, middle),
        *with_ends(first, middle, first.end),
        *more[1:],
    ]


def _closed(run: list[Segment]) -> list[Segment]:
    """Return a run whose end meets its start, closed."""
    last, first = run[-1], run[0]
    if (
        len(run) > 2
        and isinstance(last, Line)
        and isinstance(first, Line)
        and _in_line(last, first)
    ):
        return [Line(last.start, first.end), *run[1:-1]]
    middle = ((last.end[0] + first.start[0]) / 2.0, (last.end[1] + first.start[1]) / 2.0)
    return [
        *with_ends(first, middle, first.end),
        *run[1:-1],
        *with_ends(last, last.start, middle),
    ]


def _in_line(one: Line, other: Line) -> bool:
    """Tell whether two lines are one, cut in two at a seam."""
    (ax, ay), (bx, by) = one.start, other.end
    long = math.hypot(bx - ax, by - ay)
    if long == 0.0:
        return False
    off = [
        abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / long for x, y in (one.end, other.start)
    ]
    ahead = (bx - ax) * (one.end[0] - ax) + (by - ay) * (one.end[1] - ay) > 0.0
    return ahead and max(off) <= _STRAIGHT
