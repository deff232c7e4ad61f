"""Zones of a hide guessed from its outline: a place to start from, never a judgement.

Butt and bend are best, then the shoulder, the neck, the flanks, and the belly with the
legs last (ravenleatherz.com; popovleather.com; chestofbooks "Selection of skins"). Where
one ends and the next begins differs from hide to hide: the shares below are our own.

Leather is tightest along the backbone, which is why straps are cut from nose to tail
(nayscustomleather.com); that it is so in neck and flanks, too, is our simplification. How
far parts may turn from it is less in the poorer zones (chestofbooks, "Stretchiness and
tightness"); the degrees are our own.
"""

from __future__ import annotations

import shapely

from nesting.material.material import Grade, Zone
from nesting.pattern.path import Affine, Path
from nesting.pattern.polygon import polygon, ring_path

__all__ = ["guessed_zones"]

_CORE = 0.58
"""Butt, shoulder and neck reach so far from the backbone, as a share of the half width."""

_FLANK = 0.76
"""So far reach the flanks; beyond lie belly and legs."""

_ALONG = (("butt", Grade.A, 0.0, 0.56), ("shoulder", Grade.B, 0.56, 0.84))
"""Zones beside the backbone, as shares of its length from the tail."""

_SLACK = {"butt": 45.0, "shoulder": 35.0, "neck": 25.0, "flank": 25.0}
"""How far a part may turn from the backbone in each zone, degrees."""

_NECK = 0.84
_SMALLEST = 0.01
"""A bit smaller than this share of the hide is no zone."""

_BACK = 0.15
"""The straight back of a side shows in this share of its width."""


def guessed_zones(outline: Path, *, backbone: float, side: bool) -> tuple[Zone, ...]:
    """Return zones graded A to C, tight along the backbone; the rest of the hide is the poorest.

    Parameters
    ----------
    outline
        The hide's, mm.
    backbone
        Direction of the backbone from tail to neck, degrees.
    side
        Half a hide, cut along the backbone: its straighter long edge is the back.
        Otherwise the backbone runs through the middle.

    """
    upright = Affine.turn(-backbone)
    hide = polygon(outline.transformed(upright), chord=0.1)
    x0, y0, x1, y1 = hide.bounds
    spine, half = _spine(hide, side=side)

    def band(near: float, far: float) -> shapely.geometry.base.BaseGeometry:
        """Return what lies from `near` to `far` from the backbone, on both sides of it."""
        strips = [
            shapely.box(x0, spine + way * near * half, x1, spine + way * far * half)
            for way in (-1.0, 1.0)
        ]
        return shapely.union_all(strips)

    core, length = band(0.0, _CORE), x1 - x0
    areas = [
        (name, grade, core & shapely.box(x0 + a * length, y0, x0 + b * length, y1))
        for name, grade, a, b in _ALONG
    ]
    neck = shapely.box(x0 + _NECK * length, y0, x1, y1)
    areas.append(("neck", Grade.C, (core | band(_CORE, _FLANK)) & neck))
    areas.append(("flank", Grade.C, band(_CORE, _FLANK) - neck))
    back = Affine.turn(backbone)
    zones = []
    for name, grade, area in areas:
        inside = area & hide
        for bit in getattr(inside, "geoms", [inside]):
            if isinstance(bit, shapely.Polygon) and bit.area > _SMALLEST * hide.area:
                ring = ring_path(bit.exterior)
                zones.append(
                    Zone(
                        name=name,
                        grade=grade,
                        outline=ring.transformed(back),
                        tight=backbone,
                        slack=_SLACK[name],
                    )
                )
    return tuple(zones)


def _spine(hide: shapely.Polygon, *, side: bool) -> tuple[float, float]:
    """Return where across an upright hide its backbone runs, and how far it reaches from it."""
    x0, y0, x1, y1 = hide.bounds
    if not side:
        return 0.5 * (y0 + y1), 0.5 * (y1 - y0)
    deep = _BACK * (y1 - y0)
    low = (hide & shapely.box(x0, y0, x1, y0 + deep)).area
    high = (hide & shapely.box(x0, y1 - deep, x1, y1)).area
    return (y0 if low >= high else y1), y1 - y0
