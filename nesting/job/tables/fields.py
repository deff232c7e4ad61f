"""The kinds of value a job file has: lengths, points, names, shares, choices."""

from __future__ import annotations

import math
import re
from typing import Annotated, Any, Literal, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    ValidationInfo,
    WithJsonSchema,
)

from nesting import units
from nesting.errors import JobError
from nesting.job.tables.names import check_name
from nesting.material.sums import shrinkage
from nesting.pattern.path import Point
from nesting.units import nearest

__all__ = [
    "RECTANGLE_EDGES",
    "Angle",
    "Distance",
    "FoldEdge",
    "Grain",
    "KnownGrain",
    "Length",
    "Listed",
    "Mates",
    "MeasuredShare",
    "Name",
    "Pair",
    "Price",
    "Reference",
    "SeamAllowance",
    "Share",
    "Side",
    "Size",
    "Table",
    "UnitWord",
    "reference_of",
]


UnitWord = Literal["mm", "cm", "m", "in", "ft", "yd"]


class Table(BaseModel):
    """A table of the job file: no key that it does not know, no value of the wrong kind."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


def _length(value: Any, info: ValidationInfo) -> float:
    return units.length(value, unit=(info.context or {}).get("unit", "mm"))


def reference_of(value: Any, *, unit: str) -> tuple[str, float]:
    """Return which line is meant, and its length in mm; `unit`: of a plain number.

    What lies in a picture and gives its scale has no length: 0.
    """
    if isinstance(value, str) and _PICTURED.fullmatch(value.strip()):
        return " ".join(value.split()), 0.0
    name, _, said = value.rpartition("=") if isinstance(value, str) else ("", "", value)
    return " ".join(name.split()), _positive(units.length(said, unit=unit))


_PICTURED = re.compile(
    r"(?:A[2-6]|Letter|Legal|Tabloid|marks|[^=]+ square|[^=]+ dpi|[^=]+ ?(?:x|×|by) ?[^=]+)"
    r"(?: (?:sheet|paper))?(?: and .+)?",
    re.IGNORECASE,
)
"""What gives a picture its scale; what is wrong with it, who reads the picture says."""


def _reference(value: Any, info: ValidationInfo) -> tuple[str, float]:
    return reference_of(value, unit=(info.context or {}).get("unit", "mm"))


Reference = Annotated[
    Any,
    BeforeValidator(_reference),
    WithJsonSchema(
        {
            "$comment": "length, name=length, or what lies in a picture",
            "anyOf": [{"type": "string"}, {"type": "number"}],
            "examples": ["5 cm", "my ruler=30 cm", "A4"],
        }
    ),
]
"""A line that is drawn, by its name ("" for one that says what it is), and its true length, mm; or
what lies in a picture, with 0."""


def _positive(value: float) -> float:
    if not value > 0:
        raise JobError("must be more than 0", hint="give a size")
    return value


def _not_negative(value: float) -> float:
    if value < 0:
        raise JobError("must not be negative")
    return value


# "$comment" says in a word or two what the value is, for the page about the format.
_LENGTH_SCHEMA: dict[str, Any] = {
    "$comment": "length",
    "anyOf": [{"type": "string"}, {"type": "number"}],
    "examples": ["45 cm", "3/8 in", "1 3/8 yd", '54"', 120],
}

Length = Annotated[float, BeforeValidator(_length), WithJsonSchema(_LENGTH_SCHEMA)]
"""A length of any sign, in mm."""

Distance = Annotated[
    float,
    BeforeValidator(_length),
    AfterValidator(_not_negative),
    WithJsonSchema(_LENGTH_SCHEMA),
]
"""A length that may be 0, in mm."""

Size = Annotated[
    float, BeforeValidator(_length), AfterValidator(_positive), WithJsonSchema(_LENGTH_SCHEMA)
]
"""A length greater than 0, in mm."""


def _pair(value: Any) -> Any:
    if not isinstance(value, list) or len(value) != 2:
        raise JobError("must be two lengths in square brackets", hint='write ["3 cm", "5 cm"]')
    return tuple(value)


Pair = Annotated[
    tuple[Length, Length],
    BeforeValidator(_pair),
    WithJsonSchema(
        {
            "$comment": "[length, length]",
            "type": "array",
            "items": _LENGTH_SCHEMA,
            "minItems": 2,
            "maxItems": 2,
        },
    ),
]
"""A point or a size, in mm."""


def _finite(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise JobError("must be a number", hint="write it without quotes")
    if abs(value) > 1e12 or not math.isfinite(value):
        raise JobError("must be a finite, sensible number")
    return float(value)


def _price(value: Any) -> float:
    return _not_negative(_finite(value))


Price = Annotated[
    float,
    BeforeValidator(_price),
    WithJsonSchema({"$comment": "price", "type": "number", "minimum": 0}),
]
"""An amount of money in the job's currency."""


def _angle(value: Any) -> float:
    result = _finite(value)
    if abs(result) > 360.0:
        raise JobError("must be between -360 and 360 degrees")
    return result


Angle = Annotated[
    float, BeforeValidator(_angle), WithJsonSchema({"$comment": "degrees", "type": "number"})
]
"""Degrees, counter-clockwise."""

GRAINS = {"along": 0.0, "across": 90.0, "bias": 45.0}


def _grain(value: Any) -> float:
    if isinstance(value, str):
        if value not in GRAINS:
            near = nearest(value, GRAINS)
            raise JobError(
                "must be degrees or one of along, across, bias",
                hint=f'did you mean "{near}"?' if near else None,
            )
        return GRAINS[value]
    return _angle(value)


def _grain_if_known(value: Any) -> float | Literal["unknown"]:
    if value == "unknown":
        return "unknown"
    if isinstance(value, str) and nearest(value, ("unknown",)):
        raise JobError(
            "must be degrees or one of along, across, bias, unknown",
            hint='did you mean "unknown"?',
        )
    return _grain(value)


Grain = Annotated[
    float,
    BeforeValidator(_grain),
    WithJsonSchema(
        {
            "$comment": "along, across, bias or degrees",
            "anyOf": [{"type": "number"}, {"enum": list(GRAINS)}],
        }
    ),
]
"""Degrees, or a word for them."""

KnownGrain = Annotated[
    float | Literal["unknown"],
    BeforeValidator(_grain_if_known),
    WithJsonSchema(
        {
            "$comment": "along, across, bias, unknown or degrees",
            "anyOf": [{"type": "number"}, {"enum": [*GRAINS, "unknown"]}],
        }
    ),
]
"""The same, or nobody knows."""


def _share(value: Any) -> float:
    if isinstance(value, str):
        number = value.strip().removesuffix("%").strip().replace(",", ".")
        try:
            result = float(number) / 100.0 if value.strip().endswith("%") else float(number)
        except ValueError:
            raise JobError("must be a share", hint='write "5 %" or 0.05') from None
    else:
        result = _finite(value)
    if not 0.0 <= result < 1.0:
        raise JobError("must be a share from 0 to less than 100 %", hint='write "5 %" or 0.05')
    return result


Share = Annotated[
    float,
    BeforeValidator(_share),
    WithJsonSchema(
        {
            "$comment": "share",
            "anyOf": [{"type": "string"}, {"type": "number", "minimum": 0, "exclusiveMaximum": 1}],
            "examples": ["5 %", 0.05],
        }
    ),
]
"""A share, 0 to less than 1."""


def _measured_share(value: Any, info: ValidationInfo) -> float:
    if not isinstance(value, list):
        return _share(value)
    if len(value) != 2:
        raise JobError("must be a share or [before, after]", hint='write "5 %" or [50, 48]')
    before, after = (_length(length, info) for length in value)
    if not 0.0 < after <= before:
        raise JobError("what was measured must shrink", hint="write [before, after]")
    return shrinkage(before, after=after)


MeasuredShare = Annotated[
    float,
    BeforeValidator(_measured_share),
    WithJsonSchema(
        {
            "$comment": "share, or [before, after]",
            "anyOf": [
                {"type": "string"},
                {"type": "number", "minimum": 0, "exclusiveMaximum": 1},
                {"type": "array", "items": _LENGTH_SCHEMA, "minItems": 2, "maxItems": 2},
            ],
            "examples": ["5 %", 0.05, ["50 cm", "48 cm"]],
        }
    ),
]
"""A share that is lost, or two lengths, before and after."""


def _listed(value: Any) -> Any:
    return value if isinstance(value, list) else [value]


Item = TypeVar("Item")

Listed = Annotated[list[Item], BeforeValidator(_listed)]
"""One value, or a list of them."""

RECTANGLE_EDGES = {"bottom": 1, "right": 2, "top": 3, "left": 4}
"""The names of a rectangle's edges, and their numbers."""


def _edge(value: Any) -> int:
    if isinstance(value, str) and value in RECTANGLE_EDGES:
        return RECTANGLE_EDGES[value]
    if isinstance(value, str) and value.isascii() and value.isdigit() and len(value) < 6:
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value < 100_000:
        near = nearest(value, RECTANGLE_EDGES) if isinstance(value, str) else None
        raise JobError(
            "must be an edge: a number from 1, or bottom, right, top, left of a rectangle",
            hint=f'did you mean "{near}"?' if near else None,
        )
    return value


def _side(value: Any) -> int | str:
    if isinstance(value, str) and value in RECTANGLE_EDGES:
        return value
    try:
        return _edge(value)
    except JobError as error:
        raise JobError(
            "must be an edge: top, right, bottom or left, or its number", hint=error.hint
        ) from None


Side = Annotated[
    int | str,
    BeforeValidator(_side),
    WithJsonSchema(
        {
            "$comment": "top, right, bottom, left or a number",
            "anyOf": [{"enum": list(RECTANGLE_EDGES)}, {"type": "integer", "minimum": 1}],
        }
    ),
]
"""An edge as one sees it, or by its number."""


def _fold(value: Any, info: ValidationInfo) -> int | tuple[Point, Point]:
    if not isinstance(value, list):
        return _edge(value)
    ends = [tuple(_length(number, info) for number in _pair(point)) for point in value]
    if len(ends) != 2 or ends[0] == ends[1]:
        raise JobError("must be an edge or two points", hint='write "left" or [[0, 0], [0, 300]]')
    (x0, y0), (x1, y1) = ends
    return (x0, y0), (x1, y1)


FoldEdge = Annotated[
    Any,
    BeforeValidator(_fold),
    WithJsonSchema(
        {
            "$comment": "edge, or two points",
            "anyOf": [
                {"type": "integer", "minimum": 1},
                {"enum": list(RECTANGLE_EDGES)},
                {"type": "array", "minItems": 2, "maxItems": 2},
            ],
        }
    ),
]
"""An edge by number or name (an int), or two points."""


def _allowance(value: Any, info: ValidationInfo) -> dict[int, float]:
    table = value if isinstance(value, dict) else {"all": value}
    result: dict[int, float] = {}
    for key, width in table.items():
        edge = 0 if key == "all" else _edge(key)
        result[edge] = _not_negative(_length(width, info))
    return result


SeamAllowance = Annotated[
    dict[int, float],
    BeforeValidator(_allowance),
    WithJsonSchema(
        {
            "$comment": "length, or lengths by edge",
            "anyOf": [
                *_LENGTH_SCHEMA["anyOf"],
                {"type": "object", "additionalProperties": _LENGTH_SCHEMA},
            ],
            "examples": ["10 mm", {"all": "10 mm", "top": "25 mm", "3": 0}],
        }
    ),
]
"""Seam allowances (mm) by edge number; 0 stands for all edges not named."""


def _mates(value: Any) -> bool | str:
    if not isinstance(value, bool | str):
        raise JobError("must be true, or the name of a piece")
    return value


Mates = Annotated[
    Any,
    BeforeValidator(_mates),
    WithJsonSchema(
        {"$comment": "true, or a piece", "anyOf": [{"type": "boolean"}, {"type": "string"}]}
    ),
]
"""Whether, or with which piece."""

Name = Annotated[str, AfterValidator(check_name)]
"""A name that also does as part of a file's name."""
