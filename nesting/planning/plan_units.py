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
    return _with(plan, lambda _: ("", ""))


def with_units(plan: Plan) -> Plan:
    """Return a plan that was read with the unit of each of its quantities."""
    return _with(plan, lambda material: (material.taken_in, material.sold_in))


_Units = Callable[[Material], tuple[str, str]]
"""Returns what is taken and what is bought of a material."""


def _with(plan: Plan, units: _Units) -> Plan:
    taken = {material.name: units(material)[0] for material in plan.job.materials}
    bounds = tuple(
        replace(bound, amount=bound.amount.of(taken.get(bound.material, Unit.SHEETS)))
        for bound in plan.bounds
    )
    entries = tuple(_entry(entry, *units(entry.material)) for entry in plan.entries)
    return replace(plan, entries=entries, bounds=bounds)


def _entry(entry: Entry, taken: str, sold: str) -> Entry:
    search = replace(entry.search, bound=entry.search.bound.of(taken))
    return replace(entry, search=search)
