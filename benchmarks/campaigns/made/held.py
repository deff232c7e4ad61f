"""Some parts of a plan as the [[held]] tables of its job."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from random import Random

from ..trade.rules.answer import Entry, Lying
from ..trade.rules.held import said_variant
from .toml import Table

__all__ = ["held_tables"]

_CURVED = 14
"""An outline of so many points is sampled: where its corner is, is known to some micrometres."""


def held_tables(rng: Random, entries: Sequence[Entry]) -> list[Table]:
    """Return up to three parts of a plan where they lie; lengths say that they are mm."""
    some = [
        (entry, lying)
        for entry in entries
        if not entry.loads
        for lying in entry.lying
        if len(lying.outline.exterior.coords) < _CURVED
    ]
    often = Counter((entry.material, _key(lying)) for entry, lying in some)
    clear = [(e, lying) for e, lying in some if often[e.material, _key(lying)] == 1]
    return [_table(*one) for one in rng.sample(clear, min(len(clear), rng.randint(1, 3)))]


def _key(lying: Lying) -> tuple[object, ...]:
    variant = said_variant(lying)
    return lying.bag, lying.number, lying.piece, variant, lying.copy, lying.hand


def _table(entry: Entry, lying: Lying) -> Table:
    left, low = lying.lies.bounds[:2]
    table: Table = {
        "material": entry.material,
        "piece": lying.piece,
        "at": [f"{left:.9f} mm", f"{low:.9f} mm"],
        "turn": lying.angle % 360.0,
        "mirrored": lying.flipped,
        "copy": lying.copy,
        "hand": lying.hand,
        "number": lying.number,
        "variant": said_variant(lying),
    }
    if lying.bag:
        table["bag"] = lying.bag
    if entry.sheets:
        name = entry.sheets[lying.sheet]
        table |= {"on": name, "sheet": entry.sheets[: lying.sheet + 1].count(name)}
    return table
