"""What a marker makes of its hides: net area, yield, and the two wastes of the trade.

First waste lies between interlocking pieces, second waste at the edges of the skin and
around its defects (Russ and Small, 1922, as told by futurefootwear.in, parts 4 and 6).
What is left whole and worth keeping is neither.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from nesting.marker.marker import Marker
from nesting.pattern.polygon import area_less, piece_polygon, polygon
from nesting.planning.buying.remnants import Leftover, leftovers
from nesting.planning.lay.ground import hides_used
from nesting.planning.plan import Entry

__all__ = ["SMALL_ARTICLES_WASTE", "HideYield", "hide_yield"]

SMALL_ARTICLES_WASTE = 0.20
"""Rule of thumb for small articles of leather (leather-dictionary.com, "Leather cutting waste")."""

CLOSE = 40.0
"""Between parts nearer than this (mm) it is first waste: nothing is cut from it (own choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HideYield:
    """Areas in mm²: `gross` of the hides used, `net` of the parts, the wastes, what is kept."""

    gross: float
    net: float
    first: float
    second: float
    kept: float

    @property
    def share(self) -> float:
        """The yield: parts ÷ hides."""
        return self.net / self.gross if self.gross else 0.0

    @property
    def waste(self) -> float:
        """Both wastes as a share of what is used up: the hides less what is kept."""
        used = self.gross - self.kept
        return (self.first + self.second) / used if used > 0.0 else 0.0


def hide_yield(entry: Entry, *, left_over: Sequence[Leftover] | None = None) -> HideYield | None:
    """Reckon the yield of a marker on hides; None on other goods.

    `left_over`: what the marker leaves (`leftovers`), where that is known. First waste is
    what lies between parts within 4 cm of one another, off the flaws.
    """
    marker, material = entry.marker, entry.material
    if not material.is_leather:
        return None
    gross = sum(float(polygon(hide.outline).area) for hide in hides_used(marker, material))
    net = first = 0.0
    for sheet, goods in enumerate(marker.used):
        parts = _parts(marker, sheet)
        joined = shapely.union_all(parts)
        closed = joined.buffer(0.5 * CLOSE).buffer(-0.5 * CLOSE)
        whole = area_less(goods.outline, goods.holes)
        net += float(joined.area)
        first += float((closed & whole).difference(joined).area)
    kept = sum(left.area for left in (leftovers(entry) if left_over is None else left_over))
    second = max(0.0, gross - net - first - kept)
    return HideYield(gross=gross, net=net, first=first, second=second, kept=kept)


def _parts(marker: Marker, sheet: int) -> list[shapely.Polygon]:
    return [
        piece_polygon(marker.lay.parts[p.part].piece, by=p.affine)
        for p in marker.placements
        if p.sheet == sheet
    ]
