"""What the trade would reckon without a marker, to hold one against: never what is bought.

The sums and their sources are in `nesting.material.sums` and `nesting.planning.buying.repeats`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass

from nesting.marker.figures import figures
from nesting.marker.lay import Part
from nesting.marker.measure import piece_area
from nesting.material.material import Goods
from nesting.material.sums import cloth_for_area, gross_area, with_waste_added
from nesting.pattern.measure import bounds
from nesting.planning.buying.hide_yield import SMALL_ARTICLES_WASTE
from nesting.planning.buying.repeats import (
    lost_to_repeats,
    motif_columns,
    motif_length,
    simple_matched_length,
)
from nesting.planning.plan import Entry
from nesting.units import AREA_UNITS

__all__ = ["ClothRules", "LeatherRules", "cloth_rules", "leather_rules"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClothRules:
    """Lengths of cloth, one ply (mm).

    `by_area`: what the parts' area fills of the usable width. `allowance`: the length
    without the print, and as large a share more as the parts on the print lose to its repeats
    on average; None where no part has to lie on one. `in_rows`: the centred parts alone, each
    kind in rows that take whole repeats; `simple`: with a repeat more for each row instead;
    None where nothing is centred.
    """

    by_area: float
    allowance: float | None
    in_rows: float | None
    simple: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LeatherRules:
    """Leather to buy for the parts (mm²): net / (1 - waste), and net and a share in whole ft²."""

    waste: float
    gross: float
    added: float


def leather_rules(entry: Entry) -> LeatherRules | None:
    """Return what the rule for small articles asks for; None on other goods."""
    if not entry.material.is_leather:
        return None
    net = figures(entry.marker).area
    return LeatherRules(
        waste=SMALL_ARTICLES_WASTE,
        gross=gross_area(net, waste=SMALL_ARTICLES_WASTE),
        added=with_waste_added(net, share=SMALL_ARTICLES_WASTE, unit=AREA_UNITS["ft²"]),
    )


def cloth_rules(entry: Entry) -> ClothRules | None:
    """Return what the rules for cloth ask for; None on other goods, or where nothing is laid."""
    cloth, stock = entry.material, entry.marker.lay.stock
    found = figures(entry.marker)
    if not stock.open_ended or not found.parts:
        return None
    parts = [entry.marker.lay.parts[p.part] for p in entry.marker.placements]
    area = math.fsum(piece_area(part.piece) for part in parts)
    rows = _rows([part for part in parts if part.binding is not None], cloth, stock.width)
    return ClothRules(
        by_area=cloth_for_area(area, width=stock.width),
        allowance=_allowance(entry, cloth, parts),
        in_rows=None if rows is None else rows[0],
        simple=None if rows is None else rows[1],
    )


def _allowance(entry: Entry, cloth: Goods, parts: list[Part]) -> float | None:
    if cloth.print is None or entry.unmatched is None:
        return None
    along, across = cloth.print.along or 0.0, cloth.print.across or 0.0
    area = lost = 0.0
    for part in parts:
        x0, y0, x1, y1 = bounds(part.piece.cut)
        area += (x1 - x0) * (y1 - y0)
        if part.binding is not None:
            lost += lost_to_repeats(x1 - x0, width=y1 - y0, along=along, across=across)
    return entry.unmatched * (1.0 + lost / area) if lost else None


def _rows(parts: list[Part], cloth: Goods, width: float) -> tuple[float, float] | None:
    """Return the length of all kinds in rows, with whole repeats and with one more for each."""
    if cloth.print is None or cloth.print.along is None:
        return None
    kinds: defaultdict[str, list[Part]] = defaultdict(list)
    for part in parts:
        if part.binding is not None and part.binding.phase is None:
            kinds[part.piece.name].append(part)
    whole = simple = 0.0
    for alike in kinds.values():
        x0, y0, x1, y1 = bounds(alike[0].piece.cut)
        columns = motif_columns(width, part=y1 - y0, across=cloth.print.across or (y1 - y0))
        if not columns:
            return None
        whole += motif_length(len(alike), columns=columns, part=x1 - x0, along=cloth.print.along)
        simple += simple_matched_length(
            x1 - x0, repeat=cloth.print.along, drops=math.ceil(len(alike) / columns)
        )
    return (whole, simple) if kinds else None
