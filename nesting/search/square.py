"""Parts that may turn freely, held to a few turns square to the grain, and when odd ones pay."""

from __future__ import annotations

from dataclasses import replace

from nesting.marker.lay import Lay, Turns
from nesting.search.prepared.holds import Pins

__all__ = ["AS_DRAWN", "PAYS", "RIGHT", "may_turn", "pays", "squared"]

AS_DRAWN = Turns(angles=(0.0, 180.0))
"""Along the grain, either way."""

RIGHT = Turns(angles=(0.0, 90.0, 180.0, 270.0))
"""Right angles."""

PAYS = 0.005
"""An odd turn pays if it makes the marker shorter by more than this share (our choice)."""


def may_turn(lay: Lay) -> bool:
    """Whether some part may turn freely, off hides: nothing on them is square."""
    hides = any(sheet.cost or sheet.regions for sheet in lay.stock.sheets)
    return not hides and any(part.turns.free for part in lay.parts)


def squared(lay: Lay, turns: Turns) -> Lay:
    """Return the lay with some turns alone for what may turn freely."""
    pins = Pins(lay)
    parts = tuple(
        replace(p, turns=turns) if p.turns.free and p.held is None and pins.turn(p) is None else p
        for p in lay.parts
    )
    return replace(lay, parts=parts)


def pays(length: float, square: float) -> bool:
    """Whether a marker with odd turns is so much shorter than a square one (mm) that they pay."""
    return length < square * (1.0 - PAYS)
