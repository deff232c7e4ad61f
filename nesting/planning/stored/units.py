"""Quantities of a stored plan are numbers there: their units are those of the material."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from nesting.material.material import Material
from nesting.planning.plan import Entry, Plan
from nesting.quantity import Unit

__all__ = ["with_units", "without_units"]


def without_units(plan: Plan) -> Plan:
    """Return the plan as it is stored."""
    return _with(plan, lambda _: ("", "", ""))


def with_units(plan: Plan) -> Plan:
    """Return a plan that was read with the unit of each of its quantities."""
    return _with(plan, _units)


def _units(material: Material) -> tuple[str, str, str]:
    # On sheets it is the marker's length that is needed.
    needed = Unit.LENGTH if material.sold_in is Unit.SHEETS else material.sold_in
    return material.taken_in, material.sold_in, needed


_Units = Callable[[Material], tuple[str, str, str]]
"""Returns in what a material is taken, in what it is sold, and in what it is needed."""


def _with(plan: Plan, units: _Units) -> Plan:
    taken = {material.name: units(material)[0] for material in plan.job.materials}
    bounds = tuple(
        replace(bound, amount=bound.amount.of(taken.get(bound.material, Unit.SHEETS)))
        for bound in plan.bounds
    )
    entries = tuple(_entry(entry, *units(entry.material)) for entry in plan.entries)
    tried = tuple(
        replace(
            one,
            needed=None if one.needed is None else one.needed.of(Unit.LENGTH),
            from_stock=one.from_stock.of(Unit.LENGTH),
            to_buy=one.to_buy.of(Unit.LENGTH),
        )
        for one in plan.widths_tried
    )
    return replace(plan, entries=entries, bounds=bounds, widths_tried=tried)


def _entry(entry: Entry, taken: str, sold: str, needed: str) -> Entry:
    bought = entry.buying
    return replace(
        entry,
        search=replace(entry.search, bound=entry.search.bound.of(taken)),
        buying=replace(
            bought,
            needed=bought.needed.of(needed),
            gross=bought.gross.of(needed),
            to_buy=bought.to_buy.of(sold),
            step=bought.step.of(sold),
            from_stock=bought.from_stock.of(sold),
        ),
    )
