"""Hides and left-overs as plain data for a page: as they were drawn, mm, y downwards."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from nesting.amounts import Amounts
from nesting.pattern.affine import Affine
from nesting.pattern.measure import bounds
from nesting.pattern.path import Path
from nesting.pattern.svg_path import format_path

if TYPE_CHECKING:
    from nesting.material.material import Hide, Material

__all__ = ["hide_corners", "live_drawn_goods"]

Json = dict[str, Any]

_DOWN = Affine.mirror()
_CHORD = 0.25
"""Corners of a curved edge of leather lie so near it (mm): a knife is no truer (own choice)."""


def live_drawn_goods(goods: Material, amounts: Amounts) -> dict[str, Json]:
    """Return by name what of some goods is at hand one by one, each with its lines and its size."""
    found = {}
    for one in goods.drawn:
        x0, y0, x1, y1 = bounds(one.outline)
        found[one.name] = {
            "d": " ".join(format_path(path.transformed(_DOWN)) for path in one.paths),
            "box": [x0, -y1, x1 - x0, y1 - y0],
            "size": amounts.sizes(x1 - x0, y1 - y0),
        }
    return found


def hide_corners(goods: Material) -> dict[str, list[Json]]:
    """Return by name the corners of each hide's outline, flaws and zones, however it was drawn.

    Zones that were only guessed are left out.
    """
    return {
        hide.name: [
            _shape("outline", hide.outline),
            *(_shape("flaw", flaw) for flaw in hide.flaws),
            *_zones(hide),
        ]
        for hide in goods.hides
    }


def _zones(hide: Hide) -> list[Json]:
    found = []
    for zone in () if hide.guessed else hide.zones:
        grade, tight = zone.grade.value, zone.tight
        said = {"name": "" if zone.name == f"zone {grade}" else zone.name, "grade": grade}
        slack = None if tight is None else zone.slack
        said |= {"tight": "" if tight is None else f"{tight:g}"}
        found.append(_shape("zone", zone.outline) | said | {"slack": slack})
    return found


def _shape(kind: str, path: Path) -> Json:
    corners = [list(_DOWN(at)) for at in path.points(_CHORD)]
    return {"kind": kind, "name": "", "grade": "", "tight": "", "points": corners}
