"""Where on a hide a part may lie, and how it may turn there: grades, and directions of tightness.

The rule: a part satisfies every zone that it touches. Each is good enough, and allows the
part's direction. What is in no zone has the poorest grade and allows every direction. Where
zones overlap the better one holds, of equally good ones the later. Zones drawn less than a
millimetre apart meet. Of a part on the bias either diagonal may lie along the tightness, as
both diagonals of cloth are its bias: what is true of a direction is true of that square to it.

So that a part may reach across borders, the zones that allow the same directions make one
region. Directions are parted where a zone begins or ends to allow them; for each such range
there is one region with the turns of that range, and a part takes whichever it likes. Every
place and turn that the rule allows is in one of them, and nothing else is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import shapely
from shapely.geometry.base import BaseGeometry

from nesting.marker.lay import Turns
from nesting.material.material import Grade, Hide, Nap, Zone
from nesting.pattern.measure import counter_clockwise
from nesting.pattern.path import Path
from nesting.pattern.polygon import outlines_of, polygon

__all__ = ["Allowed", "allowed_on", "allows", "held"]

_MEET = 0.5
"""Zones grown by so much (mm) that touch each other meet: lines drawn by hand don't coincide."""

_TOUCHED = 1.0
"""An area of no more than this (mm²) is none."""

_HAIR = 1e-9

_HALF = 180.0
"""Directions so far apart (degrees) are one to the tightness of leather; on the bias half of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowed:
    """An area of a hide, as it is drawn, and the turns of a part in it (None: its own).

    `outlines` run counter-clockwise, holes in them clockwise (mm). Turns are relative to the
    backbone.
    """

    outlines: tuple[Path, ...]
    turns: Turns | None


@lru_cache(maxsize=64)  # a plan that spares good leather asks several times; hides are large
def allowed_on(
    hide: Hide,
    *,
    grade: Grade,
    nap: Nap,
    slack: float | None = None,
    best: Grade | None = None,
    bias: bool = False,
) -> tuple[Allowed, ...]:
    """Return where a part may lie that accepts a grade; it chooses among the areas.

    `slack`: how far (degrees) it may turn from the direction of tightness, instead of what
    the zones say. A part with a nap lies along the backbone, or is turned from it by `slack`
    at most, as far as the zones allow that. `best`: it is held to zones no better than this.
    `bias`: it is cut on the bias.
    """
    period = 0.5 * _HALF if bias else _HALF
    if nap is not Nap.ANY and not hide.grain_known:
        return ()
    if not hide.zones:
        return (Allowed(outlines=(counter_clockwise(hide.outline),), turns=None),)
    if nap is not Nap.ANY and slack:
        return tuple(_near_backbone(hide, grade, best, nap=nap, slack=slack, period=period))
    if nap is not Nap.ANY:
        fit = _graded(hide.zones, grade, best)
        good = {i for i in fit if allows(hide.zones[i], hide.backbone, period=period)}
        outlines = _outlines(_area(hide, good, rest=grade is Grade.D), hide, good)
        return (Allowed(outlines=outlines, turns=None),) if outlines else ()
    zones = hide.zones if slack is None else tuple(replace(z, slack=slack) for z in hide.zones)
    return tuple(_by_direction(hide, zones, grade, best, period=period))


def _graded(zones: Sequence[Zone], grade: Grade, best: Grade | None) -> list[int]:
    """Return the zones from the best to the poorest that a part may lie in."""
    from_best = Grade.A if best is None else best
    return [i for i, zone in enumerate(zones) if from_best <= zone.grade <= grade]


def allows(zone: Zone, direction: float, *, period: float = _HALF) -> bool:
    """Whether a part may lie along a direction (degrees, as the hide is drawn) in a zone.

    `period`: how far apart directions are that are one to the part.
    """
    if zone.tight is None:
        return True
    return abs(math.remainder(direction - zone.tight, period)) <= zone.slack + _HAIR


def _by_direction(
    hide: Hide, zones: Sequence[Zone], grade: Grade, best: Grade | None, *, period: float
) -> Iterator[Allowed]:
    """Yield the area of each range of directions; the more freedom a part has there the earlier."""
    fit = _graded(zones, grade, best)
    # In the poorer zones no part of this grade lies, so their directions don't matter.
    for some, low, high in _ranges([zones[i] for i in fit], period):
        good = {fit[k] for k in some}
        outlines = _outlines(_area(hide, good, rest=grade is Grade.D), hide, good)
        if not outlines:
            continue
        if high - low >= period - _HAIR:
            yield Allowed(outlines=outlines, turns=None)
        else:
            angles = _either_way(0.5 * (low + high) - hide.backbone, period)
            turns = Turns(angles=angles, slack=0.5 * (high - low))
            yield Allowed(outlines=outlines, turns=turns)


def _either_way(angle: float, period: float) -> tuple[float, ...]:
    """Return all turns that are one to the tightness of leather."""
    return tuple(angle + k * period for k in range(round(360.0 / period)))


def _near_backbone(
    hide: Hide, grade: Grade, best: Grade | None, *, nap: Nap, slack: float, period: float
) -> Iterator[Allowed]:
    """Yield the areas of a part with a nap that may turn a little: of each range of directions."""
    fit = _graded(hide.zones, grade, best)
    # Farther turns of a part that may lie either way are those of its other ways.
    slack = min(slack, _HALF if nap is Nap.ONE_WAY else 0.5 * period)
    least, most = hide.backbone - slack, hide.backbone + slack
    for some, first, last in _ranges([hide.zones[i] for i in fit], period):
        good = {fit[k] for k in some}
        outlines = _outlines(_area(hide, good, rest=grade is Grade.D), hide, good)
        if not outlines:
            continue
        if last - first >= period - _HAIR:
            yield Allowed(outlines=outlines, turns=None)
            continue
        turns = math.ceil((least - last) / period - _HAIR)
        while first + period * turns <= most + _HAIR:
            low, high = max(least, first + period * turns), min(most, last + period * turns)
            middle = 0.5 * (low + high) - hide.backbone
            angles = (middle,) if nap is Nap.ONE_WAY else _either_way(middle, period)
            kept = Turns(angles=angles, slack=max(0.0, 0.5 * (high - low)))
            whole = low <= least + _HAIR and high >= most - _HAIR
            yield Allowed(outlines=outlines, turns=None if whole else kept)
            turns += 1


def _ranges(zones: Sequence[Zone], period: float) -> list[tuple[frozenset[int], float, float]]:
    """Return sets of zones, and the directions (from, to, degrees) that all of each allow.

    For each direction there is the largest set, with all directions beside it that it allows.
    """
    everywhere = frozenset(range(len(zones)))
    edges = sorted(
        {
            round((zone.tight + way * zone.slack) % period, 9) % period
            for zone in zones
            if zone.tight is not None and zone.binds()
            for way in (-1.0, 1.0)
        }
    )
    if not edges:
        return [(everywhere, 0.0, period)]
    following = [*edges[1:], edges[0] + period]
    cells = [
        cell for a, b in zip(edges, following, strict=True) for cell in ((a, a), (a, b))
    ]  # an edge by itself, and what is between two
    allowed = [
        frozenset(i for i, zone in enumerate(zones) if allows(zone, 0.5 * (a + b), period=period))
        for a, b in cells
    ]
    found: dict[tuple[float, float], tuple[frozenset[int], float, float]] = {}
    for k, here in enumerate(allowed):
        first = last = k
        while k - first < len(cells) and here <= allowed[(first - 1) % len(cells)]:
            first -= 1
        while last - first < len(cells) and here <= allowed[(last + 1) % len(cells)]:
            last += 1
        turns, place = divmod(first, len(cells))
        low = cells[place][0] + period * turns
        turns, place = divmod(last, len(cells))
        high = cells[place][1] + period * turns
        if high - low >= period - _HAIR:
            low, high = 0.0, period
        key = (round(low % period, 6), round(high - low, 6))
        if key not in found or found[key][0] < here:
            found[key] = (here, low, high)
    return sorted(found.values(), key=lambda one: (one[1] - one[2], one[1]))


def _area(hide: Hide, good: set[int], *, rest: bool) -> BaseGeometry:
    """Return where the zones that are `good` hold, and with `rest` all that is in no zone."""
    shapes = [polygon(zone.outline) for zone in hide.zones]
    inside: BaseGeometry = polygon(hide.outline)
    if not rest:
        inside = _joined([shapes[i] for i in sorted(good)])
    for i, zone in enumerate(hide.zones):
        if i in good:
            continue
        over = [shapes[j] for j in good if _holds_over(hide.zones[j], j, zone, i)]
        inside = shapely.difference(inside, shapely.difference(shapes[i], _joined(over)))
    return inside


def _joined(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """Return the union of zones, with what is between those that meet.

    The chords of a curve that two of them share are apart, and lines drawn by hand, too.
    """
    if len(shapes) < 2:
        return shapely.union_all(shapes)
    grown = [shapely.buffer(shape, _MEET, join_style="mitre") for shape in shapes]
    bridged = shapely.buffer(shapely.union_all(grown), -_MEET, join_style="mitre")
    # The bridge is what is between them, not what a corner gains.
    return shapely.union_all([*shapes, bridged])


def _holds_over(one: Zone, i: int, other: Zone, j: int) -> bool:
    """Whether the first of two zones (and their places) holds where they overlap."""
    return (one.grade, -i) < (other.grade, -j)


def _outlines(area: BaseGeometry, hide: Hide, good: set[int]) -> tuple[Path, ...]:
    """Return an area's outlines and holes; those of a whole hide or zone with their curves."""
    hair = _HAIR * polygon(hide.outline).area
    for path in (hide.outline, *(hide.zones[i].outline for i in sorted(good))):
        drawn = polygon(path)
        if abs(drawn.area - area.area) > hair:
            continue  # they can't be one, which takes longer to see by their outlines
        if shapely.symmetric_difference(drawn, area).area <= hair:
            return (counter_clockwise(path),)
    found: list[Path] = []
    for bit in getattr(area, "geoms", [area]):
        if isinstance(bit, shapely.Polygon) and bit.area > _TOUCHED:
            found += outlines_of(bit)
    return tuple(found)


def held(hide: Hide) -> tuple[tuple[Zone, BaseGeometry], ...]:
    """Return the area (mm, as the hide is drawn) in which each zone holds, over all others."""
    shapes = [polygon(zone.outline) for zone in hide.zones]
    found = []
    for i, zone in enumerate(hide.zones):
        over = [
            shapes[j]
            for j, other in enumerate(hide.zones)
            if j != i and _holds_over(other, j, zone, i)
        ]
        area = shapely.difference(shapes[i], _joined(over))
        if area.area > _TOUCHED:
            found.append((zone, area))
    return tuple(found)
