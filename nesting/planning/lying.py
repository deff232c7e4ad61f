"""Which zones of its hide each laid part lies in, for whoever draws or tells it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from nesting.marker.marker import Marker
from nesting.material.material import Goods, Grade, Zone
from nesting.pattern.path import Affine
from nesting.pattern.polygon import piece_polygon
from nesting.planning.lay.ground import hide_of
from nesting.planning.lay.zones import held

__all__ = ["Lying", "good_leather", "lying"]

Ground = tuple[tuple[Zone, BaseGeometry], ...]
"""The zones of a hide, and where each holds (`zones.held`)."""

_WORTH = {Grade.A: 3.0, Grade.B: 2.0, Grade.C: 1.0, Grade.D: 0.0}
"""By grade, so that each grade better than needed counts once."""

_TOUCHED = 0.5
"""A part is in a zone if it reaches farther into it (mm): borders are drawn by hand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lying:
    """Where on a hide a part lies.

    `placement`: its place in the marker's list. `zones`: those that hold where it lies, the
    one with most of it first. `unzoned`: some of it is in no zone.
    """

    placement: int
    zones: tuple[Zone, ...]
    unzoned: bool

    @property
    def grade(self) -> Grade:
        """The poorest grade that the part has; what is in no zone is the poorest of all."""
        return Grade.D if self.unzoned else max(zone.grade for zone in self.zones)


def lying(marker: Marker, goods: Goods) -> tuple[Lying, ...]:
    """Return where every placement lies, in the marker's order; nothing for hides without zones.

    Raises
    ------
    PlanError
        The marker isn't on sheets that are hides of these goods.

    """
    return tuple(_lying(i, part, ground) for i, part, ground in _on_zones(marker, goods))


def good_leather(marker: Marker, goods: Goods) -> float:
    """Return how much leather better than the poorest the parts take: mm² × grades.

    Raises
    ------
    PlanError
        The marker isn't on sheets that are hides of these goods.

    """
    return math.fsum(
        _WORTH[zone.grade] * shapely.intersection(part, area).area
        for _, part, ground in _on_zones(marker, goods)
        for zone, area in ground
    )


def _on_zones(marker: Marker, goods: Goods) -> Iterator[tuple[int, BaseGeometry, Ground]]:
    """Yield each placement on a hide with zones, its area as the hide is drawn, and the zones."""
    grounds: dict[int, tuple[Ground, float]] = {}
    for i, placement in enumerate(marker.placements):
        kind = marker.sheets[placement.sheet]
        if kind not in grounds:
            hide = hide_of(marker.used[placement.sheet], goods)
            grounds[kind] = held(hide), hide.backbone
        ground, backbone = grounds[kind]
        if ground:
            part = marker.lay.parts[placement.part]
            to_hide = Affine.turn(backbone).after(placement.affine)
            yield i, piece_polygon(part.piece, by=to_hide), ground


def _lying(placement: int, part: BaseGeometry, ground: Ground) -> Lying:
    core: BaseGeometry = part.buffer(-_TOUCHED)
    if core.is_empty:
        core = part
    shares = [shapely.intersection(core, area).area for _, area in ground]
    touched = sorted((i for i, share in enumerate(shares) if share > 0.0), key=lambda i: -shares[i])
    # what is between zones drawn a hair apart is no ground of its own
    zoned = shapely.union_all([area.buffer(_TOUCHED) for _, area in ground])
    return Lying(
        placement=placement,
        zones=tuple(ground[i][0] for i in touched),
        unzoned=shapely.difference(core, zoned).area > 0.0 or not touched,
    )
