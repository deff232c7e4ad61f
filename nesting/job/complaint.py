"""The first trouble that pydantic found in a table, in plain words."""

from __future__ import annotations

import re
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from nesting.errors import NestingError
from nesting.job.locate import Place
from nesting.units import nearest

__all__ = ["complaint"]

_WORDS = {
    "string_type": ("must be text", "put it in quotes"),
    "bool_type": ("must be true or false", "write it without quotes"),
    "int_type": ("must be a whole number", None),
    "int_from_float": ("must be a whole number", None),
    "float_type": ("must be a number", "write it without quotes"),
    "finite_number": ("must be a finite number", None),
    "list_type": ("must be a list", "put it in square brackets"),
    "tuple_type": ("must be a list", "put it in square brackets"),
    "dict_type": ("must be a table", "write key = value lines or { key = value }"),
    "model_type": ("must be a table", "write key = value lines or { key = value }"),
    "model_attributes_type": ("must be a table", "write key = value lines or { key = value }"),
}

_INSTEAD = {
    "tolerance": (
        "drift",
        "say drift, how far the printed repeat may be off, or off_centre, how far a motif may be",
    ),
    "buffer": ("rough_margin", 'did you mean "rough_margin"?'),
    "mirrored": ("reversed", "reversed = true cuts the mirror image, pairs = true both"),
}
"""Keys that people may try: a key that is known where they stand, and what to say instead."""

_FIRST = {"extra_forbidden": 0, "missing": 2}
"""A misspelled key also is a missing one: the misspelling is what helps."""


def complaint(trouble: ValidationError, model: type[BaseModel]) -> tuple[Place, str, str | None]:
    """Return where the first trouble is, what is wrong and what to do."""
    errors = trouble.errors(include_url=False)
    error: Any = min(errors, key=lambda e: _FIRST.get(e["type"], 1))
    place: Place = tuple(error["loc"])
    kind = error["type"]
    cause = error.get("ctx", {}).get("error")
    if isinstance(cause, NestingError):
        return place, cause.what, cause.hint
    if kind == "extra_forbidden":
        return _unknown_key(place, model)
    if kind == "missing":
        return place[:-1], f'"{place[-1]}" is missing', "add it"
    if kind == "literal_error":
        return _no_choice(place, error)
    if kind in _WORDS:
        what, hint = _WORDS[kind]
        return place, what, hint
    return place, _limit(error), None


def _unknown_key(place: Place, model: type[BaseModel]) -> tuple[Place, str, str]:
    key = str(place[-1])
    shown = "".join(c if c.isprintable() else "?" for c in key)[:40]
    known = _keys_at(place[:-1], model)
    near = nearest(key, known)
    if (place_of := _INSTEAD.get(key)) is not None and place_of[0] in known:
        return place, f'unknown key "{shown}"', place_of[1]
    hint = f'did you mean "{near}"?' if near else f"known here: {', '.join(known)}"
    return place, f'unknown key "{shown}"', hint


def _no_choice(place: Place, error: Any) -> tuple[Place, str, str | None]:
    words = re.findall(r"'([^']*)'", error["ctx"]["expected"])
    given = error["input"]
    near = nearest(given, words) if isinstance(given, str) else None
    what = f"must be one of {', '.join(words)}"
    return place, what, f'did you mean "{near}"?' if near else None


def _keys_at(place: Place, model: type[BaseModel]) -> list[str]:
    """Return the keys that the table at a place may have."""
    for step in place:
        if isinstance(step, int):
            continue
        field = model.model_fields.get(step) or next(
            (f for f in model.model_fields.values() if f.alias == step), None
        )
        inner = _model_in(field.annotation) if field else None
        if inner is None:
            return []
        model = inner
    return [field.alias or name for name, field in model.model_fields.items()]


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((m for a in get_args(annotation) if (m := _model_in(a)) is not None), None)


def _limit(error: Any) -> str:
    context = error.get("ctx", {})
    match error["type"]:
        case "greater_than_equal":
            return f"must be at least {context['ge']:g}"
        case "greater_than":
            return f"must be more than {context['gt']:g}"
        case "less_than_equal":
            return f"must be at most {context['le']:g}"
        case "less_than":
            return f"must be less than {context['lt']:g}"
        case "too_short":
            return f"needs at least {context['min_length']}"
        case "too_long":
            return f"may have at most {context['max_length']}"
    message: str = error["msg"]
    return message[:1].lower() + message[1:]
