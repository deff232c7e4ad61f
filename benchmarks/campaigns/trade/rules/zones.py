"""Zones of a hide: the grades and directions of tightness of all that a part touches."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry

from ..asked.cutting_list import Asked
from ..asked.goods import Spot, Zone
from .answer import Lying
from .directions import on_bias

__all__ = ["out_of_zones"]

_MEET = 0.5
"""Zones less than twice this apart (mm) meet."""
_TOUCH = 0.1
"""How far into what it may not lie in a part reaches before it counts (mm)."""


def out_of_zones(lying: Lying, asked: Asked, spot: Spot) -> Iterator[str]:
    """Yield what is wrong with where a part lies among the zones of a hide."""
    if not spot.zones:
        return
    grade = asked.cut.get("grade", "D")
    holding = held(spot.zones)
    good = [area for zone, area in holding if _allows(zone, lying, asked, grade)]
    allowed = shapely.union_all([area.buffer(_MEET, join_style="mitre") for area in good])
    bad: list[BaseGeometry] = [
        area for zone, area in holding if not _allows(zone, lying, asked, grade)
    ]
    if grade != "D":
        drawn = shapely.union_all([zone.area for zone in spot.zones])
        bad.append(lying.lies.difference(drawn))
    touched = lying.lies.intersection(shapely.union_all(bad)).difference(allowed)
    deep = touched.buffer(-_TOUCH)
    if deep.area > 1.0:
        yield (
            f"{lying.name} at {lying.angle:g}° reaches over {deep.area:.1f} mm² of {spot.name} that"
            " are too poor, or tight another way"
        )


def _allows(zone: Zone, lying: Lying, asked: Asked, grade: str) -> bool:
    """Whether a zone is good enough and allows the direction in which a part lies."""
    if zone.grade > grade:
        return False
    if zone.tight is None:
        return True
    # A cut's own slack replaces the zones' where the leather has no nap.
    slack = zone.slack
    if asked.nap == "any" and "turn_slack" in asked.cut:
        slack = asked.slack
    # To what is cut on the bias, directions that are square to each other are one.
    alike = 90.0 if on_bias(asked) else 180.0
    return abs(math.remainder(lying.angle - zone.tight, alike)) <= slack + 1e-4


def held(zones: tuple[Zone, ...]) -> list[tuple[Zone, BaseGeometry]]:
    """Return where each zone holds: over poorer ones, and over equally good earlier ones."""
    found = []
    for i, zone in enumerate(zones):
        over = [
            other.area
            for j, other in enumerate(zones)
            if j != i and (other.grade, -j) < (zone.grade, -i)
        ]
        found.append((zone, zone.area.difference(shapely.union_all(over))))
    return found
