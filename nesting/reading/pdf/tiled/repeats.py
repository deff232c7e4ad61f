"""The same line on two pages tells how they lie to each other: the strongest evidence."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations

from nesting.pattern.path import Bezier, Line, Point, Segment
from nesting.reading.pdf.tiled.tile import Tile

__all__ = ["Offset", "offsets_by_repeats"]

Offset = tuple[float, float]

_ROUND = 0.04
"""Vectors that are the same to so much (mm) are of one line."""
_SAME = 0.15
"""Offsets that are the same to so much (mm) are one."""
_SHORTEST = 1.0
"""Shorter segments (mm) are too many and say too little."""
_CROWD = 12
"""A segment that a page has more often than so says nothing."""
_LEAST = 3
"""So many segments have to say the same."""


def offsets_by_repeats(tiles: Sequence[Tile]) -> dict[tuple[int, int], tuple[Offset, int]]:
    """Return where page j lies, seen from page i, and how many segments say so, for i < j.

    Only of pages whose offset is told by most of what they share.
    """
    features = [_features(tile) for tile in tiles]
    out = {}
    for i, j in combinations(range(len(tiles)), 2):
        votes: Counter[tuple[int, int]] = Counter()
        places: dict[tuple[int, int], list[Offset]] = defaultdict(list)
        for key in features[i].keys() & features[j].keys():
            for p in features[i][key]:
                for q in features[j][key]:
                    off = (p[0] - q[0], p[1] - q[1])
                    cell = (round(off[0] / _SAME), round(off[1] / _SAME))
                    votes[cell] += 1
                    places[cell].append(off)
        best = _best(votes, tiles[i])
        if best is None:
            continue
        cell, count = best
        every = [off for around in _around(cell) for off in places.get(around, ())]
        middle = (sum(o[0] for o in every) / len(every), sum(o[1] for o in every) / len(every))
        out[i, j] = (middle, count)
    return out


def _best(votes: Counter[tuple[int, int]], tile: Tile) -> tuple[tuple[int, int], int] | None:
    """Return the offset that most say, if no other comes near."""
    width, height = tile.live[2] - tile.live[0], tile.live[3] - tile.live[1]
    sums = []
    for cell in votes:
        apart = max(abs(cell[0]) * _SAME / width, abs(cell[1]) * _SAME / height)
        if apart > 0.4:  # nearer ones are pieces drawn several times, not pages side by side
            sums.append((sum(votes.get(around, 0) for around in _around(cell)), cell))
    if not sums:
        return None
    count, cell = max(sums)
    near = set(_around(cell)) | {c for a in _around(cell) for c in _around(a)}
    second = max((n for n, other in sums if other not in near), default=0)
    return (cell, count) if count >= _LEAST and count > 1.5 * second else None


def _around(cell: tuple[int, int]) -> Iterator[tuple[int, int]]:
    x, y = cell
    return ((x + i, y + j) for i in (-1, 0, 1) for j in (-1, 0, 1))


def _features(tile: Tile) -> dict[object, list[Point]]:
    """Return the middles of all segments and texts, by what they look like."""
    found: dict[object, list[Point]] = defaultdict(list)
    for stroke in tile.strokes:
        for segment in stroke.path.segments:
            if math.dist(segment.start, segment.end) >= _SHORTEST:
                found[_look(segment)].append(segment.at(0.5))
    for word in tile.words:
        found[word.text, round(word.size, 1), round(word.angle)].append(word.at)
    return {key: places for key, places in found.items() if len(places) <= _CROWD}


def _look(segment: Segment) -> object:
    """Return what a segment looks like wherever it lies, the same both ways round."""
    ends = sorted((segment.start, segment.end))
    vector = _rounded(ends[0], ends[1])
    if isinstance(segment, Line):
        return vector
    inner = [segment.first, segment.second] if isinstance(segment, Bezier) else [segment.at(0.3)]
    if isinstance(segment, Bezier) and segment.start != ends[0]:
        inner.reverse()
    return (vector, *(_rounded(ends[0], point) for point in inner))


def _rounded(one: Point, other: Point) -> tuple[int, int]:
    return round((other[0] - one[0]) / _ROUND), round((other[1] - one[1]) / _ROUND)
