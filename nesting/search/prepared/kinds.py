"""Parts that are alike, and the outlines that a lay has."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from nesting.marker.lay import Lay, Part
from nesting.search.prepared.holds import Pins
from nesting.search.prepared.outlines import Outline, outline, width_of

__all__ = ["Kinds", "kinds_of", "outlines_of"]


@dataclass(frozen=True, slots=True)
class Kinds:
    """Identical parts grouped: `of` each part, and one part of each kind."""

    of: tuple[int, ...]
    parts: tuple[Part, ...]


def kinds_of(lay: Lay) -> Kinds:
    """Group parts that may be exchanged for each other."""
    known: dict[Any, int] = {}
    parts: list[Part] = []
    of = []
    pins = Pins(lay)
    for part in lay.parts:
        key = (part.piece.cut, part.piece.holes, part.turns, part.flip, part.region)
        full = (*key, part.binding, part.edge, *pins.of(part))
        if full not in known:
            known[full] = len(parts)
            parts.append(part)
        of.append(known[full])
    return Kinds(tuple(of), tuple(parts))


def outlines_of(
    lay: Lay, kinds: Kinds, *, share: float, finer: float | None = None
) -> tuple[list[Outline], list[int]]:
    """Prepare the lay's different outlines; return them and the outline of each kind.

    `share`: of its area that may be added to each. With the share of `finer` ones they contain
    those, and pockets are filled besides whose mouth is narrower than all parts.
    """
    widths = []
    for part in kinds.parts:
        xy = np.array(part.piece.cut.points(0.5))
        widths.append(float(min(np.ptp(xy, axis=0))))
    least = 0.5 * min(widths, default=0.0)
    mouth = 0.0
    if finer is not None:
        mouth = least
        for cut, holes in {(part.piece.cut, part.piece.holes): None for part in kinds.parts}:
            mouth = width_of(cut, holes, spacing=lay.spacing, least_hole=least, most=mouth)
    known: dict[Any, int] = {}
    outlines: list[Outline] = []
    of = []
    for part in kinds.parts:
        lines = (part.piece.cut, part.piece.holes)
        # The anchor is noted with the outline, so alike pieces with other anchors are others.
        key = (*lines, None if part.binding is None else part.binding.anchor)
        if key not in known:
            known[key] = len(outlines)
            outlines.append(
                outline(
                    *lines, spacing=lay.spacing, share=share, least_hole=least, mouth=mouth,
                    finer=finer or 0.0,
                )
            )  # fmt: skip
        of.append(known[key])
    return outlines, of
