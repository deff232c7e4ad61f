"""Rulers beside a picture: the job's unit below and to the left, cm or inches above.

Drawn by hand as one path each: matplotlib's own axes take seconds for a large sheet.
"""

from __future__ import annotations

from collections.abc import Iterator

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection

from nesting.amounts import METRIC, Amounts
from nesting.writing.neutral.look import INK
from nesting.writing.pages.paint import writable

__all__ = ["draw_rulers"]

_SOFT = "#7b7468"
_MM = 25.4
_LONG, _SHORT = 0.06, 0.03  # inches: ticks with and without a number
_AWAY = 0.12  # inches from the edge to the numbers
_APART = 0.5  # inches between numbers, at least

Box = tuple[float, float, float, float]


def draw_rulers(
    axes: Axes, box: Box, *, scale: float, amounts: Amounts = METRIC, name: str = ""
) -> None:
    """Draw rulers around a box (x0, y0, x1, y1; mm), and a sheet's name above it.

    The job's own unit below and to the left, the other one above. `scale`: inches on the
    picture for each mm.
    """
    x0, y0, x1, y1 = box
    cm = (10.0, _step((50.0, 100.0, 200.0, 500.0, 1000.0), scale), "cm")
    inch = (_MM, _step(tuple(_MM * n for n in (1.0, 2.0, 4.0, 6.0, 12.0, 36.0, 72.0)), scale), "in")
    (own, step, unit), (other, other_step, other_unit) = (
        (inch, cm) if amounts.inches else (cm, inch)
    )
    inches = 1.0 / scale  # mm that an inch of paper stands for
    across = list(_ticks(x0, x1, step))
    _ruler(axes, [((x, y0), (x, y0 - _size(long) * inches)) for x, long in across], INK)
    up = list(_ticks(y0, y1, step))
    _ruler(axes, [((x0, y), (x0 - _size(long) * inches, y)) for y, long in up], INK)
    above = list(_ticks(x0, x1, other_step))
    _ruler(axes, [((x, y1), (x, y1 + _size(long) * inches)) for x, long in above], _SOFT)
    for x, long in across:
        if long:
            _number(axes, (x, y0 - _AWAY * inches), f"{x / own:g}", size=8, va="top")
    for y, long in up:
        if long:
            _number(axes, (x0 - _AWAY * inches, y), f"{y / own:g}", size=8, ha="right")
    for x, long in above:
        if long:
            text = f"{x / other:g}"
            _number(axes, (x, y1 + _AWAY * inches), text, size=7, va="bottom", colour=_SOFT)
    _number(axes, (x1, y0 - 0.3 * inches), unit, size=8, ha="right", va="top")
    _number(
        axes, (x1, y1 + 0.3 * inches), other_unit, size=7, ha="right", va="bottom", colour=_SOFT
    )
    if name:
        _number(axes, (x0, y1 + 0.36 * inches), name, size=9, ha="left", va="bottom")


def _size(long: bool) -> float:
    return _LONG if long else _SHORT


def _step(steps: tuple[float, ...], scale: float) -> float:
    """Return the smallest round distance (mm) between numbers that are not too close."""
    return next((step for step in steps if step * scale >= _APART), steps[-1])


def _ticks(low: float, high: float, step: float) -> Iterator[tuple[float, bool]]:
    """Give the places of ticks (mm), five to a step, and whether they bear a number."""
    first, last = -(-low * 5.0 // step), high * 5.0 // step
    for i in range(int(first), int(last) + 1):
        yield i * step / 5.0, i % 5 == 0


def _ruler(
    axes: Axes, ticks: list[tuple[tuple[float, float], tuple[float, float]]], colour: str
) -> None:
    lines = LineCollection(ticks, colors=colour, linewidths=0.6)
    lines.set_clip_on(False)
    axes.add_collection(lines, autolim=False)


def _number(
    axes: Axes,
    at: tuple[float, float],
    text: str,
    *,
    size: float,
    ha: str = "center",
    va: str = "center",
    colour: str = INK,
) -> None:
    axes.text(
        *at,
        writable(text),
        fontsize=size,
        color=colour,
        parse_math=False,
        horizontalalignment=ha,
        verticalalignment=va,
    )
