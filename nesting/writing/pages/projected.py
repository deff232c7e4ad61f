"""A marker at true size on a table, seen window by window: what each shows, and register marks.

What is projected is smaller than a lay as a rule. Windows overlap; where they do lie crosses that
both of them show, so that the cloth, or the projector, is moved on until they meet again.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from nesting.errors import JobError
from nesting.pattern.path import Point

__all__ = ["Cross", "Window", "windows"]

_LEAST = 50.0
"""A projection that is smaller (mm) shows nothing that one could cut from."""

_OVERLAP, _SHARE = 60.0, 0.2
"""How far windows overlap (mm), but no more than this share of them."""

_MOST = 10_000
"""Windows that anybody would go through."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cross:
    """A register mark: its number, by which it is known again, and where it is (mm)."""

    number: int
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """What is seen at once: its lower left corner (mm), and the crosses in it.

    `column` and `row` count from 0, along and across.
    """

    column: int
    row: int
    corner: Point
    crosses: tuple[Cross, ...]


def windows(
    box: tuple[float, float, float, float], *, wide: float, high: float
) -> tuple[Window, ...]:
    """Return the windows that a drawing is gone through in: along it, row by row.

    Parameters
    ----------
    box
        Of what is drawn: (x0, y0, x1, y1), mm.
    wide, high
        What the projection shows, mm.

    Raises
    ------
    JobError
        The projection is too small, or there would be far too many windows.

    """
    if not (_LEAST <= wide < math.inf and _LEAST <= high < math.inf):
        raise JobError("so little can't be projected", hint="measure the square again")
    x0, y0, x1, y1 = box
    columns, rows = _starts(x0, x1, wide), _starts(y0, y1, high)
    if len(columns) * len(rows) > _MOST:
        raise JobError("far too much for a projection of this size", hint="measure it again")
    crosses = _crosses(columns, rows, wide=wide, high=high)
    return tuple(
        Window(
            column=i,
            row=k,
            corner=(x, y),
            crosses=tuple(c for c in crosses if x < c.at[0] < x + wide and y < c.at[1] < y + high),
        )
        for k, y in enumerate(rows)
        for i, x in enumerate(columns)
    )


def _starts(low: float, end: float, seen: float) -> list[float]:
    """Return where windows begin along one side; what is seen of them is all of it."""
    step = seen - _lap(seen)
    count = max(1, math.ceil((end - low - seen) / step - 1e-9) + 1)
    return [low + i * step for i in range(count)]


def _lap(seen: float) -> float:
    return min(_OVERLAP, _SHARE * seen)


def _crosses(
    columns: list[float], rows: list[float], *, wide: float, high: float
) -> tuple[Cross, ...]:
    """Return two crosses for each two neighbours, in the middle of where they overlap."""
    places: list[Point] = []
    for y in rows:
        for x in columns[1:]:
            places += [(x + 0.5 * _lap(wide), y + share * high) for share in (0.3, 0.7)]
    for y in rows[1:]:
        for x in columns:
            places += [(x + share * wide, y + 0.5 * _lap(high)) for share in (0.3, 0.7)]
    return tuple(Cross(number=i, at=at) for i, at in enumerate(places, 1))
