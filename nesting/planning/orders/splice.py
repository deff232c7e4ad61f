"""Where a ply may be spliced: an end of cloth overlapped by the next without losing a part."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.marker.marker import Marker
from nesting.pattern.measure import bounds

__all__ = ["Splice", "splices"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Splice:
    """Two lines across the cloth (mm), between which two lengths of cloth overlap.

    The old length reaches `end` at least, the new one starts at `begin` at the latest:
    so every part is whole in one of the two.
    """

    begin: float
    end: float

    @property
    def overlap(self) -> float:
        """Cloth spread twice (mm)."""
        return self.end - self.begin


def splices(marker: Marker, *, most: float = 200.0) -> tuple[Splice, ...]:
    """Return the places where cloth may be spliced with at most `most` mm of overlap.

    Of places whose overlap would be alike only the best of each stretch is kept.
    The trade calls 5–10 cm very economical, 10–20 cm optimal, 30–40 cm poor
    (Vilumsone-Nemes, Industrial Cutting of Textile Materials, p. 41).
    """
    spans = sorted(
        (box[0], box[2])
        for box in (
            bounds(marker.lay.parts[p.part].piece.cut.transformed(p.affine))
            for p in marker.placements
        )
    )
    found: list[Splice] = []
    reach = 0.0
    for index, (left, right) in enumerate(spans):
        if index and reach - left <= most:
            place = Splice(begin=left, end=max(reach, left))
            if found and place.begin - found[-1].begin < most:
                if place.overlap < found[-1].overlap:
                    found[-1] = place
            else:
                found.append(place)
        reach = max(reach, right)
    return tuple(found)
