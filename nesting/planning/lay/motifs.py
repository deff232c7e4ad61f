"""Where motifs and named points of the parts that a print binds fall on the cloth."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nesting.marker.marker import Marker
from nesting.pattern.path import Point
from nesting.planning.lay.prints import motif_of
from nesting.tolerance import TOLERANCE

__all__ = ["PrintPoints", "print_points"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintPoints:
    """Of one placement (its index): the middle of its motif and its named points (mm, on cloth).

    `motif`: None where the part is matched to another rather than centred.
    """

    placement: int
    motif: Point | None
    points: tuple[tuple[str, Point], ...]


def print_points(marker: Marker) -> tuple[PrintPoints, ...]:
    """Return motif middle and named points of each placed part that the print binds."""
    found = []
    for number, placement in enumerate(marker.placements):
        part = marker.lay.parts[placement.part]
        if part.binding is None:
            continue
        place, middle = placement.affine, motif_of(part.piece)
        # a part matched to a centred one is bound at another point than its own middle
        centred = part.binding.phase is None and (
            math.dist(middle, part.binding.anchor) <= TOLERANCE.lattice
        )
        found.append(
            PrintPoints(
                placement=number,
                motif=place(middle) if centred else None,
                points=tuple((name, place(point)) for name, point in part.piece.points),
            )
        )
    return tuple(found)
