"""What a job holds lies where it says, the way it says."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from ..asked.amounts import Units
from .answer import Entry, Lying

__all__ = ["misheld", "said_variant"]

_NEAR = 0.02
"""What sampled curves may be off, mm."""

_TURN = 1e-5
"""Degrees."""


def misheld(
    held: Sequence[dict[str, Any]], entries: Sequence[Entry], units: Units
) -> Iterator[str]:
    """Yield what is not where the [[held]] tables of a job say."""
    for table in held:
        some = [
            (entry, lying)
            for entry in entries
            for lying in entry.lying
            if entry.material == table["material"] and _is(lying, table)
        ]
        if len(some) != 1:
            yield f"{table} is there {len(some)} times"
            continue
        entry, lying = some[0]
        (x, y), (left, low) = units.point(table["at"]), lying.lies.bounds[:2]
        if max(abs(x - left), abs(y - low)) > _NEAR:
            yield f"{lying.name} is held at {x:g}, {y:g} mm and lies at {left:g}, {low:g}"
        turn = table.get("turn")
        if turn is not None and abs(math.remainder(turn - lying.angle, 360.0)) > _TURN:
            yield f"{lying.name} is held at {turn:g}° and turned by {lying.angle:g}°"
        if lying.flipped != table.get("mirrored", False):
            yield f"{lying.name} lies the other side up than it is held"
        if "on" in table and entry.sheets[lying.sheet] != table["on"]:
            yield f"{lying.name} is held on {table['on']}, lies on {entry.sheets[lying.sheet]}"


def said_variant(lying: Lying) -> str:
    """Return a part's variant as plans say it."""
    bit = "" if lying.bit is None else f"piece {lying.bit[0]} of {lying.bit[1]}"
    return ", ".join(filter(None, (lying.variant, bit))) or "plain"


def _is(lying: Lying, table: dict[str, Any]) -> bool:
    return (
        lying.piece == table["piece"]
        and lying.copy == table.get("copy", 1)
        and lying.number == table.get("number", 1)
        and (lying.bag == "" or lying.bag == table.get("bag"))
        and (lying.both_hands or lying.hand == table.get("hand", lying.hand))
        and table.get("variant", said_variant(lying)) == said_variant(lying)
    )
