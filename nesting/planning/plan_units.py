"""Bounds in a stored plan are numbers there: their unit is what the material is taken in."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from nesting.material.material import Material
from nesting.quantity import Unit

__all__ = ["with_units", "without_units"]

_Json = Any


def without_units(plan: _Json) -> None:
    """Put the number for each bound of a plan's tree."""
    for holder, key, _ in _bounds(plan):
        holder[key] = holder[key]["value"]


def with_units(plan: _Json) -> None:
    """Put the number and its unit for each bound of a plan's tree, if it is a number."""
    for holder, key, material in _bounds(plan):
        if isinstance(holder.get(key), int | float) and not isinstance(holder[key], bool):
            holder[key] = {"value": holder[key], "unit": _taken_in(material)}


def _bounds(plan: _Json) -> Iterator[tuple[dict[str, _Json], str, _Json]]:
    """Yield what holds a bound, under what key, and the material that it is of."""
    plan = plan if isinstance(plan, dict) else {}
    for entry in _dicts(plan.get("entries")):
        if isinstance(entry.get("search"), dict):
            yield entry["search"], "bound", entry.get("material")
    job = plan.get("job")
    materials = _dicts(job.get("materials")) if isinstance(job, dict) else []
    named = {str(material.get("name")): material for material in materials}
    for bound in _dicts(plan.get("bounds")):
        yield bound, "amount", named.get(str(bound.get("material")))


def _dicts(value: _Json) -> list[dict[str, _Json]]:
    return [one for one in value if isinstance(one, dict)] if isinstance(value, list) else []


@lru_cache(maxsize=1)
def _materials() -> TypeAdapter[Material]:
    return TypeAdapter(Material)


def _taken_in(material: _Json) -> str:
    """Return what a material is taken in; sheets where there is none that can be read."""
    try:
        return _materials().validate_json(json.dumps(material), strict=True).taken_in.value
    except ValidationError:
        return Unit.SHEETS.value
