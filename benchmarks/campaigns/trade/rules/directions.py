"""Which way round a part may lie: grain and nap, its tolerance, and which face is up."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..asked.amounts import direction
from ..asked.cutting_list import Asked
from .answer import Lying

__all__ = ["on_bias", "turned_wrong"]

_HAIR = 1e-4
"""Degrees."""


def turned_wrong(lying: Lying, asked: Asked, *, bound: bool) -> Iterator[str]:
    """Yield what is wrong with a part's direction; `bound`: a print binds it."""
    if lying.flipped and (not asked.goods.faces_alike or bound or lying.on_fold):
        yield f"{lying.name} lies face down"
    if lying.on_fold and (lying.angle % 360.0 or lying.flipped):
        yield f"{lying.name} lies on the fold and is turned"
    if asked.nap == "any" or asked.slack >= 180.0:
        return
    ways = [0.0]
    if asked.nap == "none":
        ways.append(180.0)
        if on_bias(asked) and not bound:
            ways += [90.0, 270.0]  # both diagonals of the cloth are its bias
    off = min(abs(math.remainder(lying.angle - way, 360.0)) for way in ways)
    if off > asked.slack + _HAIR:
        yield f"{lying.name} ({asked.nap}) lies at {lying.angle:g}°, {off:g}° off its grain"


def on_bias(asked: Asked) -> bool:
    """Whether a part is cut on the bias: either diagonal of its goods will do."""
    return direction(asked.cut.get("grain", 0)) % 90.0 == 45.0
