"""Small things in a pattern file whose size tells its unit: seam allowances and notches."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from statistics import median

from shapely import LineString, MultiLineString
from shapely import Point as ShapelyPoint

from nesting.pattern.measure import bounds, length
from nesting.pattern.path import Path
from nesting.reading.items import Group, Role

__all__ = ["Telling", "tellings"]

ALLOWANCE = (1.75, 40.0)
"""Seam allowances, mm, from the edge stitch of leather to a hem: common practice, no source.
1 cm drawn as 1 and read as mm falls below, 5 mm read as cm above."""
NOTCH = (1.0, 20.0)
"""Depths of notches, mm: common practice, no source."""

_MOST = 200
"""At most so many seam lines and notches of a group are looked at."""
_FINE = 1e-3
"""Chords of curves, as a share of their size."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """What something small is called, how long it is in file units, and what is usual (mm)."""

    what: str
    length: float
    usual: tuple[float, float]

    def fits(self, factor: float) -> bool:
        """Tell whether it has a usual size if a file unit is so many mm."""
        low, high = self.usual
        return low <= self.length * factor <= high


def tellings(groups: Iterable[Group]) -> list[Telling]:
    """Return the median seam allowance and the median depth of the notches, if there are any."""
    allowances: list[float] = []
    depths: list[float] = []
    for group in groups:
        allowances += _allowances(group)
        depths += _depths(group)
    found = (("seam allowances", allowances, ALLOWANCE), ("notches", depths, NOTCH))
    return [
        Telling(what=what, length=median(sizes), usual=usual)
        for what, sizes, usual in found
        if sizes
    ]


def _allowances(group: Group) -> Iterator[float]:
    """Yield how far each seam line is inside the cutting lines of its group."""
    cuts = [i.path for i in group.items if i.path and i.role in (Role.CUT, Role.ANY)][:_MOST]
    sews = [i.path for i in group.items if i.path and i.role is Role.SEW][:_MOST]
    if not cuts or not sews:
        return
    edge = MultiLineString([_line(path) for path in cuts])
    for path in sews:
        middles = [segment.at(0.5) for segment in path.segments[:_MOST]]
        apart = median(edge.distance(ShapelyPoint(at)) for at in middles)
        if apart > 0.0:
            yield apart


def _depths(group: Group) -> Iterator[float]:
    for item in [i for i in group.items if i.role is Role.NOTCH][:_MOST]:
        drawn = length(item.path) if item.path and not item.told else item.size
        if drawn > 0.0:
            yield drawn


def _line(path: Path) -> LineString:
    x0, y0, x1, y1 = bounds(path)
    points = path.points(_FINE * max(x1 - x0, y1 - y0, 1e-9))
    return LineString([*points, *points[:1]] if path.closed else points)
