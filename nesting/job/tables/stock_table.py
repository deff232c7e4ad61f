"""The values of a stock file: how much there is of a material or a notion."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema

from nesting import units
from nesting.errors import JobError
from nesting.job.tables.fields import Table

__all__ = ["AtHand", "AtHandField", "BookTable", "OneLength", "lengths_at_hand"]

_EXAMPLE = 'write "2.4 m", a list of lengths, or { length = "2.4 m", width = "145 cm" }'


@dataclass(frozen=True, slots=True, kw_only=True)
class OneLength:
    """A length of cloth at hand (mm), its width if said; `plain`: written without a unit."""

    value: float
    width: float | None = None
    plain: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AtHand:
    """How much there is: a number (of sheets, of a notion), or lengths."""

    number: float | None = None
    lengths: tuple[OneLength, ...] = ()


def lengths_at_hand(have: AtHand, *, unit: str | None) -> tuple[tuple[float, float | None], ...]:
    """Return (length, width if said) of cloth, mm; a plain number needs the file's `unit`.

    Raises
    ------
    JobError
        A number without a unit, in a file that says none.

    """
    plain = have.number is not None or any(one.plain for one in have.lengths)
    if plain and unit is None:
        raise JobError(
            "is cloth: its lengths need a unit", hint='write "2.4 m", or give the file a unit'
        )
    if have.number is not None:
        return ((units.length(have.number, unit=unit or "mm"), None),)
    return tuple((one.value, one.width) for one in have.lengths)


def _at_hand(value: Any, info: ValidationInfo) -> AtHand:
    unit = (info.context or {}).get("unit", "mm")
    if isinstance(value, int | float) and not isinstance(value, bool):
        if not 0 <= value <= _MOST:
            least = "there can't be less than nothing" if value < 0 else "must be a sensible number"
            raise JobError(least)
        return AtHand(number=float(value))
    items = value if isinstance(value, list) else [value]
    return AtHand(lengths=tuple(_one(item, unit) for item in items))


_MOST = 1e9
"""Nobody has more sheets or zips."""


def _one(item: Any, unit: str) -> OneLength:
    if not isinstance(item, dict):
        plain = isinstance(item, int | float)
        return OneLength(value=_size(item, unit), plain=plain)
    if "length" not in item or not item.keys() <= {"length", "width"}:
        raise JobError("must have a length, and may have a width", hint=_EXAMPLE)
    width = _size(item["width"], unit) if "width" in item else None
    if width == 0.0:
        raise JobError("a length without width is none", hint="leave it out")
    plain = any(isinstance(number, int | float) for number in item.values())
    return OneLength(value=_size(item["length"], unit), width=width, plain=plain)


def _size(value: Any, unit: str) -> float:
    size = units.length(value, unit=unit)
    if size < 0.0 or math.isnan(size):
        raise JobError("there can't be less than nothing")
    return size


AtHandField = Annotated[
    Any,
    BeforeValidator(_at_hand),
    WithJsonSchema(
        {
            "$comment": "number, length or table of length and width, or a list of these",
            "anyOf": [
                {"type": "number", "minimum": 0},
                {"type": "string"},
                {"type": "object"},
                {"type": "array"},
            ],
            "examples": [3, "2.4 m", [{"length": "240 cm", "width": "145 cm"}, "90 cm"]],
        }
    ),
]
"""Sheets and notions by number; cloth by lengths, each with its width if it is not the first."""


class BookTable(Table):
    """What was taken off a stock file; `thriftlay done` writes it."""

    cut: list[str] = Field([], description="plans already taken off: none is taken off twice")
