"""How objects of the model show themselves: in one line, and in a notebook."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from enum import Enum
from importlib import import_module

__all__ = ["Brief", "shown"]

_LONGEST, _WORD, _FEW = 160, 40, 3
"""Most letters of the line, and of one value in it; most things that are told one by one."""


class Brief:
    """Its `repr` is one line, whatever it holds: values that aren't the usual, of many how many."""

    __slots__ = ()

    def __repr__(self) -> str:
        told = ((f, getattr(self, f.name)) for f in fields(self))  # type: ignore[arg-type]
        said = ", ".join(f"{f.name}={_brief(value)}" for f, value in told if value != f.default)
        return _cut(f"{type(self).__name__}({said})", _LONGEST)


def _brief(value: object) -> str:
    if isinstance(value, Enum):
        return f"{type(value).__name__}.{value.name}"
    if isinstance(value, float):
        return repr(round(value, 6))
    if isinstance(value, tuple | frozenset):
        plain = all(isinstance(one, str | int | float | None) for one in value)
        if plain and len(value) <= _FEW:
            return f"({', '.join(map(_brief, value))}{',' if len(value) == 1 else ''})"
        return f"<{len(value)}>"
    if isinstance(getattr(value, "name", None), str):
        return f"<{type(value).__name__} {_cut(repr(value.name), _WORD)}>"  # type: ignore[attr-defined]
    text = repr(value)
    return f"<{type(value).__name__}>" if is_dataclass(value) and len(text) > _WORD else text


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"


def shown(what: object, how: str) -> str:
    """Return what a notebook shows of an object.

    Who draws stands above what is drawn: it is asked by its name, and only when a notebook asks.
    """
    return str(getattr(import_module("nesting.writing.pages.notebook"), how)(what))
