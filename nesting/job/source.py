"""Where a job's data comes from, so that an error can say where it is."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cached_property
from pathlib import Path as FilePath
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from nesting.amounts import INCH_UNITS, METRIC, Amounts
from nesting.bounded import endless_key, text_of, unread_value
from nesting.errors import JobError, NestingError, PatternError, one_line
from nesting.job.complaint import complaint
from nesting.job.locate import Place, locate
from nesting.limits import LARGEST_JOB
from nesting.units import unit_of

__all__ = ["Source", "read_text"]

_LONGEST = 200
"""Longest sentence of a message: names and values in it come from the file."""

_LONGEST_LOCATED = 1_000_000
"""In longer texts no line is told: to find it would take many seconds."""

Model = TypeVar("Model", bound=BaseModel)


class Source:
    """A TOML text, what it says, and where it says it."""

    def __init__(self, text: str, *, file: str | None = None) -> None:
        self.text = text
        self.file = file
        self.data = _parsed(text, file=file)

    @cached_property
    def _lines(self) -> Mapping[Place, int]:
        if len(self.text) > _LONGEST_LOCATED:
            return {}
        try:
            return locate(self.text)
        except (IndexError, RecursionError):  # a text so odd that it defeats the scanner
            return {}

    def line(self, place: Place) -> int | None:
        """Return the line on which the value stands, or the nearest thing around it."""
        while place and place not in self._lines:
            place = place[:-1]
        return self._lines.get(place)

    def field(self, place: Place) -> str:
        """Return the dotted path as people read it: ``piece.front.grain``, ``cut[3].copies``."""
        value: Any = self.data
        words: list[str] = []
        for step in place:
            try:
                value = value[step]
            except (KeyError, IndexError, TypeError):
                value = None
            if isinstance(step, str):
                words.append(one_line(step, most=60))
            elif isinstance(value, dict) and _plain(value.get("name")):
                words.append(value["name"])
            elif words:
                words[-1] += f"[{step + 1}]"
        return ".".join(words)

    @cached_property
    def in_inches(self) -> bool:
        """Whether most of the lengths that are written with a unit are in inches, feet or yards."""
        found = [unit in INCH_UNITS for text in _texts(self.data) if (unit := unit_of(text))]
        return sum(found) >= _A_FEW and 2 * sum(found) > len(found)

    def error(self, what: str, place: Place, *, hint: str | None = None) -> JobError:
        """Return an error that says where it is."""
        return JobError(
            one_line(what, most=_LONGEST),
            file=self.file,
            field=self.field(place),
            line=self.line(place),
            hint=None if hint is None else one_line(hint, most=_LONGEST),
        )

    @contextmanager
    def at(self, place: Place, *, amounts: Amounts = METRIC) -> Iterator[None]:
        """Turn trouble inside the block into a `JobError` that says where it is.

        What is wrong with a piece is told in mm by who knows no job: here in the job's units.
        """
        try:
            yield
        except NestingError as trouble:
            if isinstance(trouble, JobError) and trouble.line is not None:
                raise
            other = trouble.file if trouble.file != self.file else None
            what, hint = trouble.what, trouble.hint
            if isinstance(trouble, PatternError):
                what, hint = amounts.retold(what), hint and amounts.retold(hint)
            what = f"{other}: {what}" if other else what
            raise self.error(what, place, hint=hint) from None

    def checked(self, model: type[Model], *, unit: str) -> Model:
        """Return the data as the model has it."""
        try:
            return model.model_validate(self.data, context={"unit": unit})
        except ValidationError as trouble:
            place, what, hint = complaint(trouble, model)
            raise self.error(Amounts(unit).retold(what), place, hint=hint) from None


_A_FEW = 3
"""Fewer lengths in inches may be those of a cloth from abroad (own choice)."""


def _texts(value: object) -> Iterator[str]:
    """Yield every text of a table and what is in it."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for item in value.values():
            yield from _texts(item)
    elif isinstance(value, list):
        for item in value:
            yield from _texts(item)


def _plain(name: object) -> bool:
    return isinstance(name, str) and name.isprintable() and 0 < len(name) <= 60


def _parsed(text: str, *, file: str | None) -> dict[str, Any]:
    if (line := endless_key(text)) is not None:
        raise JobError(
            "a key has far too many steps", file=file, line=line, hint="a job needs three"
        )
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as trouble:
        what, _, place = str(trouble).rpartition(" (at ")
        digits = place.removeprefix("line ").split(",")[0]
        line = int(digits) if digits.isdigit() else text.count("\n") + 1
        raise JobError(
            f"this is not valid TOML: {one_line(what or str(trouble), most=120)}",
            file=file,
            line=line,
            hint="check quotes, brackets and the = on this line and the one before",
        ) from None
    except RecursionError:
        raise JobError(
            "tables or lists are nested far too deeply", file=file, hint="a job needs four levels"
        ) from None
    except ValueError as trouble:
        raise JobError(f"a value can't be read: {unread_value(trouble)}", file=file) from None


def read_text(path: FilePath) -> str:
    """Return the text of a job file, or say in one line why it can't be had."""
    text = text_of(path, most=LARGEST_JOB, what="a job file", error=JobError)
    return text.replace("\r\n", "\n")
