"""How large the largest piece is, in the file's own unit, before anything is known."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from nesting.pattern.measure import bounds
from nesting.pattern.path import Path
from nesting.reading.items import Group, Role

__all__ = ["largest_size"]

Box = tuple[float, float, float, float]


def largest_size(groups: Iterable[Group]) -> tuple[float, float]:
    """Return width and height of the outline with the longest side.

    Ends nearer than a ten-thousandth of the drawing count as joined.
    """
    best = (0.0, 0.0)
    for group in groups:
        paths = [i.path for i in group.items if i.role in (Role.CUT, Role.ANY) and i.path]
        for x0, y0, x1, y1 in _boxes(paths):
            best = max(best, (x1 - x0, y1 - y0), key=max)
    return best


def _boxes(paths: Sequence[Path]) -> Iterable[Box]:
    """Yield the box around every run of paths that hang together."""
    boxes = [bounds(path) for path in paths]
    if not boxes:
        return
    x0, y0, x1, y1 = _around(boxes)
    grid = max(x1 - x0, y1 - y0) * 1e-4 or 1.0
    owner = list(range(len(paths)))

    def root(i: int) -> int:
        while owner[i] != i:
            owner[i] = owner[owner[i]]
            i = owner[i]
        return i

    at: dict[tuple[int, int], int] = {}
    for i, path in enumerate(paths):
        if path.closed:
            continue
        for x, y in (path.start, path.end):
            cx, cy = int(x // grid), int(y // grid)
            for cell in ((cx + dx, cy + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)):
                if cell in at:
                    owner[root(at[cell])] = root(i)
            at[cx, cy] = i
    runs: dict[int, list[Box]] = defaultdict(list)
    for i, box in enumerate(boxes):
        runs[root(i)].append(box)
    yield from (_around(run) for run in runs.values())


def _around(boxes: Sequence[Box]) -> Box:
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)
