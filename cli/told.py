"""What a command tells machines: one JSON object of the same form for all of them."""

from __future__ import annotations

import math
from typing import Any

from nesting.program import program

from .say import say_json

__all__ = ["UNITS", "name_of", "tell"]

VERSION = 1
"""Of the form of every record; it goes up when a reader would have to change."""

UNITS = {"length": "mm", "area": "mm²", "angle": "degrees", "time": "s"}


def name_of(command: str) -> str:
    """Return the name of the form of what a command tells."""
    return f"thriftlay/{command}/{VERSION}"


def tell(command: str, result: Any, *, currency: str = "") -> None:
    """Print the result of a command (one of `records`) as JSON.

    The object has `schema` (``thriftlay/COMMAND/VERSION``), `program`, `units` (of every
    figure in the result), `currency` (null where the job names none) and `result`; its JSON
    Schema is what ``thriftlay schema --of COMMAND`` prints.
    """
    from pydantic import TypeAdapter  # it takes time to load, and not every command tells machines

    record = {
        "schema": name_of(command),
        "program": program(),
        "units": UNITS,
        "currency": currency or None,
        "result": _plain(TypeAdapter(type(result)).dump_python(result, mode="json")),
    }
    say_json(record)


def _plain(value: Any) -> Any:
    """Return the value with null for what is not a finite number, which JSON can't say."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value
