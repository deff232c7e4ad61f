"""What tells how pages lie to each other: repeated lines, marks for gluing, labels."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from nesting.reading.pdf.tiled.repeats import Offset, offsets_by_repeats
from nesting.reading.pdf.tiled.tile import Tile

__all__ = ["Cells", "Evidence", "by_labels", "evidence_of", "grown", "is_label"]

Cells = dict[int, tuple[int, int]]
"""Column and row (from 0, downwards) of pages, by their place in the list."""

_ONE = 0.5
"""Steps that are the same to so much (mm) are one."""
_LABEL = re.compile(
    r"(?:(?P<letter>[A-Z])\W?(?P<number>\d{1,2})|(?P<row>\d{1,2})\s*[-/:,.]\s*(?P<column>\d{1,2}))"
)
_PAGE = re.compile(r"(?:page\W*)?\d{1,3}(?:\s*(?:/|of)\s*\d{1,3})?", re.IGNORECASE)
_SPELT = re.compile(r"row\W*(\d{1,2})\W+col(?:umn)?\W*(\d{1,2})", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """Offsets of page j from page i, with their weight, and what steps they tell.

    `why`: "repeated lines", or "marks for gluing".
    """

    why: str
    offsets: Mapping[tuple[int, int], tuple[Offset, int]]
    across: float | None
    down: float | None


def evidence_of(tiles: Sequence[Tile]) -> list[Evidence]:
    """Return what tells offsets, the strongest first."""
    found = []
    for why, offsets in (
        ("lines repeated on the next page", offsets_by_repeats(tiles)),
        ("marks for gluing", _by_marks(tiles)),
    ):
        if offsets:
            across, down = _steps(offsets, tiles[0])
            found.append(Evidence(why=why, offsets=offsets, across=across, down=down))
    return found


def _by_marks(tiles: Sequence[Tile]) -> dict[tuple[int, int], tuple[Offset, int]]:
    """Return the offsets of pages that have marks with the same letters at facing sides."""
    facing = {"left": "right", "right": "left", "low": "high", "high": "low"}
    out: dict[tuple[int, int], tuple[Offset, int]] = {}
    for i, j in combinations(range(len(tiles)), 2):
        votes: Counter[Offset] = Counter()
        for one in tiles[i].marks:
            for other in tiles[j].marks:
                if one.label == other.label and other.side == facing[one.side]:
                    off = (one.at[0] - other.at[0], one.at[1] - other.at[1])
                    votes[round(off[0], 1), round(off[1], 1)] += 1
        if len(votes) == 1 or (votes and votes.most_common(2)[1][1] < votes.most_common(1)[0][1]):
            out[i, j] = votes.most_common(1)[0]
    return _single(out, tiles)


def _single(
    offsets: dict[tuple[int, int], tuple[Offset, int]], tiles: Sequence[Tile]
) -> dict[tuple[int, int], tuple[Offset, int]]:
    """Leave out letters that are not unique: a page has one neighbour on each side."""
    width, height = tiles[0].live[2] - tiles[0].live[0], tiles[0].live[3] - tiles[0].live[1]
    times: Counter[tuple[int, str]] = Counter()
    for (i, j), (off, _) in offsets.items():
        side = _side(off, width, height)
        times[i, side] += 1
        times[j, {"right": "left", "left": "right", "low": "high", "high": "low"}[side]] += 1
    good = {}
    for (i, j), (off, count) in offsets.items():
        side = _side(off, width, height)
        back = {"right": "left", "left": "right", "low": "high", "high": "low"}[side]
        if times[i, side] == 1 and times[j, back] == 1:
            good[i, j] = (off, count)
    return good


def _side(off: Offset, width: float, height: float) -> str:
    if abs(off[0]) / width >= abs(off[1]) / height:
        return "right" if off[0] > 0.0 else "left"
    return "high" if off[1] > 0.0 else "low"


def _steps(
    offsets: Mapping[tuple[int, int], tuple[Offset, int]], tile: Tile
) -> tuple[float | None, float | None]:
    """Return how far neighbours are apart across and down, as most of the evidence says."""
    width, height = tile.live[2] - tile.live[0], tile.live[3] - tile.live[1]
    across = [
        (abs(x), n) for (x, y), n in offsets.values() if abs(y) < 2.0 and abs(x) < 1.1 * width
    ]
    down = [(abs(y), n) for (x, y), n in offsets.values() if abs(x) < 2.0 and abs(y) < 1.1 * height]
    return _mode(across), _mode(down)


def _mode(told: Iterable[tuple[float, int]]) -> float | None:
    cells: dict[int, list[tuple[float, int]]] = defaultdict(list)
    for value, weight in told:
        cells[round(value / _ONE)].append((value, weight))
    if not cells:
        return None
    best = max(cells, key=lambda c: sum(w for k in (c - 1, c, c + 1) for _, w in cells.get(k, ())))
    near = [one for k in (best - 1, best, best + 1) for one in cells.get(k, ())]
    return sum(v * w for v, w in near) / sum(w for _, w in near)


def grown(evidence: Sequence[Evidence], step: tuple[float, float], count: int) -> list[Cells]:
    """Return the groups of pages whose places to each other are told, the largest first.

    An offset that is no whole number of steps, or contradicts a stronger one, is passed over.
    """
    links = sorted(
        ((-rank, n), i, j, off)
        for rank, one in enumerate(evidence)
        for (i, j), (off, n) in one.offsets.items()
    )
    place: Cells = dict.fromkeys(range(count), (0, 0))
    group = list(range(count))
    for _, i, j, off in reversed(links):
        across, down = off[0] / step[0], -off[1] / step[1]
        cell = (round(across), round(down))
        near = abs(across - cell[0]) * step[0] <= 1.0 and abs(down - cell[1]) * step[1] <= 1.0
        if not near or group[i] == group[j] or cell == (0, 0):
            continue
        shift = (
            place[i][0] + cell[0] - place[j][0],
            place[i][1] + cell[1] - place[j][1],
        )
        moved = [k for k in range(count) if group[k] == group[j]]
        taken = {place[k] for k in range(count) if group[k] == group[i]}
        there = {k: (place[k][0] + shift[0], place[k][1] + shift[1]) for k in moved}
        if taken & set(there.values()):
            continue
        place.update(there)
        for k in moved:
            group[k] = group[i]
    parts = [{k: place[k] for k in range(count) if group[k] == g} for g in dict.fromkeys(group)]
    return sorted((normal(part) for part in parts), key=len, reverse=True)


def normal(cells: Cells) -> Cells:
    """Return the cells counted from the upper left one."""
    left, top = min(c for c, _ in cells.values()), min(r for _, r in cells.values())
    return {k: (c - left, r - top) for k, (c, r) in cells.items()}


def is_label(text: str) -> bool:
    """Tell whether a text is nothing but a page's own label or number."""
    said = text.strip()
    return bool(_LABEL.fullmatch(said.upper()) or _SPELT.fullmatch(said) or _PAGE.fullmatch(said))


def by_labels(tiles: Sequence[Tile]) -> list[tuple[str, Cells]]:
    """Return the arrangements that labels such as "B3" can mean, if every page has its own."""
    read: list[tuple[int, int]] = []
    lettered = False
    for tile in tiles:
        found = None
        for label in tile.labels:
            if match := _SPELT.search(label):
                found = (int(match[1]), int(match[2]))
            elif match := _LABEL.fullmatch(label.strip().upper()):
                if match["letter"]:
                    lettered = True
                    found = (ord(match["letter"]) - 64, int(match["number"]))
                else:
                    found = (int(match["row"]), int(match["column"]))
        if found is None:
            return []
        read.append(found)
    if len(set(read)) < len(read):
        return []
    first = normal({k: (b, a) for k, (a, b) in enumerate(read)})
    second = normal({k: (a, b) for k, (a, b) in enumerate(read)})
    said = (
        ("letters for rows", "letters for columns") if lettered else ("row first", "column first")
    )
    return [
        (f"page labels, {said[0]}", first),
        (f"page labels, {said[1]}", second),
    ]
